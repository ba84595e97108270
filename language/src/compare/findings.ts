import type { Finding, OpenQuestion } from '../analyse/types.js';
import type { Causes } from './causes.js';
import { MARGIN } from './margin-rules.js';
import { limitText, usedTexts } from './shown.js';
import { type DesignSide, type Sides, keyed, thingAfter, thingBefore } from './side.js';
import type { DiffClass, Line, LineOf, LoadUse } from './types.js';
import type { UsePair } from './margins.js';

/** Findings whose matter has lines of its own: requirements, open questions, assumptions, readings. */
const TOLD_ELSEWHERE: ReadonlySet<string> = new Set(['requirement-failed', 'missing-fact', 'assumed-fact']);

const isTold = ({ check }: Finding): boolean => !TOLD_ELSEWHERE.has(check);

/** The device that a finding is on where its numbers tell it, else the thing that was judged. */
const thingOf = (finding: Finding, side: DesignSide, nameOf: (subject: string) => string): string =>
  [nameOf(finding.subject), side.useOf(finding)?.thing].filter(Boolean).join(' ');

/** New warnings and remarks are told below what is ranked: a reviewer decides by what fails and by what is left in hand. */
const CLASS_OF: Readonly<Record<Finding['severity'], DiffClass>> = { error: 'fails', warning: 'edits', info: 'edits' };

export interface FindingsCompared {
  readonly lines: readonly Line[];
  /** What is told below everything else: new remarks and warnings. */
  readonly same: number;
  readonly fresh: number;
  readonly gone: number;
}

export function comparedFindings(sides: Sides, pairs: readonly UsePair[], causes: Causes): FindingsCompared {
  const { before, after, renamed } = sides;
  const keyAfter = (finding: Finding): string =>
    `${finding.check}\n${thingOf(finding, after, (subject) => thingAfter(subject, sides))}`;
  const keyBefore = (finding: Finding): string => {
    const use = before.useOf(finding);
    const subject = thingBefore(finding.subject, sides);
    return `${finding.check}\n${use ? `${subject} ${renamed(use.thing)}` : subject}`;
  };
  const was = keyed(before.findings.filter(isTold), keyBefore);
  const is = keyed(after.findings.filter(isTold), keyAfter);
  const lines: Line[] = [];
  let same = 0;
  let [fresh, gone] = [0, 0];
  for (const [key, finding] of is) {
    if (finding.accepted) continue;
    const old = was.get(key);
    const isNew = !old || !!old.accepted || RANK[old.severity] > RANK[finding.severity];
    if (isNew) {
      fresh += 1;
      lines.push(newLine(finding, sides, pairs, causes));
    } else {
      same += 1;
      const line = worseLine(old, finding, sides, causes);
      if (line) lines.push(line);
    }
  }
  for (const [key, finding] of was) {
    if (finding.accepted || is.has(key) || isUnjudged(finding, sides)) continue;
    gone += 1;
    lines.push(goneLine(finding, sides));
  }
  return { lines, same, fresh, gone };
}

const RANK = { error: 0, warning: 1, info: 2 } as const;

/** Whether a finding is gone only because its check lacks facts now. */
const isUnjudged = (finding: Finding, sides: Sides): boolean =>
  sides.after.questions.some(
    ({ check, subject }) =>
      check === finding.check && thingAfter(subject, sides) === thingBefore(finding.subject, sides),
  );

function frame(
  finding: Finding,
  sides: Sides,
  use: LoadUse | undefined,
): Pick<Line, 'subject' | 'place' | 'also' | 'variants'> {
  return {
    subject: use?.thing ?? thingAfter(finding.subject, sides).split('.')[0]!,
    place: finding.place,
    also: [],
    variants: [],
  };
}

const preferredFixes = ({ ways }: Finding): string[] =>
  ways.flatMap((way) => ('title' in way && way.preferred ? [way.title] : []));

/** What a line tells of a finding that was not there before. */
export const newFinding = ({ check, severity, headline, message }: Finding) =>
  ({ kind: 'finding', check, severity, change: 'new', headline, message }) as const;

/** A finding that was not there before, with what its check said before where that passed. */
function newLine(finding: Finding, sides: Sides, pairs: readonly UsePair[], causes: Causes): LineOf<'finding'> {
  const use = sides.after.useOf(finding);
  const passed = use && pairs.find(({ after }) => after === use)?.before;
  const numbers = Object.values(finding.numbers);
  return {
    ...frame(finding, sides, use),
    class: CLASS_OF[finding.severity],
    ...newFinding(finding),
    fixes: preferredFixes(finding),
    ...(use && passed ? { values: usedTexts(passed, use) } : {}),
    ...(use ? { limit: limitText(use) } : {}),
    causes: causes.of(passed ? [passed.demand, passed.capacity] : [], use ? [use.demand, use.capacity] : numbers),
  };
}

/** A finding on both sides whose limit is exceeded by more, or by less, than before. */
function worseLine(old: Finding, finding: Finding, sides: Sides, causes: Causes): LineOf<'finding'> | undefined {
  const was = sides.before.useOf(old);
  const is = sides.after.useOf(finding);
  if (!was || !is || Math.abs(is.use - was.use) <= was.use * MARGIN.least) return undefined;
  const isWorse = is.use > was.use;
  return {
    ...frame(finding, sides, is),
    class: isWorse ? CLASS_OF[finding.severity] : 'better',
    kind: 'finding',
    check: finding.check,
    severity: finding.severity,
    change: isWorse ? 'worse' : 'better',
    headline: finding.headline,
    message: finding.message,
    fixes: preferredFixes(finding),
    values: usedTexts(was, is),
    limit: limitText(is),
    causes: causes.of([was.demand, was.capacity], [is.demand, is.capacity]),
  };
}

const goneLine = (finding: Finding, sides: Sides): LineOf<'finding'> => ({
  class: 'better',
  kind: 'finding',
  subject: sides.renamed(sides.before.useOf(finding)?.thing ?? thingBefore(finding.subject, sides).split('.')[0]!),
  check: finding.check,
  severity: finding.severity,
  change: 'gone',
  headline: finding.headline,
  message: finding.message,
  fixes: [],
  causes: [],
  also: [],
  variants: [],
});

/** What could be judged before and lacks facts now, and the other way round. */
export function uncheckedLines(sides: Sides, added: ReadonlySet<string>): Line[] {
  const { before, after } = sides;
  const keyBefore = ({ check, subject }: { check: string; subject: string }): string =>
    `${check}\n${thingBefore(subject, sides)}`;
  const keyAfter = ({ check, subject }: { check: string; subject: string }): string =>
    `${check}\n${thingAfter(subject, sides)}`;
  const asked = new Set(before.questions.map(keyBefore));
  const open = after.questions.filter((each) => !asked.has(keyAfter(each)));
  const judged = new Set([...before.passes, ...before.findings].map(keyBefore));
  const lines: Line[] = [];
  for (const [thing, questions] of byThing(open, (each) => thingAfter(each.subject, sides))) {
    const lost = questions.filter((each) => judged.has(keyAfter(each)));
    const told = lost.length > 0 ? lost : questions;
    lines.push({
      // What passed and is no longer checked counts like what fails; what is new and lacks facts rests on trust.
      class: lost.length > 0 && !added.has(thing) ? 'fails' : 'trust',
      kind: 'unchecked',
      subject: thing,
      checks: unique(told.map(({ check }) => check)),
      missing: unique(told.flatMap(({ missing }) => missing)),
      causes: [],
      place: told[0]!.place,
      also: [],
      variants: [],
    });
  }
  const stillOpen = new Set(after.questions.map(keyAfter));
  const judgedNow = new Set([...after.passes, ...after.findings].map(keyAfter));
  const answered = before.questions.filter((each) => {
    const key = keyBefore(each);
    return !stillOpen.has(key) && judgedNow.has(key);
  });
  for (const [thing, questions] of byThing(answered, (each) => thingBefore(each.subject, sides)))
    lines.push({
      class: 'better',
      kind: 'checked',
      subject: thing,
      checks: unique(questions.map(({ check }) => check)),
      causes: [],
      also: [],
      variants: [],
    });
  return lines;
}

const unique = (texts: readonly string[]): string[] => [...new Set(texts)];

function byThing(
  questions: readonly OpenQuestion[],
  thingOfQuestion: (question: OpenQuestion) => string,
): ReadonlyMap<string, OpenQuestion[]> {
  const things = new Map<string, OpenQuestion[]>();
  for (const question of questions) {
    const thing = thingOfQuestion(question).split('.')[0]!;
    things.set(thing, [...(things.get(thing) ?? []), question]);
  }
  return things;
}
