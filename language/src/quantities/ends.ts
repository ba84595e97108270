import { type Derivation, deriveQuantity } from '../derivation/index.js';
import { siQuantity } from '../quantity/index.js';

/** The low end of a ranged derivation, as a plain value. */
export function lowEnd(derivation: Derivation): Derivation {
  const { value } = derivation;
  if (typeof value !== 'object' || value.low === value.high) return derivation;
  return {
    ...deriveQuantity(derivation.name, siQuantity(value.low, value.dimension, value.unit), {
      ...(derivation.fact ? { fact: derivation.fact } : {}),
      origin: derivation.origin,
      notes: [...derivation.notes, 'low end of its range'],
    }),
    ...(derivation.place ? { place: derivation.place } : {}),
  };
}

/** The high end of a ranged derivation, as a plain value. */
export function highEnd(derivation: Derivation): Derivation {
  const { value } = derivation;
  if (typeof value !== 'object' || value.low === value.high) return derivation;
  return {
    ...deriveQuantity(derivation.name, siQuantity(value.high, value.dimension, value.unit), {
      ...(derivation.fact ? { fact: derivation.fact } : {}),
      origin: derivation.origin,
      notes: [...derivation.notes, 'high end of its range'],
    }),
    ...(derivation.place ? { place: derivation.place } : {}),
  };
}
