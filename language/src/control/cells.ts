import { type Comparison, type Signal, signalKey } from '../model/conditions.js';
import type { Comparison as ComparisonSign } from '../quantity/index.js';

/** A span of values; both ends belong to it. */
export interface Span {
  readonly low: number;
  readonly high: number;
}

export const EVERYTHING: Span = { low: -Infinity, high: Infinity };

/** Values between two limits, or at one. */
export interface Cell extends Span {
  /** Whether the ends belong to it. */
  readonly hasLow: boolean;
  readonly hasHigh: boolean;
}

/**
 * Something that rules compare: one signal, or a sum of several. Its values are cut at the limits it is compared with. A limit stands with
 * the values on that side of it on which all comparisons say the same, and by itself where `<` and `>` tell it from both.
 */
export interface Variable {
  readonly key: string;
  /** The signal, where it is one. */
  readonly signal?: Signal;
  readonly limits: readonly number[];
  /** In ascending order; together they hold every value once. */
  readonly cells: readonly Cell[];
}

/** Whether comparisons tell a limit from what lies below it, and from what lies above. */
interface Sides {
  fromBelow: boolean;
  fromAbove: boolean;
}

function cellsBetween(limits: readonly number[], sides: ReadonlyMap<number, Sides>): Cell[] {
  const cells: Cell[] = [];
  let [low, hasLow] = [-Infinity, false];
  for (const limit of limits) {
    const { fromBelow, fromAbove } = sides.get(limit)!;
    const staysBelow = !fromBelow;
    cells.push({ low, hasLow, high: limit, hasHigh: staysBelow });
    const isAlone = fromBelow && fromAbove;
    if (isAlone) cells.push({ low: limit, hasLow: true, high: limit, hasHigh: true });
    [low, hasLow] = [limit, fromBelow && !isAlone];
  }
  return [...cells, { low, hasLow, high: Infinity, hasHigh: false }];
}

export const cellsOf = ({ cells }: Variable): number => cells.length;

/** The values of a cell. */
export const spanOf = ({ cells }: Variable, cell: number): Cell => cells[cell]!;

/** Whether a cell holds a value of a span, which has its ends. */
export function meets({ cells }: Variable, cell: number, span: Span): boolean {
  const { low, high, hasLow, hasHigh } = cells[cell]!;
  const above = span.low < high || (hasHigh && span.low === high);
  const below = span.high > low || (hasLow && span.high === low);
  return above && below;
}

/** The cells that hold a value of a span, in order. */
export const cellsWithin = (variable: Variable, span: Span): number[] =>
  variable.cells.flatMap((_, cell) => (meets(variable, cell, span) ? [cell] : []));

const HOLDS: Readonly<Record<ComparisonSign, (side: number) => boolean>> = {
  '<': (side) => side < 0,
  '<=': (side) => side <= 0,
  '>': (side) => side > 0,
  '>=': (side) => side >= 0,
  '==': (side) => side === 0,
  '!=': (side) => side !== 0,
};

/** Whether a comparison with a limit of the variable holds in a cell. It is the same for all values of a cell. */
export function holdsIn({ cells }: Variable, cell: number, sign: ComparisonSign, limit: number): boolean {
  const { low, high, hasLow, hasHigh } = cells[cell]!;
  // A limit that shares its cell with others is not told from them by any comparison; those others decide.
  const isAt = low === high && low === limit;
  const side = isAt
    ? 0
    : high < limit || (high === limit && (low < limit || !hasHigh))
      ? -1
      : low > limit || (low === limit && (high > limit || !hasLow))
        ? 1
        : 0;
  return HOLDS[sign](side);
}

/** A comparison as one of a variable: sums that differ by a factor are one variable. */
export interface Term {
  readonly key: string;
  readonly signal?: Signal;
  readonly sign: ComparisonSign;
  readonly limit: number;
}

const FLIPPED: Readonly<Record<ComparisonSign, ComparisonSign>> = {
  '<': '>',
  '<=': '>=',
  '>': '<',
  '>=': '<=',
  '==': '==',
  '!=': '!=',
};

export function termOf({ terms, comparison, limit }: Comparison, value = limit.value): Term {
  const sorted = [...terms].sort((a, b) => (signalKey(a.signal) < signalKey(b.signal) ? -1 : 1));
  const scale = sorted[0]!.factor;
  const key = sorted.map(
    ({ factor, signal }) => `${factor / scale === 1 ? '' : `${factor / scale}·`}${signalKey(signal)}`,
  );
  return {
    key: key.join(' + '),
    ...(sorted.length === 1 ? { signal: sorted[0]!.signal } : {}),
    sign: scale < 0 ? FLIPPED[comparison] : comparison,
    limit: value / scale,
  };
}

/** What a comparison tells a limit from. */
const TELLS: Readonly<Record<ComparisonSign, Sides>> = {
  '<': { fromBelow: true, fromAbove: false },
  '>=': { fromBelow: true, fromAbove: false },
  '>': { fromBelow: false, fromAbove: true },
  '<=': { fromBelow: false, fromAbove: true },
  '==': { fromBelow: true, fromAbove: true },
  '!=': { fromBelow: true, fromAbove: true },
};

/** The variables of comparisons, each with the limits it is compared with. */
export function variablesOf(terms: readonly Term[]): Variable[] {
  const found = new Map<string, { signal?: Signal; sides: Map<number, Sides> }>();
  for (const { key, signal, sign, limit } of terms) {
    const known = found.get(key) ?? { ...(signal ? { signal } : {}), sides: new Map<number, Sides>() };
    found.set(key, known);
    const sides = known.sides.get(limit) ?? { fromBelow: false, fromAbove: false };
    sides.fromBelow ||= TELLS[sign].fromBelow;
    sides.fromAbove ||= TELLS[sign].fromAbove;
    known.sides.set(limit, sides);
  }
  return [...found].map(([key, { signal, sides }]) => {
    const limits = [...sides.keys()].sort((a, b) => a - b);
    return { key, ...(signal ? { signal } : {}), limits, cells: cellsBetween(limits, sides) };
  });
}
