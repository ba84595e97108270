import type { RequirementResult } from '../analyse/types.js';
import type { Place } from '../derivation/index.js';
import { shareOf } from '../checks/verdicts.js';
import type { Domain } from './domain.js';
import { type Cost, type Problem, type Table, compareCosts, optimum, rowKey } from './optimum.js';
import { NOTHING_TOLD, type Said, type Told, checkOf, differing, requirementKey, PRICE_KEY } from './told.js';
import type { Filling, Judgement, Trial, Trials } from './trials.js';

/** One value for each hole, by its number in the domain of the hole. */
export type Choice = readonly number[];

export type Outcome =
  | { readonly kind: 'found'; readonly choice: Choice; readonly cost: Cost }
  /** Nothing holds: what blocks every filling, by check and thing. */
  | { readonly kind: 'none'; readonly blocking: readonly string[] }
  /** The effort that was allowed was spent before. */
  | { readonly kind: 'unfinished' };

export interface SearchOptions {
  /** Values that each hole may have; all of its domain unless said. */
  readonly allowed?: readonly (readonly number[])[];
  /** What is not looked at, by check and thing, as if nothing was asked of it. */
  readonly without?: ReadonlySet<string>;
}

/** What counts against a choice. */
export interface Verdict {
  /** Checks and things that keep it from holding. */
  readonly blockedBy: readonly string[];
  readonly cost: Cost;
}

export interface TrialOf {
  readonly analysis: Judgement;
  readonly said: Said;
  /** A requirement by the key of what is said of it. */
  readonly requirementAt: (key: string) => RequirementResult | undefined;
}

/** What was said of one choice. */
interface Entry {
  readonly choice: Choice;
  readonly said: ReadonlyMap<string, Told>;
  /** Checks that were asked; undefined for all. */
  readonly asked: ReadonlySet<string> | undefined;
}

/** What is said only where rules and scenarios are played is kept apart from what the text alone shows. */
const PLAYED_KEY = 'played:';

/** Values of a hole up to which each is tried. */
const FEW = 6;

/**
 * Looks for the best choice by trying choices: what a trial shows of some holes holds for every choice in which these have the same
 * values. The next one tried is the best by all that is known, so that the first that holds in full is the best there is.
 *
 * Which holes a check looks at is found out by leaving each open, and by giving it its last value: where the check says the same, it does
 * not look. A trial that contradicts this widens the holes of the check and what was learned of it is worked out anew.
 */
export class Search {
  private readonly holes = new Map<string, Set<number>>();
  private readonly entries: Entry[] = [];
  private readonly rows = new Map<string, Map<string, Cost | 'blocked'>>();
  private readonly tried = new Set<string>();
  private readonly played = new Set<string>();
  private readonly suspects = new Set<string>();
  private readonly partly = new Set<string>();
  private readonly learnt = new Set<string>();
  /** By hole how far ahead is looked; none where values are tried one after the other. */
  private readonly strides = new Map<number, number>();
  private readonly base: Said;
  private basePlayed: ReadonlyMap<string, Told> | undefined;

  constructor(
    private readonly domains: readonly Domain[],
    private readonly trials: Trials,
    /** Whether rules and scenarios are played. */
    private readonly isPlaying: boolean,
  ) {
    const { said, analysis } = trials.try(
      domains.map(() => undefined),
      'judged',
    );
    this.base = said;
    // A single hole is looked at by what lacks it.
    if (domains.length === 1) for (const { check } of analysis.questions) this.suspects.add(check);
  }

  fillingOf(choice: Choice): Filling {
    return this.domains.map(({ values }, hole) => values[choice[hole]!]);
  }

  /** The best choice. Yields after each trial. */
  *best({ allowed = this.everything(), without }: SearchOptions = {}): Generator<void, Outcome> {
    for (;;) {
      // Each turn counts, so that a search comes to an end whatever it learns.
      this.trials.effort.spend(1);
      const found = optimum({ allowed, tables: this.tables(without) });
      if (found.kind === 'none') return { kind: 'none', blocking: this.blocking(without) };
      if (found.kind === 'too-large' || this.trials.effort.isSpent) return { kind: 'unfinished' };
      const { choice } = found;
      const key = choice.join();
      if (!this.tried.has(key)) {
        const ahead = this.ahead(choice, allowed);
        if (ahead) yield* this.lookAhead(choice, ahead, without);
        else yield* this.tryOut(choice, without);
        continue;
      }
      if (this.isPlaying && !this.played.has(key)) {
        if (yield* this.play(choice)) continue;
      }
      return found;
    }
  }

  everything(): Problem['allowed'] {
    return this.domains.map(({ values }) => values.map((_, index) => index));
  }

  /** The whole analysis of a choice. */
  trialAt(choice: Choice): Trial {
    return this.trials.try(this.fillingOf(choice), this.isPlaying ? 'played' : 'judged');
  }

  /** What the checks that may have something against values say of a choice that they block; undefined where they let it pass. */
  blockedTrialOf(choice: Choice): TrialOf | undefined {
    const filling = this.fillingOf(choice);
    if (this.suspects.size === 0) return undefined;
    const trial = this.trials.try(filling, 'suspects', this.suspects);
    const isBlocked = [...trial.said].some(
      ([key, told]) => this.suspects.has(checkOf(key)) && this.isBlocked(told, this.base.get(key) ?? NOTHING_TOLD),
    );
    return isBlocked ? this.withRequirements(trial) : undefined;
  }

  /** What the whole analysis of a choice says. */
  trialOf(choice: Choice): TrialOf {
    return this.withRequirements(this.trialAt(choice));
  }

  private withRequirements({ analysis, said, written }: Trial): TrialOf {
    const keys = new Map(
      analysis.requirements.map((each) => [requirementKey({ subject: each.design, place: each.place }, written), each]),
    );
    return { analysis, said, requirementAt: (key) => keys.get(key) };
  }

  /** All that counts against a choice, whatever was learned before: what blocks it, and what it costs. */
  verdictOf(choice: Choice): Verdict {
    const filling = this.fillingOf(choice);
    const { said, price: priced } = this.trials.try(filling, 'judged');
    const blockedBy: string[] = [];
    let [errors, warnings] = [0, 0];
    const count = (all: ReadonlyMap<string, Told>, base: ReadonlyMap<string, Told>): void => {
      for (const [key, told] of all) {
        if (this.isBlocked(told, base.get(key) ?? NOTHING_TOLD)) blockedBy.push(key);
        errors += weightOf(told);
        warnings += told.warnings;
      }
    };
    count(said, this.base);
    if (this.isPlaying && blockedBy.length === 0) count(this.playedOf(filling), this.playedBase());
    const { unpriced, price } = priced;
    const steps = choice.reduce((sum, value) => sum + value, 0);
    return { blockedBy, cost: [errors, warnings, unpriced, price, steps] };
  }

  /** What a check said of a thing in a trial that it blocked, of several the one that came nearest to holding. */
  nearest(key: string): Told | undefined {
    const base = this.base.get(key) ?? NOTHING_TOLD;
    const blocked = this.entries.flatMap(({ said }) => {
      const told = said.get(key);
      return told && this.isBlocked(told, base) ? [told] : [];
    });
    return blocked.sort((left, right) => excessOf(left) - excessOf(right))[0];
  }

  /** Whether a place in the text as it is written is that of a hole. */
  isOpen(place: Place): boolean {
    return this.trials.isOpen(place);
  }

  private isBlocked(told: Told, base: Told): boolean {
    return told.errors > base.errors || (told.isRefused && !base.isRefused);
  }

  private costOf(told: Told, base: Told): Cost | 'blocked' {
    return this.isBlocked(told, base) ? 'blocked' : [weightOf(told), told.warnings, 0, 0, 0];
  }

  private tables(without: ReadonlySet<string> | undefined): Table[] {
    const tables: Table[] = [];
    for (const [key, rows] of this.rows) {
      const holes = this.holes.get(key);
      if (holes && holes.size > 0 && !without?.has(key)) tables.push({ holes: sorted(holes), rows });
    }
    return tables;
  }

  private blocking(without: ReadonlySet<string> | undefined): string[] {
    return [...this.rows]
      .filter(([key, rows]) => !without?.has(key) && [...rows.values()].includes('blocked'))
      .map(([key]) => key);
  }

  /**
   * A choice further on in the order of holes whose values were blocked one after the other: what blocks it as well, and less, blocks all
   * that lies between.
   */
  private ahead(choice: Choice, allowed: Problem['allowed']): Choice | undefined {
    let isAhead = false;
    const further = choice.map((value, hole) => {
      const stride = this.strides.get(hole) ?? 0;
      const last = this.domains[hole]!.values.length - 1;
      if (stride === 0 || value === last || allowed[hole]!.length <= last) return value;
      isAhead = true;
      return Math.min(last, value + stride);
    });
    return isAhead ? further : undefined;
  }

  private *lookAhead(choice: Choice, further: Choice, without: ReadonlySet<string> | undefined): Generator<void, void> {
    yield* this.asked(further, without);
    for (const [hole, value] of further.entries()) {
      const first = choice[hole]!;
      if (value === first) continue;
      const stride = this.strides.get(hole)!;
      const isFilled = this.fill(hole, first, value);
      this.strides.set(hole, isFilled ? stride * 2 : Math.floor(stride / 2));
    }
  }

  /** Takes the values before one to cost what the last before them and that one cost, where a check misses its limit by no more at the end. */
  private fill(hole: number, first: number, until: number): boolean {
    let isFilled = false;
    for (const key of this.badAlone(hole, until)) {
      const rows = this.rows.get(key)!;
      const [before, after] = [rows.get(String(first - 1)), rows.get(String(until))!];
      if (before === undefined || !sameCost(before, after) || !this.isAlike(key, hole, first - 1, until)) continue;
      for (let value = first; value < until; value += 1) {
        // Nothing is gained where all of it was known.
        isFilled ||= !rows.has(String(value));
        rows.set(String(value), after);
      }
    }
    return isFilled;
  }

  /** What speaks against a value of a hole whatever the other holes are. */
  private badAlone(hole: number, value: number): string[] {
    return [...this.rows].flatMap(([key, rows]) => {
      const holes = this.holes.get(key);
      return holes?.size === 1 && holes.has(hole) && isBad(rows.get(String(value))) ? [key] : [];
    });
  }

  /** Whether a check said the same of two values, or missed its limit by less at the second. */
  private isAlike(key: string, hole: number, first: number, second: number): boolean {
    const [one, other] = [first, second].map((value) =>
      this.entries
        .find((each) => each.choice[hole] === value && isAbout(each, key) && each.said.has(key))
        ?.said.get(key),
    );
    if (!one || !other) return false;
    if (one.content === other.content) return true;
    const [before, after] = [excessOf(one), excessOf(other)];
    return Number.isFinite(before) && Number.isFinite(after) && after <= before;
  }

  /** Asks the checks that may have something against values; whether they block the choice. */
  private *asked(choice: Choice, without: ReadonlySet<string> | undefined): Generator<void, boolean> {
    if (this.suspects.size === 0) return false;
    const { said } = this.trials.try(this.fillingOf(choice), 'suspects', this.suspects);
    yield;
    const asked = new Set(this.suspects);
    const blocked = [...said].filter(
      ([key, told]) => asked.has(checkOf(key)) && this.isBlocked(told, this.base.get(key) ?? NOTHING_TOLD),
    );
    if (this.domains.length === 1) for (const [key] of blocked) this.looksAt(key, 0);
    this.take({ choice, said: onlyOf(said, asked), asked });
    return blocked.some(([key]) => this.holes.has(key) && !without?.has(key));
  }

  private *tryOut(choice: Choice, without: ReadonlySet<string> | undefined): Generator<void, void> {
    const filling = this.fillingOf(choice);
    // What some checks say, all say: where it is enough to look elsewhere, the others need not be asked.
    if (this.suspects.size > 0 && !this.partly.has(choice.join())) {
      this.partly.add(choice.join());
      yield* this.asked(choice, without);
      for (const [hole, { isOrdered, values }] of this.domains.entries()) {
        const value = choice[hole]!;
        const isInRow =
          value > 0 && this.badAlone(hole, value).some((key) => isBad(this.rows.get(key)!.get(String(value - 1))));
        if (isOrdered && values.length > FEW && isInRow) this.strides.set(hole, 2);
      }
      return;
    }
    const { said } = this.trials.try(filling, 'judged');
    yield;
    this.tried.add(choice.join());
    yield* this.learn(choice, said);
    this.take({ choice, said, asked: undefined });
  }

  /** Finds out which holes each check looks at. */
  private *learn(choice: Choice, said: Said): Generator<void, void> {
    const isNew = (key: string): boolean =>
      !this.learnt.has(key) && (this.learnt.size === 0 || costs(said.get(key) ?? NOTHING_TOLD));
    const fresh = [...said.keys()].filter(isNew);
    if (fresh.length === 0) return;
    for (const [hole, { values }] of this.domains.entries()) {
      if (this.trials.effort.isSpent) return;
      const fillings = [undefined, values.at(-1), values[0]].filter((text) => text !== values[choice[hole]!]);
      for (const text of fillings.slice(0, 2)) {
        const filling = this.fillingOf(choice).map((each, index) => (index === hole ? text : each));
        const { said: other } = this.trials.try(filling, 'judged');
        yield;
        for (const key of differing(said, other)) this.looksAt(key, hole);
      }
    }
    for (const key of fresh) {
      this.learnt.add(key);
      // What no hole alone changes may hang on several: it is taken to hang on all.
      if (!this.holes.has(key) && costs(said.get(key)!) && said.get(key)!.content !== this.base.get(key)?.content)
        for (const hole of this.domains.keys()) this.looksAt(key, hole);
    }
  }

  private looksAt(key: string, hole: number): void {
    let holes = this.holes.get(key);
    if (!holes) this.holes.set(key, (holes = new Set()));
    if (holes.has(hole)) return;
    holes.add(hole);
    const check = checkOf(key);
    if (!key.startsWith(PLAYED_KEY) && key !== PRICE_KEY) this.suspects.add(check);
    this.rows.delete(key);
    for (const entry of this.entries) this.note(entry, key);
  }

  private take(entry: Entry): void {
    this.entries.push(entry);
    for (const key of this.holes.keys()) this.note(entry, key);
  }

  /** Writes down what a trial showed of one check and thing; where that contradicts what was known, more holes count. */
  private note(entry: Entry, key: string): void {
    const holes = this.holes.get(key);
    const isPlayed = key.startsWith(PLAYED_KEY);
    if (!holes || holes.size === 0 || !isAbout(entry, key)) return;
    const base = (isPlayed ? this.playedBase() : this.base).get(key) ?? NOTHING_TOLD;
    const told = entry.said.get(key) ?? NOTHING_TOLD;
    const cost = key === PRICE_KEY ? priceCost(told) : this.costOf(told, base);
    const list = sorted(holes);
    let rows = this.rows.get(key);
    if (!rows) this.rows.set(key, (rows = new Map()));
    const row = rowKey(list, entry.choice);
    const known = rows.get(row);
    if (known !== undefined && !sameCost(known, cost)) {
      const other = this.entries.find(
        (each) => isAbout(each, key) && each !== entry && rowKey(list, each.choice) === row,
      );
      const more = other ? entry.choice.flatMap((value, hole) => (other.choice[hole] === value ? [] : [hole])) : [];
      for (const hole of more) holes.add(hole);
      if (more.length > 0) {
        this.rows.delete(key);
        for (const each of [...this.entries]) this.note(each, key);
        return;
      }
    }
    rows.set(row, cost);
  }

  /** Plays a choice; whether anything is said against it that was not known. */
  private *play(choice: Choice): Generator<void, boolean> {
    const filling = this.fillingOf(choice);
    yield* this.prepare(this.domains.map(() => undefined));
    yield* this.prepare(filling);
    const said = this.playedOf(filling);
    yield;
    this.played.add(choice.join());
    const counted = [...said].filter(
      ([key, told]) => costs(told) && told.content !== this.playedBase().get(key)?.content,
    );
    for (const [key] of counted) {
      if (this.holes.has(key)) continue;
      for (const [hole, { values }] of this.domains.entries()) {
        if (this.trials.effort.isSpent) return true;
        const fillings = [undefined, values.at(-1), values[0]].filter((text) => text !== values[choice[hole]!]);
        for (const text of fillings.slice(0, 2)) {
          const changed = filling.map((each, index) => (index === hole ? text : each));
          yield* this.prepare(changed);
          const other = this.playedOf(changed);
          for (const differs of differing(said, other)) this.looksAt(differs, hole);
        }
      }
      if (!this.holes.has(key)) for (const hole of this.domains.keys()) this.looksAt(key, hole);
    }
    this.take({ choice, said, asked: new Set([PLAYED_KEY]) });
    return counted.length > 0;
  }

  /** Plays a filling, where that is done at all, so that what it shows is at hand. */
  *prepare(filling: Filling): Generator<void, void> {
    if (this.isPlaying) yield* this.trials.playing(filling);
  }

  /** What only playing shows of a filling. */
  private playedOf(filling: Filling): ReadonlyMap<string, Told> {
    const before = this.trials.try(filling, 'judged').said;
    const after = this.trials.try(filling, 'played').said;
    return new Map(
      differing(before, after).map((key) => [
        `${PLAYED_KEY}${key}`,
        beyond(after.get(key) ?? NOTHING_TOLD, before.get(key)),
      ]),
    );
  }

  private playedBase(): ReadonlyMap<string, Told> {
    return (this.basePlayed ??= this.playedOf(this.domains.map(() => undefined)));
  }
}

const priceCost = ({ price }: Told): Cost => [0, 0, price?.unpriced ?? 0, price?.price ?? 0, 0];

const sorted = (holes: ReadonlySet<number>): number[] => [...holes].sort((left, right) => left - right);

/** What an open marking weighs beside errors: as much as one, since the value may not hold. */
const weightOf = ({ errors, isUnmarked }: Told): number => errors + (isUnmarked ? 1 : 0);

const costs = (told: Told): boolean => weightOf(told) > 0 || told.warnings > 0 || told.isRefused;

const sameCost = (left: Cost | 'blocked', right: Cost | 'blocked'): boolean =>
  left === 'blocked' || right === 'blocked' ? left === right : compareCosts(left, right) === 0;

const isBad = (cost: Cost | 'blocked' | undefined): boolean =>
  cost === 'blocked' || (cost !== undefined && (cost[0] > 0 || cost[1] > 0));

/** Whether a trial could show anything of a check and thing. */
function isAbout({ asked }: Entry, key: string): boolean {
  if (key.startsWith(PLAYED_KEY)) return asked?.has(PLAYED_KEY) === true;
  return asked === undefined || key === PRICE_KEY || asked.has(checkOf(key));
}

const onlyOf = (said: Said, checks: ReadonlySet<string>): Said =>
  new Map([...said].filter(([key]) => key === PRICE_KEY || checks.has(checkOf(key))));

/** What is told beyond what was told before. */
const beyond = (after: Told, before: Told = NOTHING_TOLD): Told => ({
  ...after,
  errors: Math.max(0, after.errors - before.errors),
  warnings: Math.max(0, after.warnings - before.warnings),
});

/** By how much findings miss their limits, the worst of them; infinite where no number says. */
function excessOf({ findings }: Told): number {
  const shares = findings.map(({ use }) => (use ? shareOf(use) : Infinity));
  return shares.length > 0 ? Math.max(...shares) : Infinity;
}
