import {
  type Analysis,
  type Answer,
  type AnsweredFinding,
  type Finding,
  type OpenQuestion,
  type PassedVerdict,
  type Place,
  type ReadingResult,
  type RequirementResult,
  type Severity,
  answered,
} from '@wattwright/language';
import { byText, once } from './once.js';

/** A fix that has been written. */
export interface AppliedFix {
  readonly file: string;
  readonly check: string;
  readonly title: string;
}

/** Everything one call of `check` found, over all its files. */
export interface CheckReport {
  readonly findings: readonly AnsweredFinding[];
  readonly accepted: readonly AnsweredFinding[];
  readonly requirements: readonly RequirementResult[];
  readonly readings: readonly ReadingResult[];
  readonly questions: readonly OpenQuestion[];
  /** Things that passed a check, each in the file that holds its design. */
  readonly passes: readonly (PassedVerdict & { readonly uri: string })[];
  readonly files: number;
  readonly designs: number;
  readonly notChecked: number;
  readonly fixed: readonly AppliedFix[];
  /** How long it took, where that is asked for: without it the same input gives the same bytes. */
  readonly milliseconds?: number;
}

export const SEVERITIES: readonly Severity[] = ['error', 'warning', 'info'];

export const countOf = (findings: readonly Finding[], severity: Severity): number =>
  findings.filter((finding) => finding.severity === severity).length;

/** Whether any finding is at or above a severity. */
export const reaches = (findings: readonly Finding[], severity: Severity): boolean =>
  findings.some((finding) => SEVERITIES.indexOf(finding.severity) <= SEVERITIES.indexOf(severity));

const byPlace = (left: Place, right: Place): number =>
  byText(left.uri, right.uri) || left.offset - right.offset || left.end - right.end;

const byFinding = (left: Finding, right: Finding): number =>
  byPlace(left.place, right.place) ||
  SEVERITIES.indexOf(left.severity) - SEVERITIES.indexOf(right.severity) ||
  byText(left.check, right.check) ||
  byText(left.subject, right.subject) ||
  byText(left.message, right.message);

const placeKey = (place: Place): string => `${place.uri}#${place.offset}-${place.end}`;

/** Which designs are asked for; undefined for all. */
export interface Selection {
  readonly design?: string;
  readonly variant?: string;
}

/** A finding belongs to a design when its subject is that design or something in it; findings on the text itself always count. */
function isSelected(subject: string, designs: ReadonlySet<string>, wanted: string | undefined): boolean {
  if (wanted === undefined) return true;
  const root = subject.split('.')[0]!;
  return root === wanted || !designs.has(root);
}

/** Gathers the analyses of several files into one report, in a fixed order. */
export function gather(
  analyses: readonly Analysis[],
  selection: Selection,
  facts: {
    /** Findings in files that were not asked for themselves. */
    readonly elsewhere: readonly Finding[];
    readonly fixed: readonly AppliedFix[];
    /** What can be done about findings, as far as it was sought. */
    readonly answers?: ReadonlyMap<Finding, Answer>;
    readonly milliseconds?: number;
  },
): CheckReport {
  const names = new Set(analyses.flatMap(({ designs }) => designs.map(({ system }) => system.name)));
  const wanted = selection.variant ?? selection.design;
  const findings = once(
    [
      ...analyses.flatMap((analysis) => analysis.findings),
      // Whoever asks for a variant alone is told all of it.
      ...(selection.variant === undefined ? [] : analyses.flatMap((analysis) => analysis.repeated)),
      ...facts.elsewhere,
    ]
      .filter((finding) => isSelected(finding.subject, names, wanted))
      .sort(byFinding),
    (finding) => [placeKey(finding.place), finding.check, finding.subject, finding.message].join('\n'),
  ).map((finding) => answered(finding, facts.answers?.get(finding)));
  const designs = analyses
    .flatMap((analysis) => analysis.designs)
    .filter(({ system }) => wanted === undefined || system.name === wanted);
  return {
    findings: findings.filter((finding) => !finding.accepted),
    accepted: findings.filter((finding) => finding.accepted),
    requirements: once(
      analyses
        .flatMap((analysis) => analysis.requirements)
        .filter((requirement) => wanted === undefined || requirement.design === wanted)
        // The sort is stable: a design comes before its variants.
        .sort((left, right) => byPlace(left.place, right.place)),
      (requirement) => [placeKey(requirement.place), requirement.design].join('\n'),
    ),
    readings: once(
      analyses
        .flatMap((analysis) => analysis.readings)
        .filter((each) => wanted === undefined || each.design === wanted)
        .sort((left, right) => byPlace(left.reading.place, right.reading.place)),
      (each) => placeKey(each.reading.place),
    ),
    questions: once(
      analyses
        .flatMap((analysis) => analysis.questions)
        .filter((question) => isSelected(question.subject, names, wanted))
        .sort(
          (left, right) =>
            byPlace(left.place, right.place) || byText(left.check, right.check) || byText(left.subject, right.subject),
        ),
      (question) => [placeKey(question.place), question.check, question.subject, ...question.missing].join('\n'),
    ),
    passes: analyses
      .flatMap(({ uri, passed }) => passed.map((each) => ({ uri, ...each })))
      .filter(({ subject }) => isSelected(subject, names, wanted))
      .sort(
        (left, right) =>
          byText(left.uri, right.uri) || byText(left.check, right.check) || byText(left.subject, right.subject),
      ),
    files: analyses.length,
    designs: designs.length,
    notChecked: analyses.reduce((sum, analysis) => sum + analysis.counts.notChecked, 0),
    fixed: facts.fixed,
    ...(facts.milliseconds === undefined ? {} : { milliseconds: facts.milliseconds }),
  };
}

export const plural = (count: number, one: string, many = `${one}s`): string => `${count} ${count === 1 ? one : many}`;
