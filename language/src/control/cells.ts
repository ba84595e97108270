import { type Comparison, type Signal, signalKey } from '../model/conditions.js';
import type { Comparison as ComparisonSign } from '../quantity/index.js';

/** A span of values; both ends belong to it. */
export interface Span {
  readonly low: number;
  readonly high: number;
}

export const EVERYTHING: Span = { low: -Infinity, high: Infinity };

/**
 * Something that rules compare: one signal, or a sum of several. Its values are cut at the limits it is compared with. With n limits there
 * are 2n + 1 cells: cell 2k lies between two limits, cell 2k + 1 is the limit itself, so that `<` and `<=` differ where they do.
 */
export interface Variable {
  readonly key: string;
  /** The signal, where it is one. */
  readonly signal?: Signal;
  readonly limits: readonly number[];
}

export const cellsOf = ({ limits }: Variable): number => 2 * limits.length + 1;

/** The values of a cell. Cells between limits do not hold their ends. */
export function spanOf({ limits }: Variable, cell: number): Span {
  const at = cell >> 1;
  if (cell % 2 === 1) return { low: limits[at]!, high: limits[at]! };
  return { low: at === 0 ? -Infinity : limits[at - 1]!, high: at === limits.length ? Infinity : limits[at]! };
}

/** Whether a cell holds a value of a span. */
export function meets(variable: Variable, cell: number, span: Span): boolean {
  const { low, high } = spanOf(variable, cell);
  if (low === high) return span.low <= low && low <= span.high;
  return span.low < high && span.high > low;
}

/** The cells that hold a value of a span, in order. */
export const cellsWithin = (variable: Variable, span: Span): number[] =>
  Array.from({ length: cellsOf(variable) }, (_, cell) => cell).filter((cell) => meets(variable, cell, span));

/** The cell of a value. */
export function cellAt({ limits }: Variable, value: number): number {
  let cell = 0;
  for (const limit of limits) {
    if (value < limit) return cell;
    if (value === limit) return cell + 1;
    cell += 2;
  }
  return cell;
}

const HOLDS: Readonly<Record<ComparisonSign, (side: number) => boolean>> = {
  '<': (side) => side < 0,
  '<=': (side) => side <= 0,
  '>': (side) => side > 0,
  '>=': (side) => side >= 0,
  '==': (side) => side === 0,
  '!=': (side) => side !== 0,
};

/** Whether a comparison with a limit of the variable holds in a cell. It is the same for all values of a cell. */
export function holdsIn(variable: Variable, cell: number, sign: ComparisonSign, limit: number): boolean {
  const at = 2 * variable.limits.indexOf(limit) + 1;
  return HOLDS[sign](Math.sign(cell - at));
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

/** The variables of comparisons, each with the limits it is compared with. */
export function variablesOf(terms: readonly Term[]): Variable[] {
  const found = new Map<string, { signal?: Signal; limits: Set<number> }>();
  for (const { key, signal, limit } of terms) {
    const known = found.get(key);
    if (known) known.limits.add(limit);
    else found.set(key, { ...(signal ? { signal } : {}), limits: new Set([limit]) });
  }
  return [...found].map(([key, { signal, limits }]) => ({
    key,
    ...(signal ? { signal } : {}),
    limits: [...limits].sort((a, b) => a - b),
  }));
}
