import { type Derivation, derive } from '../../derivation/index.js';
import { solarModel } from '../../reference/energy/index.js';

/** Share of what clean and matched modules would give that an array gives: soiling, mismatch and wiring (from memory). */
export const [MODULES_KEEP] = solarModel('array-losses') as [number];

/** The same, for derivations. */
export const modulesKeep: Derivation = derive('share left by soiling and mismatch', MODULES_KEEP, '', {
  symbol: 'k_a',
  origin: 'default',
  notes: ['from memory'],
});
