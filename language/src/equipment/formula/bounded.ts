import { raise } from '../../quantity/index.js';
import { Constant, Leaf, Named, Pair, Raised, type Term } from './term.js';

/** An interval of plain SI numbers. */
export interface Interval {
  readonly low: number;
  readonly high: number;
}

/** Intervals of facts; undefined where one is not stated. */
export type IntervalOf = (leaf: Leaf) => Interval | undefined;

const interval = (low: number, high: number): Interval => ({ low, high });
const ZERO = interval(0, 0);
const ONE = interval(1, 1);
const EVERYTHING = interval(-Infinity, Infinity);

/** 0·∞ is 0 here: a bound of 0 times an unbounded fact stays 0. */
const product = (a: number, b: number): number => (a === 0 || b === 0 ? 0 : a * b);

function times(a: Interval, b: Interval): Interval {
  const ends = [product(a.low, b.low), product(a.low, b.high), product(a.high, b.low), product(a.high, b.high)];
  return interval(Math.min(...ends), Math.max(...ends));
}
const inverse = ({ low, high }: Interval): Interval => (low > 0 || high < 0 ? interval(1 / high, 1 / low) : EVERYTHING);
const plus = (a: Interval, b: Interval): Interval => interval(a.low + b.low, a.high + b.high);
const negative = ({ low, high }: Interval): Interval => interval(-high, -low);
const hull = (a: Interval, b: Interval): Interval => interval(Math.min(a.low, b.low), Math.max(a.high, b.high));

/** A plain number to a power, which rises or falls all the way from zero on; below zero it may be anything. */
function raised({ low, high }: Interval, exponent: number): Interval {
  if (low < 0) return EVERYTHING;
  const [a, b] = [raise(low, exponent), raise(high, exponent)];
  return interval(Math.min(a, b), Math.max(a, b));
}

/** Natural interval of a formula: sure, but wider than need be where a fact stands in it twice. */
export function natural(term: Term, of: IntervalOf): Interval {
  if (term instanceof Leaf) return of(term) ?? EVERYTHING;
  if (term instanceof Constant) return interval(term.value, term.value);
  if (term instanceof Named) return natural(term.of, of);
  if (term instanceof Pair) {
    const [a, b] = [natural(term.left, of), natural(term.right, of)];
    switch (term.operation) {
      case 'plus':
        return plus(a, b);
      case 'minus':
        return plus(a, negative(b));
      case 'times':
        return times(a, b);
      case 'over':
        return times(a, inverse(b));
      case 'atMost':
        return interval(Math.min(a.low, b.low), Math.min(a.high, b.high));
      case 'atLeast':
        return interval(Math.max(a.low, b.low), Math.max(a.high, b.high));
    }
  }
  if (term instanceof Raised) return raised(natural(term.base, of), term.exponent);
  let [low, high] = [Infinity, Infinity];
  for (const { when, term: each } of term.bounds) {
    if (!of(when)) continue;
    const own = natural(each, of);
    [low, high] = [Math.min(low, own.low), Math.min(high, own.high)];
  }
  return interval(Math.max(0, low), Math.max(0, high));
}

/** Interval of the slope of a formula against one fact, over a box of facts. */
function slope(term: Term, by: Leaf, of: IntervalOf): Interval {
  if (term === by) return ONE;
  if (term instanceof Leaf || term instanceof Constant) return ZERO;
  if (term instanceof Named) return slope(term.of, by, of);
  if (term instanceof Pair) return slopeOfPair(term, by, of);
  if (term instanceof Raised) {
    const steepness = times(interval(term.exponent, term.exponent), raised(natural(term.base, of), term.exponent - 1));
    return times(steepness, slope(term.base, by, of));
  }
  const active = term.bounds.filter(({ when }) => of(when)).map(({ term: each }) => each);
  const values = active.map((each) => natural(each, of));
  const lowestHigh = Math.min(...values.map(({ high }) => high));
  const may = active.filter((_, at) => values[at]!.low <= lowestHigh).map((each) => slope(each, by, of));
  const all = may.reduce(hull, may[0] ?? ZERO);
  return Math.min(...values.map(({ low }) => low)) >= 0 ? all : hull(all, ZERO);
}

function slopeOfPair({ operation, left, right }: Pair, by: Leaf, of: IntervalOf): Interval {
  const [da, db] = [slope(left, by, of), slope(right, by, of)];
  switch (operation) {
    case 'plus':
      return plus(da, db);
    case 'minus':
      return plus(da, negative(db));
    case 'times':
      return plus(times(da, natural(right, of)), times(natural(left, of), db));
    case 'over': {
      const below = inverse(natural(right, of));
      return plus(times(da, below), negative(times(times(natural(left, of), db), times(below, below))));
    }
    case 'atMost':
    case 'atLeast': {
      const [a, b] = [natural(left, of), natural(right, of)];
      const isLeft = operation === 'atMost' ? a.high < b.low : a.low > b.high;
      const isRight = operation === 'atMost' ? b.high < a.low : b.low > a.high;
      return isLeft ? da : isRight ? db : hull(da, db);
    }
  }
}

/** The values that a formula can take, and at which end of each ranged fact its greatest value lies, where that is certain. */
export interface Bounded extends Interval {
  readonly ends: ReadonlyMap<Leaf, 'low' | 'high'>;
}

/** The interval of a formula over ranges: every fact at the end that its slope tells, the others over their whole range. */
export function bounded(term: Term, of: IntervalOf, leaves: Iterable<Leaf>): Bounded {
  const ends = new Map<Leaf, 'low' | 'high'>();
  const atLeast = new Map<Leaf, Interval>();
  const atMost = new Map<Leaf, Interval>();
  for (const each of leaves) {
    const range = of(each);
    if (!range || range.low === range.high) continue;
    const { low, high } = slope(term, each, of);
    if (low < 0 && high > 0) continue;
    const isRising = low >= 0;
    ends.set(each, isRising ? 'high' : 'low');
    atMost.set(each, isRising ? interval(range.high, range.high) : interval(range.low, range.low));
    atLeast.set(each, isRising ? interval(range.low, range.low) : interval(range.high, range.high));
  }
  return {
    low: natural(term, (each) => atLeast.get(each) ?? of(each)).low,
    high: natural(term, (each) => atMost.get(each) ?? of(each)).high,
    ends,
  };
}
