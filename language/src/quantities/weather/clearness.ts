import { DAILY_CLEARNESS, type ClearnessRow, solarModel } from '../../reference/energy/index.js';
import { isLeap, monthOf } from './dates.js';
import type { SunPlan } from './plans.js';

/** Random numbers: evenly from 0 to 1, and of the normal distribution of mean 0 and deviation 1. */
export interface Draw {
  readonly next: () => number;
  readonly normal: () => number;
}

/** Deviation of the radiation of a year from the mean of many years, beyond what days that follow each other bring about by themselves. */
const [YEAR_SPREAD, MOST_DEVIATIONS] = solarModel('year-to-year-radiation') as [number, number];
/** Days of equal likelihood by which a month is reckoned without playing. */
const LIKELY_DAYS = 20;
/** Pieces into which a state of the chain is cut to find them. */
const PIECES = 20;
/** A mean cannot lie at the end of what its days reach. */
const NEAR_END = 0.02;

/** The days of months of a mean clearness, as a Markov chain of ten equal states between the least and the most clearness of a day. */
class Chain {
  readonly least: number;
  readonly most: number;
  readonly width: number;
  /** Share of the days in each state in the long run. */
  readonly share: Float64Array;
  /** Mean and deviation of the days in the long run. */
  readonly mean: number;
  readonly deviation: number;

  constructor(private readonly row: ClearnessRow) {
    const { least, most, steps } = row;
    const states = steps.length;
    [this.least, this.most, this.width] = [least, most, (most - least) / states];
    let share = new Float64Array(states).fill(1 / states);
    // Any start comes to the same end; the second largest eigenvalue of every matrix is below 0.7.
    for (let round = 0; round < 200; round += 1) {
      const next = new Float64Array(states);
      steps.forEach((to, from) => {
        const sum = to.reduce((all, each) => all + each, 0);
        to.forEach((each, state) => (next[state]! += (share[from]! * each) / sum));
      });
      share = next;
    }
    this.share = share;
    const middles = Float64Array.from(share, (_, state) => least + (state + 0.5) * this.width);
    this.mean = share.reduce((sum, each, state) => sum + each * middles[state]!, 0);
    const variance = share.reduce(
      (sum, each, state) => sum + each * ((middles[state]! - this.mean) ** 2 + this.width ** 2 / 12),
      0,
    );
    this.deviation = Math.sqrt(variance);
  }

  /** The state of the first day, or of the one after `before`, by a number from 0 to 1. */
  state(before: number | undefined, number: number): number {
    const to: ArrayLike<number> = before === undefined ? this.share : this.row.steps[before]!;
    let all = 0;
    for (let state = 0; state < to.length; state += 1) all += to[state]!;
    let left = number * all;
    for (let state = 0; state < to.length - 1; state += 1) {
      left -= to[state]!;
      if (left < 0) return state;
    }
    return to.length - 1;
  }
}

const chains = new Map<ClearnessRow, Chain>();

/** The chain of months of a mean clearness. */
export function chainOf(mean: number): Chain {
  const row = DAILY_CLEARNESS.rows.find(({ upTo }) => mean <= upTo) ?? DAILY_CLEARNESS.rows.at(-1)!;
  let chain = chains.get(row);
  if (!chain) chains.set(row, (chain = new Chain(row)));
  return chain;
}

/** How the days of a chain are laid around a mean that is not its own. */
interface Laid {
  /** Clearness of a day in the middle of the chain's, and what a step of the chain is here. */
  readonly middle: number;
  readonly scale: number;
}

const clipped = (value: number, { least, most }: Chain): number => Math.min(most, Math.max(least, value));

/** Mean of values spread evenly from `low` to `high` that are held within the bounds of a chain. */
function meanClipped(low: number, high: number, chain: Chain): number {
  const { least, most } = chain;
  if (!(high > low)) return clipped(low, chain);
  const [from, to] = [clipped(low, chain), clipped(high, chain)];
  const inside = ((to - from) * (to + from)) / 2;
  const [below, above] = [Math.max(0, Math.min(least, high) - low), Math.max(0, high - Math.max(most, low))];
  return (inside + below * least + above * most) / (high - low);
}

/** Lays the days of a chain so that their mean in the long run is `mean`, their deviation `spread` where it is stated. */
function layAround(mean: number, spread: number | undefined, chain: Chain): Laid {
  const scale = spread === undefined ? 1 : spread / chain.deviation;
  const { least, most, width } = chain;
  const wanted = Math.min(most - NEAR_END, Math.max(least + NEAR_END, mean));
  const meanAt = (middle: number): number =>
    chain.share.reduce((sum, share, state) => {
      const low = middle + scale * (least + state * width - chain.mean);
      return sum + share * meanClipped(low, low + scale * width, chain);
    }, 0);
  let [low, high] = [least - 1, most + 1];
  for (let round = 0; round < 60; round += 1) {
    const middle = (low + high) / 2;
    if (meanAt(middle) < wanted) low = middle;
    else high = middle;
  }
  return { middle: (low + high) / 2, scale };
}

/** Clearness of a day in a state of a chain, `within` it from 0 to 1. */
const clearnessIn = (state: number, within: number, { middle, scale }: Laid, chain: Chain): number =>
  clipped(middle + scale * (chain.least + (state + within) * chain.width - chain.mean), chain);

/**
 * Clearness index of each day of a play, by the transition matrices of Aguiar, Collares-Pereira and Conde: one day follows the other as it
 * did at real stations. The stated mean of a month is what its days come to over many years; the days of one month, and one year, do not. Without
 * `random` every day has the mean.
 */
export function dailyClearness(
  sun: Pick<SunPlan, 'clearness' | 'daySpread' | 'yearSpread'>,
  year: number,
  dayOfYear: number,
  days: number,
  random?: Draw,
): Float64Array {
  const clearness = new Float64Array(days);
  let [on, at] = [year, dayOfYear];
  let known = { year: NaN, month: NaN };
  let factor = 1;
  let laid: Laid = { middle: 0, scale: 1 };
  let state: number | undefined;
  for (let day = 0; day < days; day += 1) {
    const month = monthOf(at, on);
    const mean = sun.clearness[month]!;
    if (random) {
      const chain = chainOf(mean);
      if (known.year !== on) factor = yearFactor(sun.yearSpread ?? YEAR_SPREAD, random);
      if (known.year !== on || known.month !== month) laid = layAround(mean * factor, sun.daySpread?.[month], chain);
      known = { year: on, month };
      state = chain.state(state, random.next());
      clearness[day] = clearnessIn(state, random.next(), laid, chain);
    } else clearness[day] = mean;
    at += 1;
    if (at > (isLeap(on) ? 366 : 365)) [on, at] = [on + 1, 1];
  }
  return clearness;
}

/** How a year stands to the mean of many. */
const yearFactor = (spread: number, random: Draw): number =>
  1 + spread * Math.min(MOST_DEVIATIONS, Math.max(-MOST_DEVIATIONS, random.normal()));

/** Clearness of days of a month that are as likely as each other, the dullest first, with the month's mean: what a play has over many years. */
export function likelyClearness(mean: number, spread?: number): Float64Array {
  const chain = chainOf(mean);
  const laid = layAround(mean, spread, chain);
  const days = new Float64Array(LIKELY_DAYS);
  let [day, left] = [0, 1 / LIKELY_DAYS];
  chain.share.forEach((share, state) => {
    for (let piece = 0; piece < PIECES; piece += 1) {
      const value = clearnessIn(state, (piece + 0.5) / PIECES, laid, chain);
      for (let weight = share / PIECES; weight > 0 && day < LIKELY_DAYS;) {
        const taken = Math.min(weight, left);
        days[day]! += value * taken * LIKELY_DAYS;
        weight -= taken;
        left -= taken;
        if (left > 1e-12) continue;
        day += 1;
        left = 1 / LIKELY_DAYS;
      }
    }
  });
  return days;
}
