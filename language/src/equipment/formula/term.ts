/**
 * Formulas as values. A formula of a device is written once, as a `Term`, and read in three ways: as a derivation at a point (`worked`), as an
 * interval over ranges (`bounded`), and as plain numbers for the engine (`fast`). Dimensions are checked as it is written.
 */
import type { BoundKind } from '../../derivation/index.js';
import {
  DIMENSIONS,
  type Dimension,
  DimensionMismatch,
  type DimensionName,
  divideDimensions,
  multiplyDimensions,
} from '../../quantity/index.js';

export type Operation = 'plus' | 'minus' | 'times' | 'over' | 'atMost' | 'atLeast';

/**
 * A formula. Made by the functions and methods below, read by the interpreters beside this file. A union, so that an interpreter that does
 * not know one of them does not compile.
 */
export type Term = Leaf | Constant | Pair | Raised | Named | Least;

/** What every formula can be made into. */
abstract class Formula {
  constructor(readonly dimension: Dimension) {}

  /** Every class that extends this one is in the union. */
  private get self(): Term {
    return this as unknown as Term;
  }

  plus(other: Term): Term {
    return new Pair('plus', sumOf(this.self, other), this.self, other);
  }
  minus(other: Term): Term {
    return new Pair('minus', differenceOf(this.self, other), this.self, other);
  }
  times(other: Term): Term {
    return new Pair('times', multiplyDimensions(this.dimension, other.dimension), this.self, other);
  }
  over(other: Term): Term {
    return new Pair('over', divideDimensions(this.dimension, other.dimension), this.self, other);
  }
  /** The smaller of the two. */
  atMost(other: Term): Term {
    return new Pair('atMost', alike(this, other), this.self, other);
  }
  /** The larger of the two. */
  atLeast(other: Term): Term {
    return new Pair('atLeast', alike(this, other), this.self, other);
  }
  /** A plain number that is not below zero, to a constant power; no other has a power that is not whole. */
  toThe(exponent: number): Term {
    return new Raised(this.self, exponent);
  }
  /** A step worth showing: it becomes a derivation of its own. */
  named(name: string, symbol: string, unit: string): Named {
    return new Named(this.self, name, symbol, unit);
  }
}

/** A fact that a formula rests on. The same object stands for the same fact in every formula. */
export class Leaf extends Formula {
  constructor(
    readonly key: string,
    dimension: Dimension,
    readonly symbol: string,
  ) {
    super(dimension);
  }
}

export class Constant extends Formula {
  constructor(
    readonly value: number,
    dimension: Dimension,
    readonly text: string,
  ) {
    super(dimension);
  }
}

export class Pair extends Formula {
  constructor(
    readonly operation: Operation,
    dimension: Dimension,
    readonly left: Term,
    readonly right: Term,
  ) {
    super(dimension);
  }
}

/** A plain number to a constant power. */
export class Raised extends Formula {
  constructor(
    readonly base: Term,
    readonly exponent: number,
  ) {
    super(alike(base, { dimension: DIMENSIONS.ratio }));
  }
}

export class Named extends Formula {
  constructor(
    readonly of: Term,
    readonly name: string,
    readonly symbol: string,
    readonly unit: string,
  ) {
    super(of.dimension);
  }
}

/** One bound of a `Least`. It exists where the fact `when` is stated; where it is and others lack, the value is missing. */
export interface Bound {
  readonly kind: BoundKind;
  readonly when: Leaf;
  readonly term: Term;
}

/** The least of bounds, in order: of equal ones the first governs. Never below zero. */
export class Least extends Formula {
  constructor(
    readonly name: string,
    readonly symbol: string,
    readonly unit: string,
    readonly bounds: readonly Bound[],
  ) {
    super(bounds[0]!.term.dimension);
    for (const { term } of bounds) alike(this, term);
  }
}

export const leaf = (key: string, dimension: DimensionName, symbol: string): Leaf =>
  new Leaf(key, DIMENSIONS[dimension], symbol);

export const constant = (value: number, dimension: DimensionName = 'ratio', text = String(value)): Constant =>
  new Constant(value, DIMENSIONS[dimension], text);

export const bound = (kind: BoundKind, when: Leaf, term: Term = when): Bound => ({ kind, when, term });

function alike(left: Pick<Term, 'dimension'>, right: Pick<Term, 'dimension'>): Dimension {
  if (left.dimension !== right.dimension) throw new DimensionMismatch('compare', left.dimension, right.dimension);
  return left.dimension;
}

/** A span added to a reading (a temperature) is a reading; two readings cannot be added. */
function sumOf(left: Term, right: Term): Dimension {
  if (left.dimension === DIMENSIONS.temperature && right.dimension === DIMENSIONS.temperatureDifference)
    return left.dimension;
  if (left.dimension !== right.dimension || left.dimension.point)
    throw new DimensionMismatch('add', left.dimension, right.dimension);
  return left.dimension;
}

function differenceOf(left: Term, right: Term): Dimension {
  if (left.dimension !== right.dimension) throw new DimensionMismatch('subtract', left.dimension, right.dimension);
  return left.dimension === DIMENSIONS.temperature ? DIMENSIONS.temperatureDifference : left.dimension;
}

/** Every fact that a formula rests on, those that only say whether a bound exists included. */
export function leavesOf(term: Term, found: Set<Leaf> = new Set()): Set<Leaf> {
  if (term instanceof Leaf) found.add(term);
  else if (term instanceof Pair) {
    leavesOf(term.left, found);
    leavesOf(term.right, found);
  } else if (term instanceof Named) leavesOf(term.of, found);
  else if (term instanceof Raised) leavesOf(term.base, found);
  else if (!(term instanceof Constant))
    for (const { when, term: each } of term.bounds) {
      found.add(when);
      leavesOf(each, found);
    }
  return found;
}
