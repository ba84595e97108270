import { raise } from '../../quantity/index.js';
import { Constant, Leaf, Named, type Operation, Pair, Raised, type Term } from './term.js';

/** Plain SI numbers of facts; NaN where one is not stated. */
export type NumberOf = (leaf: Leaf) => number;

export function apply(operation: Operation, left: number, right: number): number {
  switch (operation) {
    case 'plus':
      return left + right;
    case 'minus':
      return left - right;
    case 'times':
      return left * right;
    case 'over':
      return left / right;
    case 'atMost':
      return Math.min(left, right);
    case 'atLeast':
      return Math.max(left, right);
  }
}

/** A formula at one point, in SI. NaN where a fact lacks; infinite where nothing bounds it. */
export function evaluate(term: Term, of: NumberOf): number {
  if (term instanceof Leaf) return of(term);
  if (term instanceof Constant) return term.value;
  if (term instanceof Pair) return apply(term.operation, evaluate(term.left, of), evaluate(term.right, of));
  if (term instanceof Raised) return raise(evaluate(term.base, of), term.exponent);
  if (term instanceof Named) return evaluate(term.of, of);
  let least = Infinity;
  for (const { when, term: each } of term.bounds)
    if (!Number.isNaN(of(when))) least = Math.min(least, evaluate(each, of));
  return Math.max(0, least);
}

/** What changes while a scenario is played, in the order of its positions. */
export type Slots = Float64Array;
export type Compiled = (slots: Slots) => number;

interface Piece {
  /** Set where nothing in it changes. */
  readonly value?: number;
  readonly run: Compiled;
}

/**
 * A formula as a function of what changes while playing, with all other facts folded in: bounds that are not stated vanish, constant ones
 * become one. The order of operations stays, so the last bit is that of the other readings.
 */
export function compile(term: Term, of: NumberOf, free: ReadonlyMap<Leaf, number>): Compiled {
  return pieceOf(term, of, free).run;
}

const fixed = (value: number): Piece => ({ value, run: () => value });

function pieceOf(term: Term, of: NumberOf, free: ReadonlyMap<Leaf, number>): Piece {
  if (term instanceof Leaf) {
    const slot = free.get(term);
    return slot === undefined ? fixed(of(term)) : { run: (slots) => slots[slot]! };
  }
  if (term instanceof Constant) return fixed(term.value);
  if (term instanceof Named) return pieceOf(term.of, of, free);
  if (term instanceof Pair) return joined(term.operation, pieceOf(term.left, of, free), pieceOf(term.right, of, free));
  if (term instanceof Raised) return raised(pieceOf(term.base, of, free), term.exponent);
  let least = Infinity;
  const moving: Compiled[] = [];
  for (const { when, term: each } of term.bounds) {
    if (!free.has(when) && Number.isNaN(of(when))) continue;
    const piece = pieceOf(each, of, free);
    if (piece.value === undefined) moving.push(piece.run);
    else least = Math.min(least, piece.value);
  }
  if (moving.length === 0) return fixed(Math.max(0, least));
  return {
    run: (slots) => {
      let so = least;
      for (let at = 0; at < moving.length; at += 1) so = Math.min(so, moving[at]!(slots));
      return Math.max(0, so);
    },
  };
}

const raised = ({ value, run }: Piece, exponent: number): Piece =>
  value === undefined ? { run: (slots) => raise(run(slots), exponent) } : fixed(raise(value, exponent));

function joined(operation: Operation, left: Piece, right: Piece): Piece {
  if (left.value !== undefined && right.value !== undefined) return fixed(apply(operation, left.value, right.value));
  const [a, b] = [left.run, right.run];
  switch (operation) {
    case 'plus':
      return { run: (slots) => a(slots) + b(slots) };
    case 'minus':
      return { run: (slots) => a(slots) - b(slots) };
    case 'times':
      return { run: (slots) => a(slots) * b(slots) };
    case 'over':
      return { run: (slots) => a(slots) / b(slots) };
    case 'atMost':
      return { run: (slots) => Math.min(a(slots), b(slots)) };
    case 'atLeast':
      return { run: (slots) => Math.max(a(slots), b(slots)) };
  }
}
