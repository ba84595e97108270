import { analyseControls, type CompiledSet, type TargetAnalysis } from '../../language/src/control/index.js';
import { Dice } from '../helpers/random.js';
import { proving } from '../../language/src/proof/index.js';
import { finished } from '../../language/src/simulate/index.js';
import { read } from './answers.js';
import { ruleSite } from './random-rules.js';
import { type Shown, type ShownKind, playRules, rulePlan, standardWeeks } from './search-plays.js';

/** What search and proof say of the rules of one site, against what plays of it show. */
export interface RuleCase {
  readonly seed: number;
  readonly text: string;
  /** Said to be free of, or never to happen, and yet seen. */
  readonly wrong: readonly { readonly kind: string; readonly what: string }[];
  /** Accused, by kind, and whether any play showed it. */
  readonly accused: readonly { readonly kind: ShownKind; readonly isShown: boolean }[];
  /** Kinds that it is called free of and that were put to the test. */
  readonly free: readonly string[];
  /** Plays that the engine gave up, and plays that were broken off since they switch so often. */
  readonly given: number;
  readonly brokenOff: number;
}

export const SHOWN_KINDS: readonly ShownKind[] = ['clash', 'starved', 'endless', 'latched', 'quiet', 'chatter'];

/** Searches and proves the rules of a random site and plays it some times. Nothing for rules that are refused or left open. */
export async function ruleCase(seed: number, plays: number): Promise<RuleCase | undefined> {
  const dice = new Dice(seed);
  const text = ruleSite(dice, new Dice(seed + 7e6));
  const { analysis: whole } = await read(text);
  const design = whole.designs[0]!;
  const analysis = analyseControls(design.context)[0]!;
  if (analysis.refused !== undefined || analysis.open.length > 0) return undefined;
  const proof = finished(proving(design.context));
  if (proof.kind !== 'proven') return undefined;
  const plan = rulePlan(design);
  const searched = new Set<string>(analysis.faults.map(({ kind }) => kind));
  const proven = new Set<string>(proof.faults.map(({ kind }) => kind));
  // What the search thinks possible is told once a week shows it; without one rules are neither accused nor called free.
  const accused = new Set<string>([...proven, ...[...searched].filter((kind) => kind !== 'clash' && kind !== 'quiet')]);
  const judged = kindsJudged(analysis, plan.arrays.length > 0);
  const charged = judged.filter((kind) => accused.has(kind));
  const free = judged.filter((kind) => !accused.has(kind) && !searched.has(kind) && !isImplied(kind, accused));
  const shown: Shown[] = [];
  const isHinted = (kind: ShownKind): boolean => shown.some(({ hinted }) => hinted.has(kind));
  // Who is accused gets some more chances to show it.
  const most = MORE * plays;
  while (shown.length < plays || (shown.length < most && !charged.every(isHinted))) shown.push(playRules(plan, dice));
  // Last, what an accusation is about: the weeks by which rules are proven, looked at by what looks at plays.
  for (const week of standardWeeks(plan)) if (!charged.every(isHinted)) shown.push(playRules(plan, dice, week));
  const wrong = free.flatMap((kind) => {
    const what = shown.map(({ kinds }) => kinds.get(kind)).find((each) => each !== undefined);
    return what === undefined ? [] : [{ kind, what }];
  });
  return {
    seed,
    text,
    wrong: [...wrong, ...impossible(analysis, shown)],
    accused: charged.map((kind) => ({ kind, isShown: isHinted(kind) })),
    free,
    given: shown.filter(({ isEndlessSwitching }) => isEndlessSwitching).length,
    brokenOff: shown.filter(({ isBrokenOff }) => isBrokenOff).length,
  };
}

/** Plays of those who are accused of what they have not shown yet, over those of all. */
const MORE = 60;

/** A set that never stops alone is not asked whether it stops with the grid there; one that never starts is not asked about quiet hours. */
const isImplied = (kind: ShownKind, accused: ReadonlySet<string>): boolean =>
  (kind === 'latched' && accused.has('endless')) ||
  (kind === 'quiet' && accused.has('starved')) ||
  // Told as what comes of an emptied bank that something has charged a little: neither accused of it day by day, nor called free.
  ((kind === 'starved' || kind === 'quiet') && accused.has('stranded')) ||
  // Switched on and off by the second, it may come to rest in either.
  (kind === 'endless' && accused.has('chatter'));

/** What can be asked of rules: whether a set starts only where they look at the bank; with an array nobody is ever alone. */
function kindsJudged({ target }: TargetAnalysis, hasArray: boolean): ShownKind[] {
  const sets = target.controls.flatMap((control) => control.sets);
  const looks = (set: CompiledSet | undefined): boolean =>
    set?.on.some(({ rule }) => /soc\(Bank\)|voltage\(Bank\)/.test(rule.text)) ?? false;
  // With the link heard, and with it lost.
  const watches = [0, 1].every((at) => target.controls.some(({ sets: own }) => looks(own[at] ?? own[0])));
  const hasQuiet = sets.some(({ quiet }) => quiet !== undefined);
  return SHOWN_KINDS.filter((kind) => {
    if (hasArray && kind !== 'clash' && kind !== 'chatter') return false;
    if (kind === 'starved') return watches;
    if (kind === 'quiet') return watches && hasQuiet;
    return true;
  });
}

/** Rules that are said never to act, or never to be true, and did. */
function impossible({ faults, machine }: TargetAnalysis, shown: readonly Shown[]): RuleCase['wrong'] {
  const needless = new Map(
    faults.flatMap((fault) => (fault.kind === 'needless' ? [[fault.rule, fault] as const] : [])),
  );
  const textOf = (rule: number): string => machine.compiled.rules[rule]!.rule.text;
  const acted = shown
    .flatMap((each) => each.acted)
    .filter((rules) => rules.every((rule) => needless.has(rule)))
    .map((rules) => ({ kind: 'needless', what: `acts: ${rules.map(textOf).join(' / ')}` }));
  const held = [...needless.values()]
    .filter(({ rule, why }) => why === 'false' && shown.some(({ everTrue }) => everTrue.has(rule)))
    .map(({ rule }) => ({ kind: 'needless', what: `is true: ${textOf(rule)}` }));
  return [...acted.slice(0, 1), ...held.slice(0, 1)];
}

/** Searches and plays the sites of the seeds from 1 on. */
export async function ruleCases(seeds: number, plays: number): Promise<RuleCase[]> {
  const found: RuleCase[] = [];
  for (let seed = 1; seed <= seeds; seed += 1) {
    const each = await ruleCase(seed, plays);
    if (each) found.push(each);
  }
  return found;
}

export interface RuleTally {
  readonly kind: string;
  /** Sites that are called free of it. */
  readonly free: number;
  readonly wrong: readonly RuleCase[];
  readonly accused: number;
  readonly unshown: readonly RuleCase[];
}

export const ruleTallies = (cases: readonly RuleCase[]): RuleTally[] =>
  [...SHOWN_KINDS, 'needless'].map((kind) => ({
    kind,
    free: cases.filter(({ free }) => kind === 'needless' || free.includes(kind)).length,
    wrong: cases.filter(({ wrong }) => wrong.some((each) => each.kind === kind)),
    accused: cases.filter(({ accused }) => accused.some((each) => each.kind === kind)).length,
    unshown: cases.filter(({ accused }) => accused.some((each) => each.kind === kind && !each.isShown)),
  }));

/** The table of kinds, and the shortest rules of each that are wrongly called free of it. */
export function ruleReport(cases: readonly RuleCase[], examples: number): string {
  const tallies = ruleTallies(cases);
  const seedsOf = (of: readonly RuleCase[]): string =>
    of.length > 0
      ? ` (seeds ${of
          .slice(0, 8)
          .map(({ seed }) => seed)
          .join(' ')}${of.length > 8 ? ' …' : ''})`
      : '';
  const rows = tallies.map(
    ({ kind, free, wrong, accused, unshown }) =>
      `${kind.padEnd(9)} ${wrong.length} of ${free} wrongly called free${seedsOf(wrong)}; ${unshown.length} of ${accused} accused never show it${seedsOf(unshown)}`,
  );
  const given = cases.filter((each) => each.given > 0);
  const brokenOff = cases.filter((each) => each.brokenOff > 0);
  const count = (of: (tally: RuleTally) => number): number => tallies.reduce((sum, each) => sum + of(each), 0);
  const rate = (part: number, of: number): string =>
    `${part} of ${of}${of > 0 ? ` (${((100 * part) / of).toFixed(2)} %)` : ''}`;
  const shortest = tallies.flatMap(({ kind, wrong }) =>
    [...wrong]
      .sort((a, b) => a.text.length - b.text.length)
      .slice(0, examples)
      .map(
        ({ seed, text, wrong: all }) =>
          `${kind}, seed ${seed}: ${all.find((each) => each.kind === kind)!.what}\n${text}`,
      ),
  );
  return [
    ...rows,
    `altogether ${rate(
      count(({ wrong }) => wrong.length),
      count(({ free }) => free),
    )} wrongly called free or impossible; ${rate(
      count(({ unshown }) => unshown.length),
      count(({ accused }) => accused),
    )} accused never show it`,
    `${cases.length} sites were searched; ${given.length} had plays in which rules switch without end${seedsOf(given)}, ${brokenOff.length} plays that switch so often that they were broken off${seedsOf(brokenOff)}`,
    ...(shortest.length > 0 ? ['', ...shortest] : []),
  ].join('\n');
}
