import { type Derivation, type Source, derive, deriveQuantity, numberIn, withFacts } from '../../derivation/index.js';
import { quantity } from '../../quantity/index.js';

/** Source of relations that follow from definitions alone. */
export const DEFINITION: Source = { standard: 'definition of power and efficiency', provenance: 'own derivation' };

/** AC and DC systems by the number of conductors that share the power. */
export const SYSTEMS = ['dc', 'single', 'three'] as const;
export const AC_SYSTEMS = ['single', 'three'] as const;

/** Phase factor of a current: √3 for three phases by line voltage, otherwise 1. */
export function phaseFactor(system: 'dc' | 'single' | 'three'): Derivation {
  const three = system === 'three';
  return derive('phase factor', three ? Math.sqrt(3) : 1, '1', {
    symbol: 'm',
    notes: [three ? '√3: three phases, voltage between lines' : system === 'dc' ? 'direct current' : 'single phase'],
  });
}

/** An apparent power, kept in VA or kVA so that nobody reads it as real power. */
export function apparentPower(
  name: string,
  voltAmperes: number,
  options: Parameters<typeof deriveQuantity>[2] = {},
): Derivation {
  const kilo = Math.abs(voltAmperes) >= 1000;
  const value = kilo ? quantity(voltAmperes / 1000, 'kVA') : quantity(voltAmperes, 'VA');
  return withFacts(deriveQuantity(name, value, options), { unit: 'VA' });
}

/** Whether a count is a whole number; counts are plain numbers in the language. */
export const isWhole = (count: Derivation): boolean => Number.isInteger(numberIn(count, ''));
