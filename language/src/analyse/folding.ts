import { sourceText } from '../derivation/index.js';
import { BASIS_OF_DESIGN } from '../reference/editions.js';
import { withoutDesign } from './subjects.js';
import type { Finding, FindingKey } from './types.js';

/*
 * How people read findings: one cause once, with what else it brings, and by which rule.
 */

/** The table or clause that gives the limit, else the sources of the check. */
export function ruleText({ rule, sources }: Pick<Finding, 'rule' | 'sources'>): string | undefined {
  // That a design follows a practice is no rule by itself, nor is what follows from the text alone.
  const named = sources.filter(
    ({ table, provenance }) => table !== BASIS_OF_DESIGN && (table !== undefined || provenance !== 'own derivation'),
  );
  const text = rule ?? [...new Set(named.map(sourceText))].join('; ');
  return text === '' ? undefined : text;
}

/** What else the cause of a finding brings about, in words; empty where nothing is folded under it. */
export const alsoText = (finding: Finding, folded: readonly FindingKey[]): string =>
  [...new Set(folded.map((each) => alsoOf(each, finding)))].join(', ');

/** `run-protection`, with the thing where it is another one: `bus-rating on Main`. */
function alsoOf({ check, subject }: FindingKey, { subject: own }: Finding): string {
  if (subject === own) return check;
  return `${check} on ${withoutDesign(subject) || subject}`;
}

/** The findings that lead, each with those that are folded under it: for people alone, who read one cause once. */
export function foldedFindings<F extends Finding>(findings: readonly F[]): { finding: F; folded: readonly F[] }[] {
  const keyOf = ({ check, subject }: FindingKey, { variant = '', place }: Finding): string =>
    [place.uri, variant, check, subject].join('\n');
  const leaders = new Map(findings.filter(({ cause }) => !cause).map((each) => [keyOf(each, each), each]));
  const under = new Map<F, F[]>();
  const told: F[] = [];
  for (const finding of findings) {
    const leader = finding.cause && leaders.get(keyOf(finding.cause, finding));
    if (!leader) told.push(finding);
    else under.set(leader, [...(under.get(leader) ?? []), finding]);
  }
  return told.map((finding) => ({ finding, folded: under.get(finding) ?? [] }));
}
