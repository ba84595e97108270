import { alsoText, ruleText } from '../analyse/folding.js';
import type { Finding, FindingKey } from '../analyse/types.js';
import { type Obstacle, obstacleText } from './answer.js';
import type { Fix } from '../checks/define.js';

/** What a line below a headline says. */
export type FindingLabel = 'why' | 'rule' | 'assumes' | 'risk' | 'also' | 'fix' | 'tried';

/** One field of a finding, in words. Every face renders these; none makes its own. */
export interface FindingLine {
  readonly label: FindingLabel;
  readonly text: string;
  /** The change that a line of label `fix` offers; absent for advice. */
  readonly fix?: Fix;
}

export interface FindingLinesOptions {
  /** Changes that were worked out, the preferred one first. */
  readonly fixes?: readonly Fix[];
  readonly obstacles?: readonly Obstacle[];
  /** Findings with the same cause, which are folded under this one. */
  readonly folded?: readonly FindingKey[];
}

/** What stands below the headline of a finding, in the order in which it is read. */
export function findingLines(
  finding: Finding,
  { fixes = [], obstacles = [], folded = [] }: FindingLinesOptions = {},
): FindingLine[] {
  const { why, assumes, consequence, advice } = finding;
  const line = (label: FindingLabel, text: string | undefined): FindingLine[] => (text ? [{ label, text }] : []);
  return [
    ...line('why', why),
    ...line('rule', ruleText(finding)),
    ...line('assumes', assumes.join('; ')),
    ...line('risk', consequence),
    ...line('also', alsoText(finding, folded)),
    ...fixes.map((fix): FindingLine => ({ label: 'fix', text: fixText(fix), fix })),
    ...(fixes.length > 0 ? [] : line('fix', advice)),
    ...(fixes.length > 0 ? [] : line('tried', obstacleText(obstacles))),
  ];
}

/** What a change does, and which other findings it ends. */
function fixText({ title, clears = [] }: Fix): string {
  const ids = [...new Set(clears.map(({ check }) => check))];
  return ids.length > 0 ? `${title} (also clears ${ids.join(', ')})` : title;
}
