import { callFunction } from '../../calculate/index.js';
import { type Derivation, deriveFact, numberIn } from '../../derivation/index.js';
import { isFuse } from '../../model/roles.js';
import type { Instance, Run } from '../../model/types.js';
import { calculation } from '../calculation.js';
import { flagIn } from '../../model/stated-facts.js';
import { ampacityAt, conductorType } from '../conductors/conductor.js';
import { classOf } from '../conductors/device-class.js';
import { ruleValue } from '../../reference/index.js';
import type { QuantityContext } from '../define.js';

/** Whether a device opens on short circuits alone (aR, IEC 60269-4). */
export function isOfPartialRange(device: Instance): boolean {
  const part = classOf(device);
  return part !== undefined && flagIn(part.properties, 'partialRange') === true;
}

/** Whether a cord of 16 AWG or larger stands on a circuit of 20 A or less, which protects it whatever its ampacity (NEC 240.5(B)(4), from memory). */
function isCordOnCircuit(run: Run, size: Derivation, rating: Derivation, context: QuantityContext): boolean {
  if (context.system.basis.practice !== 'nec' || !conductorType(run).cord) return false;
  const [circuit, smallest] = [ruleValue('nec', 'cordCircuit'), ruleValue('nec', 'cordCircuitSmallest')];
  return (
    numberIn(size, 'mm2') >= numberIn(smallest, 'mm2') * 0.999 &&
    numberIn(rating, 'A') <= numberIn(circuit, 'A') * (1 + 1e-9)
  );
}

/**
 * The largest rating that protects the conductors of a run against overload, where that of the device is within it; else undefined. Such a device is
 * taken to protect them against the heat of short circuits too at which it opens as an overload does (IEC 60364-4-43 435.1, from memory; the
 * NEC asks for no more than 240.4).
 */
export function overloadLimit(
  device: Instance,
  rating: Derivation,
  run: Run,
  size: Derivation,
  context: QuantityContext,
): Derivation | undefined {
  if (isOfPartialRange(device)) return undefined;
  const ampacity = ampacityAt(run, size, context);
  if (ampacity.kind !== 'known') return undefined;
  const word = (name: string, value: string | boolean) => deriveFact(name, value, { origin: 'stated' });
  const { practice } = context.system.basis;
  if (isCordOnCircuit(run, size, rating, context)) return ruleValue('nec', 'cordCircuit');
  const largest = callFunction(calculation('largestProtection'), {
    ampacity: ampacity.derivation,
    basis: word('basis', practice),
    ...(conductorType(run).cord ? { severalReceptacles: word('severalReceptacles', true) } : {}),
    ...(practice === 'iec' ? { device: word('device', isFuse(device) ? 'fuse' : 'breaker') } : {}),
  });
  return largest.kind === 'known' && numberIn(rating, 'A') <= numberIn(largest.derivation, 'A') * (1 + 1e-9)
    ? largest.derivation
    : undefined;
}
