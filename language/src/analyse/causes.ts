import { CHECKS } from '../checks/index.js';
import type { Fix, Way } from '../checks/define.js';
import type { Finding } from './types.js';

/*
 * One cause, one finding on screen: findings that one undersized thing brings about, or that one setting ends, have one cause. It is told from
 * the ways in which their checks say that they could be mended, which are data; no text is read.
 */

const RANK = { error: 0, warning: 1, info: 2 } as const;

const ORDER: ReadonlyMap<string, number> = new Map(CHECKS.map(({ id }, index) => [id, index]));

/** Where of several findings with one cause the worst comes first, and of equals the one that stands first in the catalogue. */
export const leadsBefore = (left: Finding, right: Finding): number =>
  RANK[left.severity] - RANK[right.severity] || (ORDER.get(left.check) ?? 0) - (ORDER.get(right.check) ?? 0);

const isEdits = (way: Way): way is Fix => 'edits' in way;

/** The thing whose size, or the setting whose value, is at the root of a finding; undefined where its ways tell of none. */
function rootOf({ ways }: Finding): string | undefined {
  // Where a larger device comes first, it is the device that is too small, whatever conductors go with it.
  const isOfDevice = ways.some((way) => !isEdits(way) && way.way === 'rating' && way.direction === 'up');
  for (const way of ways) if (!isEdits(way) && way.way === 'size' && !isOfDevice) return `size of ${way.run.path}`;
  const edits = ways.filter(isEdits);
  const [edit, ...others] = (edits.find(({ preferred }) => preferred) ?? edits[0])?.edits ?? [];
  // A change in several places is of no one setting.
  if (!edit || others.length > 0) return undefined;
  const { uri, offset, end } = edit.place;
  const name = offset === end ? /[A-Za-z]+(?=:)/.exec(edit.text)?.[0] : '';
  return name === undefined ? undefined : `${uri} ${offset} ${end} ${name}`;
}

/** Findings with the one that leads where several have one cause. Those that nobody has accepted alone: if the first is, the next leads. */
export function withCauses(findings: readonly Finding[]): Finding[] {
  const groups = new Map<string, Finding[]>();
  for (const finding of findings) {
    const root = finding.accepted || finding.severity === 'info' ? undefined : rootOf(finding);
    if (root === undefined) continue;
    const key = `${finding.subject.split('.')[0]} ${root}`;
    groups.set(key, [...(groups.get(key) ?? []), finding]);
  }
  const leaders = new Map<Finding, Finding>();
  for (const group of groups.values()) {
    const leader = group.reduce((so, next) => (leadsBefore(next, so) < 0 ? next : so));
    for (const each of group) if (each !== leader) leaders.set(each, leader);
  }
  return findings.map((finding) => {
    const leader = leaders.get(finding);
    return leader ? { ...finding, cause: { check: leader.check, subject: leader.subject } } : finding;
  });
}
