import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { CircuitState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import type { ShareOf } from '../demand/steady-share.js';
import { conductorLoss } from '../network/feeder-losses.js';
import { inputPowerFactor } from '../plant/chargers.js';

/**
 * What the conductors behind a feeder lose while loads take all of their power at once and chargers what is given of them (in `unit`), as a
 * term of the demand; it is given at a power factor of 1. Nothing where none of them states size and length.
 */
export function lostAtOnce(
  unit: 'W' | 'VA',
  loads: readonly Instance[],
  chargers: ReadonlyMap<Instance, Derivation>,
  feeder: Instance,
  circuit: CircuitState,
  context: DesignContext,
): Derivation[] {
  const running = new Set(loads);
  const atOnce: ShareOf = (load) => derive('share', running.has(load) ? 1 : 0, '');
  const watts = new Map(
    [...chargers].map(([charger, taken]) => {
      const factor = unit === 'W' ? undefined : inputPowerFactor(charger, context);
      const share = factor?.kind === 'known' ? numberIn(factor.derivation, '') : 1;
      return [charger, numberIn(taken, unit) * share] as const;
    }),
  );
  const lost = conductorLoss(feeder, circuit, atOnce, watts, context);
  if (!lost) return [];
  return [unit === 'W' ? lost : derive(lost.name, numberIn(lost, 'W'), 'VA', { symbol: 'S_R', inputs: [lost] })];
}
