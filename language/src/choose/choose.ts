import { isFile } from '../grammar/generated/ast.js';
import { isOfDesign } from '../analyse/subjects.js';
import type { Analysis, OpenQuestion } from '../analyse/types.js';
import { isVariant } from '../grammar/generated/ast.js';
import { Effort } from '../propose/effort.js';
import { standing } from '../propose/proof.js';
import type { Ground } from '../propose/trial.js';
import { type ConflictItem, conflictOf } from './conflict.js';
import { type Domain, domainOf } from './domain.js';
import { type HeldBy, type Span, holding } from './held-by.js';
import { lackingFacts } from './missing-facts.js';
import { type OpenDesign, type OpenValue, openValues } from './open-values.js';
import { type Cost, compareCosts } from './optimum.js';
import type { PriceOf } from './price.js';
import { type Choice, type Outcome, Search } from './search.js';
import { Trials } from './trials.js';

/** Values for the holes of a design that hold together, proven by the checks themselves. */
export interface Chosen {
  /** By the path of the hole, as text that can stand in its place. */
  readonly values: ReadonlyMap<string, string>;
  readonly price?: PriceOf;
  /** Errors of the design that no value of its holes ends. */
  readonly errors: number;
  readonly warnings: number;
  readonly heldBy: readonly (HeldBy & { readonly path: string })[];
}

/** What is asked before a hole can be filled. */
export interface AskedFirst {
  readonly path: string;
  readonly question: string;
  /** What the question holds up, where a check asks it. */
  readonly check?: string;
  readonly subject?: string;
  readonly missing: readonly string[];
}

/** One item of a conflict with the values that would hold without it. */
export interface ConflictPart extends Omit<ConflictItem, 'without'> {
  readonly without?: ReadonlyMap<string, string>;
}

/** What came of the holes of one design or variant. */
export interface ChosenDesign {
  readonly design: string;
  readonly variant?: string;
  readonly open: readonly OpenValue[];
  /** Best first. */
  readonly answers: readonly Chosen[];
  /** What cannot hold together; absent where something does. */
  readonly conflict?: readonly ConflictPart[];
  readonly questions: readonly AskedFirst[];
  /** Whether the search came to its end; else the effort that was allowed was spent before, and there is no answer. */
  readonly isSought: boolean;
}

export interface ChooseOptions {
  /** Answers for each design at most. */
  readonly top?: number;
  /** How much may be tried. */
  readonly effort?: Effort;
  /** Designs and variants whose holes are sought; all unless said. */
  readonly designs?: (name: string) => boolean;
}

/** What is tried for one file unless said otherwise: some minutes on an ordinary machine at the most. */
export const ENOUGH = 30_000;

/**
 * Values for everything that a file leaves open. Whatever is answered has been put into the text and judged like any other text. Yields
 * after each trial, so that its caller can leave off.
 */
export function* chosenFor(
  analysis: Analysis,
  ground: Ground,
  { top = 1, effort = new Effort(ENOUGH), designs = () => true }: ChooseOptions = {},
): Generator<void, readonly ChosenDesign[]> {
  const file = ground.document.parseResult.value;
  const all: ChosenDesign[] = [];
  for (const open of openValues(file, ground.document.uri.toString()))
    if (designs(open.name)) all.push(yield* new Choosing(open, analysis, ground, effort).chosen(top));
  return all;
}

/** The holes of one design while values are sought for them. */
class Choosing {
  private readonly questions: AskedFirst[] = [];

  constructor(
    private readonly open: OpenDesign,
    private readonly analysis: Analysis,
    private readonly ground: Ground,
    private readonly effort: Effort,
  ) {}

  *chosen(top: number): Generator<void, ChosenDesign> {
    let sought = this.domains();
    for (;;) {
      const result = yield* this.chosenOf(sought, top);
      if (!('lacking' in result)) return result;
      sought = sought.filter((_, index) => !result.lacking.has(index));
    }
  }

  private *chosenOf(
    sought: readonly { readonly value: OpenValue; readonly domain: Domain }[],
    top: number,
  ): Generator<void, ChosenDesign | { readonly lacking: ReadonlySet<number> }> {
    if (sought.length === 0) return this.result([], true);
    const values = sought.map(({ value }) => value);
    const quick = yield* this.chosenBy(this.trials(values), sought, top);
    // A value that changes more than what is open would be a fault of this program; then every filling is put into the text.
    if (quick !== 'untrue') return quick;
    const slow = yield* this.chosenBy(this.trials(values).slowly(), sought, top);
    return slow === 'untrue' ? this.result([], false) : slow;
  }

  private *chosenBy(
    trials: Trials,
    sought: readonly { readonly value: OpenValue; readonly domain: Domain }[],
    top: number,
  ): Generator<void, ChosenDesign | { readonly lacking: ReadonlySet<number> } | 'untrue'> {
    const base = trials.try(
      sought.map(() => undefined),
      'judged',
    ).analysis;
    yield;
    const isPlaying = base.unplayed !== undefined && this.ground.options.scenarios !== 'leave';
    const search = new Search(
      sought.map(({ domain }) => domain),
      trials,
      isPlaying,
    );
    const first = yield* search.best();
    if (first.kind === 'unfinished') return this.result([], false);
    if (first.kind === 'none') {
      const items = yield* conflictOf(first.blocking, search);
      const conflict = items.map(({ without, ...item }) => ({
        ...item,
        ...(without ? { without: this.valuesOf(without, sought, search) } : {}),
      }));
      return { ...this.result([], true), conflict };
    }
    if (!trials.isTrue(search.fillingOf(first.choice))) return 'untrue';
    yield;
    const lacking = yield* lackingFacts(search.fillingOf(first.choice), trials, this.judged());
    // What was not looked into to the end is not answered.
    if (this.effort.isSpent) return this.result([], false);
    if (lacking.length > 0) {
      for (const { hole, question } of lacking) this.ask(sought[hole]!.value, question);
      return { lacking: new Set(lacking.map(({ hole }) => hole)) };
    }
    const answers: Chosen[] = [];
    for (const each of yield* ranked(first, search, top)) {
      const { choice, spans } = yield* this.centred(each.choice, sought, search);
      answers.push(yield* this.answer(choice, spans, sought, search));
    }
    return this.result(answers, true);
  }

  private result(answers: readonly Chosen[], isSought: boolean): ChosenDesign {
    const { name, variant, values } = this.open;
    return {
      design: name,
      ...(variant === undefined ? {} : { variant }),
      open: values,
      answers,
      questions: this.questions,
      isSought,
    };
  }

  /** Holes with values to be tried; of the others it is asked what has to be said first. */
  private domains(): readonly { readonly value: OpenValue; readonly domain: Domain }[] {
    const design = this.analysis.designs.find(({ system }) => system.name === this.open.name);
    if (!design) return [];
    return this.open.values.flatMap((value) => {
      const domain = domainOf(value, design);
      if (!('ask' in domain)) return [{ value, domain }];
      this.questions.push({ path: value.path, question: domain.ask, missing: [] });
      return [];
    });
  }

  /** The design with its variants, its holes open. */
  private judged(): Analysis['designs'] {
    const names = this.names();
    return this.analysis.designs.filter(({ system }) => names.has(system.name));
  }

  private trials(values: readonly OpenValue[]): Trials {
    const names = this.names();
    const things = this.judged().reduce(
      (sum, { system }) => sum + system.runs.length + system.instances.length + system.controls.length,
      1,
    );
    return new Trials(this.ground, values, (name) => names.has(name), things, this.effort);
  }

  /** A design with its variants, which have its values too; a variant alone. */
  private names(): ReadonlySet<string> {
    const { name, variant } = this.open;
    const file = this.ground.document.parseResult.value;
    if (variant !== undefined || !isFile(file)) return new Set([name]);
    const variants = file.declarations.filter(isVariant).filter(({ base }) => base?.$refText === name);
    return new Set([name, ...variants.map((each) => each.name)]);
  }

  private ask(value: OpenValue, { check, subject, missing }: OpenQuestion): void {
    if (this.questions.some((each) => each.path === value.path && each.check === check && each.subject === subject))
      return;
    this.questions.push({ path: value.path, question: `State ${missing.join(', ')}.`, check, subject, missing });
  }

  private valuesOf(
    choice: Choice,
    sought: readonly { readonly value: OpenValue }[],
    search: Search,
  ): ReadonlyMap<string, string> {
    return new Map(search.fillingOf(choice).map((text, index) => [sought[index]!.value.path, text!]));
  }

  /** Puts each threshold into the middle of those that hold, all else being as it is. */
  private *centred(
    found: Choice,
    sought: readonly { readonly domain: Domain }[],
    search: Search,
  ): Generator<void, { readonly choice: Choice; readonly spans: ReadonlyMap<number, Span> }> {
    const spans = new Map<number, Span>();
    let choice = found;
    const { cost } = search.verdictOf(found);
    for (const [hole, { domain }] of sought.entries()) {
      const { ascending, values } = domain;
      if (!ascending) continue;
      const withLimit = (index: number): Choice =>
        choice.map((each, at) => (at === hole ? values.indexOf(ascending[index]!) : each));
      const holds: number[] = [];
      for (const index of ascending.keys()) {
        const isBlocked = search.blockedTrialOf(withLimit(index)) !== undefined;
        yield;
        if (isBlocked) continue;
        yield* search.prepare(search.fillingOf(withLimit(index)));
        const verdict = search.verdictOf(withLimit(index));
        yield;
        const isAsGood = compareCosts(firstTwo(verdict.cost), firstTwo(cost)) <= 0;
        if (verdict.blockedBy.length === 0 && isAsGood) holds.push(index);
      }
      const middle = holds[Math.floor((holds.length - 1) / 2)];
      if (middle === undefined) continue;
      choice = withLimit(middle);
      // The stretch of values that hold around the one that is taken.
      let [low, high] = [middle, middle];
      while (holds.includes(low - 1)) low -= 1;
      while (holds.includes(high + 1)) high += 1;
      const beyond = [high + 1, low - 1].filter((index) => index >= 0 && index < ascending.length);
      spans.set(hole, {
        low: ascending[low]!,
        high: ascending[high]!,
        beyond: beyond.map((index) => values.indexOf(ascending[index]!)),
      });
    }
    return { choice, spans };
  }

  private *answer(
    choice: Choice,
    spans: ReadonlyMap<number, Span>,
    sought: readonly { readonly value: OpenValue }[],
    search: Search,
  ): Generator<void, Chosen> {
    const { analysis, price } = search.trialAt(choice);
    const held = yield* holding(choice, spans, search);
    return {
      values: this.valuesOf(choice, sought, search),
      ...(price.unit === undefined ? {} : { price }),
      errors: standing(analysis).filter(
        ({ severity, subject }) => severity === 'error' && isOfDesign(subject, this.open.name),
      ).length,
      warnings: standing(analysis).filter(
        ({ severity, subject }) => severity === 'warning' && isOfDesign(subject, this.open.name),
      ).length,
      heldBy: held.map((each) => ({ ...each, path: sought[each.hole]!.value.path })),
    };
  }
}

const firstTwo = ([errors, warnings]: Cost): Cost => [errors, warnings, 0, 0, 0];

type FoundChoice = Extract<Outcome, { readonly kind: 'found' }>;

/** Some best choices, the best first: each further one is the best of what is left when those before it are taken out. */
function* ranked(first: FoundChoice, search: Search, top: number): Generator<void, readonly FoundChoice[]> {
  const all: FoundChoice[] = [];
  const open: { readonly found: FoundChoice; readonly allowed: readonly (readonly number[])[] }[] = [
    { found: first, allowed: search.everything() },
  ];
  while (all.length < top) {
    open.sort(
      (left, right) =>
        compareCosts(left.found.cost, right.found.cost) || compareChoices(left.found.choice, right.found.choice),
    );
    const next = open.shift();
    if (!next) break;
    all.push(next.found);
    if (all.length === top) break;
    const { choice } = next.found;
    for (const hole of choice.keys()) {
      const allowed = next.allowed.map((values, index) =>
        index < hole ? [choice[index]!] : index === hole ? values.filter((value) => value !== choice[hole]) : values,
      );
      if (allowed[hole]!.length === 0) continue;
      const found = yield* search.best({ allowed });
      if (found.kind === 'found') open.push({ found, allowed });
    }
  }
  return all;
}

function compareChoices(left: Choice, right: Choice): number {
  for (const [index, value] of left.entries()) if (value !== right[index]) return value - right[index]!;
  return 0;
}
