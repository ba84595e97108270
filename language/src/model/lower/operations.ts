import type * as ast from '../../grammar/generated/ast.js';
import {
  DimensionMismatch,
  type Dimension,
  NotFinite,
  type Quantity,
  add,
  divide,
  divideDimensions,
  extreme,
  isRange,
  multiply,
  multiplyDimensions,
  plusMinus,
  power,
  raiseDimension,
  range,
  ratio,
  siQuantity,
  subtract,
} from '../../quantity/index.js';
import type { Evaluated } from './evaluated.js';

/** Operators that compare, as the words of `compare`. */
export const COMPARISONS = { '<': '<', '<=': '<=', '>': '>', '>=': '>=', '==': '==', '!=': '!=' } as const;

/** Operators that make one quantity of two. */
export const OPERATIONS = {
  '+': add,
  '-': subtract,
  '*': multiply,
  '/': divide,
  '^': power,
  '..': range,
  '±': plusMinus,
  '+/-': plusMinus,
} as const satisfies Record<string, (left: Quantity, right: Quantity) => Quantity>;

/** The dimension of a result whose sides are not known yet. Throws where the sides do not go together. */
export function combineDimensions(
  operator: ast.Arithmetic['operator'],
  left: Dimension,
  right: Dimension,
  exponent: Evaluated,
): Dimension | undefined {
  switch (operator) {
    case '*':
      return multiplyDimensions(left, right);
    case '/':
      return divideDimensions(left, right);
    case '^':
      return exponent.kind === 'known' && typeof exponent.derivation.value === 'object'
        ? raiseDimension(left, exponent.derivation.value.value)
        : undefined;
    case '±':
    case '+/-':
      return left;
    case '+':
      return add(siQuantity(0, left), siQuantity(0, right)).dimension;
    case '-':
      return subtract(siQuantity(0, left), siQuantity(0, right)).dimension;
    default:
      if (left !== right) throw new DimensionMismatch('combine', left, right);
      return left;
  }
}

/** Rounding works in the unit a quantity is written or shown in, so that ceil(12.3 A) is 13 A. */
export function applyToOne(name: 'abs' | 'sqrt' | 'round' | 'ceil' | 'floor', q: Quantity): Quantity {
  if (name === 'sqrt') {
    if (q.low < 0) throw new NotFinite('the square root of a negative value');
    return power(q, ratio(0.5));
  }
  const step = q.unit ? q.unit.multiply / q.unit.divide : 1;
  const offset = q.unit?.offset ?? 0;
  const apply = (si: number): number =>
    name === 'abs' ? Math.abs(si) : Math[name]((si - offset) / step) * step + offset;
  if (!isRange(q)) return siQuantity(apply(q.value), q.dimension, q.unit);
  const bounds = [
    siQuantity(apply(q.low), q.dimension, q.unit),
    siQuantity(apply(q.high), q.dimension, q.unit),
  ] as const;
  return name === 'abs' && q.low < 0 && q.high > 0
    ? range(siQuantity(0, q.dimension, q.unit), extreme('max', ...bounds))
    : range(bounds[0], bounds[1]);
}
