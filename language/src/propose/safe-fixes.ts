import { type Fix, findCheck } from '../checks/index.js';
import type { Finding } from '../analyse/types.js';

/** A fix of a finding, chosen to be applied without asking. */
export interface ChosenFix {
  readonly finding: Finding;
  readonly fix: Fix;
}

/** Findings on waivers, which say nothing against the rest of the text. */
export const WAIVERS: ReadonlySet<string> = new Set(['unused-accept', 'expired-accept', 'renamed-check']);

/**
 * One safe fix for each finding: the preferred one, else the first. Accepted findings are left alone. Taking away what nothing uses is
 * safe only where the rest of the text is understood, so it waits until no other error of text and meaning is left. What is safe cannot
 * change what a design means, so these are applied together and tried as one.
 */
export function safeFixes(findings: readonly Finding[]): ChosenFix[] {
  const isWhole = isUnderstood(findings);
  return findings
    .filter((finding) => !finding.accepted)
    .flatMap((finding) => {
      const safe = finding.ways.filter(
        (way): way is Fix => 'edits' in way && way.safe && way.edits.length > 0 && (isWhole || !isRemoval(way)),
      );
      const fix = safe.find((candidate) => candidate.preferred) ?? safe[0];
      return fix ? [{ finding, fix }] : [];
    });
}

/** Whether nothing is wrong with a text itself, so that what nothing uses is known to be of no use. */
export const isUnderstood = (findings: readonly Finding[]): boolean =>
  !findings.some(
    ({ check, severity }) => severity === 'error' && findCheck(check)?.group === 'text' && !WAIVERS.has(check),
  );

export const isRemoval = (fix: Fix): boolean => fix.edits.every(({ text }) => text === '');
