import { findCheck } from '../checks/index.js';
import type { Analysis, Finding, OpenQuestion } from '../analyse/types.js';
import { WAIVERS } from './safe-fixes.js';

/** What has become of a design after a change. */
export interface Outcome {
  /** Whether the finding that is to be ended is gone, and not only because it can no longer be judged. */
  readonly isGone: boolean;
  /** Errors and warnings that end with it, the finding itself among them. */
  readonly ends: readonly Finding[];
  /** Errors that were not there before. */
  readonly errors: readonly Finding[];
  /** Warnings that were not there before. */
  readonly warnings: readonly Finding[];
  /** What could be judged before and lacks facts now, the marking of terminals apart. */
  readonly lost: readonly OpenQuestion[];
  /** Whether the marking of terminals is asked for now, on which other limits rest up to 100 A. */
  readonly asksForMarks: boolean;
  /** Whether less is wrong than before: fewer errors, or as many and fewer warnings, or as many of both and fewer remarks. */
  readonly isLess: boolean;
}

/** What a finding is, wherever it has moved. */
export const keyOf = ({ check, subject }: Pick<Finding, 'check' | 'subject'>): string => `${check} ${subject}`;

export const isOfText = ({ check }: Finding): boolean => findCheck(check)?.group === 'text';

/**
 * Findings that count: those that nobody has accepted. A waiver may be used by what only a play finds, so that before it nothing can be said
 * of waivers that nothing uses.
 */
export const standing = ({ findings, unplayed }: Pick<Analysis, 'findings' | 'unplayed'>): readonly Finding[] =>
  findings.filter(({ accepted, check }) => !accepted && !(unplayed && check === UNUSED_WAIVER));

export const UNUSED_WAIVER = 'unused-accept';

const countBy = <T>(items: readonly T[], key: (item: T) => string): ReadonlyMap<string, number> => {
  const counts = new Map<string, number>();
  for (const item of items) counts.set(key(item), (counts.get(key(item)) ?? 0) + 1);
  return counts;
};

/** Of some findings those beyond the number that stood before, by check and thing. */
function beyond(before: readonly Finding[], after: readonly Finding[]): Finding[] {
  const left = new Map(countBy(before, keyOf));
  return after.filter((each) => {
    const count = left.get(keyOf(each)) ?? 0;
    left.set(keyOf(each), count - 1);
    return count <= 0;
  });
}

/** Whether a finding says that something could not be read as it is meant; one on a waiver says nothing against the rest. */
const isOfReading = (finding: Finding): boolean => isOfText(finding) && !WAIVERS.has(finding.check);

/** How much is wrong, the worst first. */
export function measureOf(analysis: Analysis): readonly number[] {
  const all = standing(analysis);
  const text = all.filter((each) => isOfReading(each) && each.severity === 'error').length;
  const count = (severity: string): number => all.filter((each) => each.severity === severity).length;
  return [text, count('error'), count('warning'), count('info')];
}

/** Whether the first is less than the second, the worst counting first. */
export function isLessThan(left: readonly number[], right: readonly number[]): boolean {
  const index = left.findIndex((each, at) => each !== right[at]);
  return index >= 0 && left[index]! < right[index]!;
}

/** Whether a finding still stands in an analysis: as many of its check and thing, or the same words as often as before. */
export function isStill(finding: Finding, before: Analysis, after: Analysis): boolean {
  const same = (analysis: Analysis): Finding[] => standing(analysis).filter((each) => keyOf(each) === keyOf(finding));
  const worded = (findings: readonly Finding[]): number =>
    findings.filter(({ message }) => message === finding.message).length;
  const [was, is] = [same(before), same(after)];
  return is.length >= was.length || worded(is) >= worded(was);
}

/** Compares a design before and after a change that is to end a finding. */
export function outcomeOf(finding: Finding, before: Analysis, after: Analysis): Outcome {
  const [was, is] = [standing(before), standing(after)];
  const of = (findings: readonly Finding[], ...severities: readonly string[]): Finding[] =>
    findings.filter(({ severity }) => severities.includes(severity));
  const asked = new Set(before.questions.map(keyOf));
  const judged = new Set([...before.passed.map(keyOf), ...was.map(keyOf)]);
  const lost = after.questions.filter((each) => !asked.has(keyOf(each)) && judged.has(keyOf(each)));
  const ownQuestion = lost.some((each) => keyOf(each) === keyOf(finding));
  // What cannot be read hides what is wrong with it: that comes to light is no fault of the change.
  const errors = beyond(of(was, 'error'), of(is, 'error')).filter((each) => !isOfText(finding) || isOfReading(each));
  const raised = new Set(errors);
  return {
    isGone: !isStill(finding, before, after) && !ownQuestion,
    ends: beyond(of(is, 'error', 'warning'), of(was, 'error', 'warning')),
    errors,
    warnings: isOfText(finding)
      ? []
      : beyond(of(was, 'error', 'warning'), of(is, 'error', 'warning')).filter(
          (each) => each.severity === 'warning' && !raised.has(each),
        ),
    lost: isOfText(finding)
      ? []
      : lost.filter(
          (each) => (!each.isRefused || ownQuestion) && (!each.isOfMarking || keyOf(each) === keyOf(finding)),
        ),
    asksForMarks: lost.some(({ isOfMarking }) => isOfMarking),
    isLess: isLessThan(measureOf(after), measureOf(before)),
  };
}
