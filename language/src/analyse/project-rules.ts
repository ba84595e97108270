import { type Severity, findCheck } from '../checks/index.js';
import type { Practice } from '../model/types.js';
import type { Finding } from './types.js';

/** What a project says of all its designs. */
export interface ProjectRules {
  /** How grave the findings of a check are, by its id of today. */
  readonly severities?: ReadonlyMap<string, Severity>;
  /** The practice of designs that state none. */
  readonly basis?: Practice;
  /** Years that the runs of one scenario may cover in all before it is refused. */
  readonly scenarioYears?: number;
}

const RANK = { error: 0, warning: 1, info: 2 } as const;

/**
 * Findings as grave as their project has it. What a check itself holds to be milder or graver than usual, such as a finding that rests on a
 * value from memory, is made milder by it and never graver: the project speaks of the check, not of the reason for the exception.
 */
export const asGraveAs = (findings: readonly Finding[], { severities }: ProjectRules = {}): Finding[] =>
  findings.map((finding) => {
    const stated = severities?.get(finding.check);
    if (stated === undefined || stated === finding.severity) return finding;
    const isUsual = findCheck(finding.check)?.severity === finding.severity;
    return isUsual || RANK[stated] > RANK[finding.severity] ? { ...finding, severity: stated } : finding;
  });
