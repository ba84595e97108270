import type { Finding, FindingKey } from '../analyse/types.js';
import { sourceText } from '../derivation/index.js';
import { BASIS_OF_DESIGN } from '../reference/editions.js';
import { type Obstacle, obstacleText } from './answer.js';
import type { Fix } from '../checks/define.js';

/** What a line below a headline says. */
export type FindingLabel = 'why' | 'rule' | 'assumes' | 'risk' | 'also' | 'fix' | 'no fix';

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

/** The table or clause that gives the limit, else the sources of the check. */
export function ruleText({ rule, sources }: Pick<Finding, 'rule' | 'sources'>): string | undefined {
  // That a design follows a practice is no rule by itself.
  const named = sources.filter(({ table }) => table !== BASIS_OF_DESIGN);
  const text = rule ?? [...new Set(named.map(sourceText))].join('; ');
  return text === '' ? undefined : text;
}

/** What stands below the headline of a finding, in the order in which it is read. */
export function findingLines(
  finding: Finding,
  { fixes = [], obstacles = [], folded = [] }: FindingLinesOptions = {},
): FindingLine[] {
  const { why, assumes, consequence, advice } = finding;
  const line = (label: FindingLabel, text: string | undefined): FindingLine[] => (text ? [{ label, text }] : []);
  const also = [...new Set(folded.map((each) => alsoText(each, finding)))];
  return [
    ...line('why', why),
    ...line('rule', ruleText(finding)),
    ...line('assumes', assumes.join('; ')),
    ...line('risk', consequence),
    ...line('also', also.join(', ')),
    ...fixes.map((fix): FindingLine => ({ label: 'fix', text: fixText(fix), fix })),
    ...(fixes.length > 0 ? [] : line('fix', advice)),
    ...(fixes.length > 0 ? [] : line('no fix', obstacleText(obstacles))),
  ];
}

/** `run-protection`, with the thing where it is another one: `bus-rating on Main`. */
function alsoText({ check, subject }: FindingKey, { subject: own }: Finding): string {
  if (subject === own) return check;
  return `${check} on ${subject.split('.').slice(1).join('.') || subject}`;
}

/** What a change does, and which other findings it ends. */
function fixText({ title, clears = [] }: Fix): string {
  const ids = [...new Set(clears.map(({ check }) => check))];
  return ids.length > 0 ? `${title} (also clears ${ids.join(', ')})` : title;
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
