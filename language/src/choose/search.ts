import type { Analysis, RequirementResult } from '../analyse/types.js';
import type { Place } from '../derivation/index.js';
import type { Use } from '../checks/index.js';
import type { Domain } from './domain.js';
import { type Cost, type Problem, type Table, compareCosts, optimum, rowKey } from './optimum.js';
import { type PriceOf, priceOf } from './price.js';
import { NOTHING_TOLD, type Said, type Told, checkOf, differing, requirementKey } from './told.js';
import type { Filling, Trials } from './trials.js';

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
  readonly analysis: Analysis;
  readonly said: Said;
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

const PRICE_KEY = 'price';

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
  private readonly prices = new Map<string, PriceOf>();
  private readonly tried = new Set<string>();
  private readonly played = new Set<string>();
  private readonly suspects = new Set<string>();
  private readonly learnt = new Set<string>();
  private readonly base: Said;
  private basePlayed: ReadonlyMap<string, Told> | undefined;

  constructor(
    private readonly domains: readonly Domain[],
    private readonly trials: Trials,
    /** Whether rules and scenarios are played. */
    private readonly isPlaying: boolean,
  ) {
    this.base = trials.try(
      domains.map(() => undefined),
      'judged',
    ).said;
  }

  fillingOf(choice: Choice): Filling {
    return this.domains.map(({ values }, hole) => values[choice[hole]!]);
  }

  /** The best choice. Yields after each trial. */
  *best({ allowed = this.everything(), without }: SearchOptions = {}): Generator<void, Outcome> {
    for (;;) {
      const found = optimum({ allowed, tables: this.tables(without) });
      if (found.kind === 'none') return { kind: 'none', blocking: this.blocking(without) };
      if (found.kind === 'too-large' || this.trials.effort.isSpent) return { kind: 'unfinished' };
      const { choice } = found;
      const key = choice.join();
      if (!this.tried.has(key)) {
        yield* this.tryOut(choice, without);
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
  analysisOf(choice: Choice): Analysis {
    return this.trials.try(this.fillingOf(choice), this.isPlaying ? 'played' : 'judged').analysis;
  }

  /** What the whole analysis of a choice says, with its requirements by the keys of what is said of them. */
  trialOf(choice: Choice): TrialOf {
    const filling = this.fillingOf(choice);
    const { analysis, said } = this.trials.try(filling, this.isPlaying ? 'played' : 'judged');
    const keys = new Map(
      analysis.requirements.map((each) => [
        requirementKey({ subject: each.design, place: each.place }, (place) => this.trials.written(filling, place)),
        each,
      ]),
    );
    return { analysis, said, requirementAt: (key) => keys.get(key) };
  }

  /** All that counts against a choice, whatever was learned before: what blocks it, and what it costs. */
  verdictOf(choice: Choice): Verdict {
    const filling = this.fillingOf(choice);
    const { said, analysis } = this.trials.try(filling, 'judged');
    const blockedBy: string[] = [];
    let [errors, warnings] = [0, 0];
    const count = (all: ReadonlyMap<string, Told>, base: ReadonlyMap<string, Told>): void => {
      for (const [key, told] of all) {
        if (this.isBlocked(told, base.get(key) ?? NOTHING_TOLD)) blockedBy.push(key);
        errors += told.errors;
        warnings += told.warnings;
      }
    };
    count(said, this.base);
    if (this.isPlaying && blockedBy.length === 0) count(this.playedOf(filling), this.playedBase());
    const { unpriced, price } = priceOf(analysis);
    const steps = choice.reduce((sum, value) => sum + value, 0);
    return { blockedBy, cost: [errors, warnings, unpriced, price, steps] };
  }

  /** What a check said of a thing in a trial that it blocked, of several the one that came nearest to holding. */
  nearest(key: string): { readonly told: Told; readonly filling: Filling } | undefined {
    const base = this.base.get(key) ?? NOTHING_TOLD;
    const blocked = this.entries.flatMap(({ said, choice }) => {
      const told = said.get(key);
      return told && this.isBlocked(told, base) ? [{ told, filling: this.fillingOf(choice) }] : [];
    });
    return blocked.sort((left, right) => excessOf(left.told) - excessOf(right.told))[0];
  }

  /** Where a place in the text of a filling stands in the text as it is written. */
  written(filling: Filling, place: Place): Place {
    return this.trials.written(filling, place);
  }

  /** Whether a place in the text as it is written is that of a hole. */
  isOpen(place: Place): boolean {
    return this.trials.isOpen(place);
  }

  private isBlocked(told: Told, base: Told): boolean {
    return told.errors > base.errors || (told.isRefused && !base.isRefused);
  }

  private costOf(told: Told, base: Told): Cost | 'blocked' {
    return this.isBlocked(told, base) ? 'blocked' : [told.errors, told.warnings, 0, 0, 0];
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

  private *tryOut(choice: Choice, without: ReadonlySet<string> | undefined): Generator<void, void> {
    const filling = this.fillingOf(choice);
    if (this.suspects.size > 0) {
      const { said } = this.trials.try(filling, 'suspects', this.suspects);
      yield;
      const asked = new Set(this.suspects);
      const isBad = [...said].some(
        ([key, told]) =>
          asked.has(checkOf(key)) &&
          !without?.has(key) &&
          this.holes.has(key) &&
          this.isBlocked(told, this.base.get(key) ?? NOTHING_TOLD),
      );
      // What some checks refuse, all refuse.
      if (isBad) {
        this.take({ choice, said: onlyOf(said, asked), asked });
        return;
      }
    }
    const { said, analysis } = this.trials.try(filling, 'judged');
    yield;
    this.tried.add(choice.join());
    yield* this.learn(choice, said);
    this.prices.set(choice.join(), priceOf(analysis));
    this.take({ choice, said: this.withPrice(said, choice), asked: undefined });
  }

  /** A price counts like something that is said. */
  private withPrice(said: Said, choice: Choice): ReadonlyMap<string, Told> {
    const price = this.prices.get(choice.join());
    if (!price) return said;
    return new Map([...said, [PRICE_KEY, { ...NOTHING_TOLD, content: `${price.unpriced} ${price.price}` }]]);
  }

  /** Finds out which holes each check looks at. */
  private *learn(choice: Choice, said: Said): Generator<void, void> {
    const isAlone = this.domains.length === 1;
    const isNew = (key: string): boolean =>
      !this.learnt.has(key) && (this.learnt.size === 0 || costs(said.get(key) ?? NOTHING_TOLD));
    const fresh = [...said.keys()].filter(isNew);
    if (fresh.length === 0) return;
    for (const [hole, { values }] of this.domains.entries()) {
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
    if (isAlone)
      for (const key of said.keys()) if (said.get(key)!.content !== this.base.get(key)?.content) this.looksAt(key, 0);
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
    const cost = key === PRICE_KEY ? this.priceCost(entry.choice) : this.costOf(told, base);
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

  private priceCost(choice: Choice): Cost {
    const { unpriced, price } = this.prices.get(choice.join()) ?? { unpriced: 0, price: 0 };
    return [0, 0, unpriced, price, 0];
  }

  /** Plays a choice; whether anything is said against it that was not known. */
  private *play(choice: Choice): Generator<void, boolean> {
    const filling = this.fillingOf(choice);
    const said = this.playedOf(filling);
    yield;
    this.played.add(choice.join());
    const counted = [...said].filter(
      ([key, told]) => costs(told) && told.content !== this.playedBase().get(key)?.content,
    );
    for (const [key] of counted) {
      if (this.holes.has(key)) continue;
      for (const [hole, { values }] of this.domains.entries()) {
        const fillings = [undefined, values.at(-1), values[0]].filter((text) => text !== values[choice[hole]!]);
        for (const text of fillings.slice(0, 2)) {
          const other = this.playedOf(filling.map((each, index) => (index === hole ? text : each)));
          yield;
          for (const differs of differing(said, other)) this.looksAt(differs, hole);
        }
      }
      if (!this.holes.has(key)) for (const hole of this.domains.keys()) this.looksAt(key, hole);
    }
    this.take({ choice, said, asked: new Set([PLAYED_KEY]) });
    return counted.length > 0;
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

const sorted = (holes: ReadonlySet<number>): number[] => [...holes].sort((left, right) => left - right);

const costs = ({ errors, warnings, isRefused }: Told): boolean => errors > 0 || warnings > 0 || isRefused;

const sameCost = (left: Cost | 'blocked', right: Cost | 'blocked'): boolean =>
  left === 'blocked' || right === 'blocked' ? left === right : compareCosts(left, right) === 0;

/** Whether a trial could show anything of a check and thing. */
function isAbout({ asked }: Entry, key: string): boolean {
  if (key.startsWith(PLAYED_KEY)) return asked?.has(PLAYED_KEY) === true;
  return asked === undefined || asked.has(checkOf(key));
}

const onlyOf = (said: Said, checks: ReadonlySet<string>): Said =>
  new Map([...said].filter(([key]) => checks.has(checkOf(key))));

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

/** The share of its limit that is used: 1 at the limit, more beyond it. */
export function shareOf({ value, limit, sense }: Use): number {
  const [used, most] = [value.value, limit.value].map((each) => (typeof each === 'object' ? each.value : Number.NaN));
  const share = sense === 'at-most' ? used! / most! : most! / used!;
  return Number.isFinite(share) ? share : Infinity;
}
