import { callFunction } from '../../calculate/index.js';
import { type Derivation, derive, deriveFact, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isBusCharger, isInverter, isLoad } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { calculation } from '../calculation.js';
import { lowEnd } from '../ends.js';
import { banksAt } from '../supply/joined.js';

/** Halvings of the charge between full and empty: to less than a hundredth of a percent. */
const HALVINGS = 14;

/** The highest voltage at which anything that draws from a bank gives up, by what it states; undefined where nothing states any. */
function highestCutOff(bank: Instance, context: DesignContext): Derivation | undefined {
  const stated = context.system.instances.flatMap((each) => {
    const property = isLoad(each)
      ? 'minimumVoltage'
      : isInverter(each)
        ? 'cutOff'
        : isBusCharger(each)
          ? 'input'
          : undefined;
    const found = property && banksAt(each, context).includes(bank) ? context.maybe(each, property) : undefined;
    return found ? [lowEnd(found)] : [];
  });
  return stated.reduce<Derivation | undefined>(
    (highest, each) => (highest && numberIn(highest, 'V') >= numberIn(each, 'V') ? highest : each),
    undefined,
  );
}

/**
 * State of charge (0 to 1) at which the voltage of a lead-acid bank falls to the highest cut-off of what draws from it, while the banks of its
 * bus give a current in proportion to their capacities. Undefined for other chemistries, where nothing states a cut-off, or a fact lacks: then
 * the charge alone decides.
 */
export function chargeAtCutOff(bank: Instance, load: Derivation, context: DesignContext): Derivation | undefined {
  const cutOff = highestCutOff(bank, context);
  const chemistry = context.maybe(bank, 'chemistry');
  if (!cutOff || !chemistry || !LEAD.includes(String(chemistry.value))) return undefined;
  const known = (
    name: 'bankCapacity' | 'bankVoltage' | 'cellCount' | 'bankResistance',
    of = bank,
  ): Derivation | undefined => {
    const result = context.quantity(of, name);
    return result.kind === 'known' ? result.derivation : undefined;
  };
  const [capacity, cells, resistance] = [known('bankCapacity'), known('cellCount'), known('bankResistance')];
  const nominal = known('bankVoltage');
  if (!capacity || !cells || !resistance || !nominal) return undefined;
  const all = banksAt(bank, context).map((each) => known('bankCapacity', each));
  if (all.includes(undefined)) return undefined;
  const share = numberIn(capacity, 'Ah') / all.reduce((sum, each) => sum + numberIn(each!, 'Ah'), 0);
  // Loads are of power: they draw the more the lower the voltage.
  const rise = numberIn(nominal, 'V') / numberIn(cutOff, 'V');
  const current = derive(`current of ${bank.name} at the cut-off`, numberIn(load, 'A') * share * rise, 'A', {
    symbol: 'I',
    formula: 'I_load·U_nom/U_off·C/ΣC',
    inputs: [load, nominal, cutOff, capacity],
  });
  const temperature = context.maybe(bank, 'cellTemperature');
  const at = (charge: number): Derivation | undefined => {
    const result = callFunction(calculation('leadVoltage'), {
      flow: deriveFact('flow', 'discharge'),
      charge: derive('state of charge', charge, ''),
      current,
      capacity,
      chemistry,
      cells,
      resistance,
      ...(temperature ? { temperature: lowEnd(temperature) } : {}),
    });
    return result.kind === 'known' ? result.derivation : undefined;
  };
  const isBelow = (charge: number): boolean => {
    const volts = at(charge);
    return volts !== undefined && numberIn(volts, 'V') < numberIn(cutOff, 'V');
  };
  if (!isBelow(0)) return undefined;
  let [low, high] = [0, 1];
  for (let round = 0; round < HALVINGS; round += 1) {
    const middle = (low + high) / 2;
    if (isBelow(middle)) low = middle;
    else high = middle;
  }
  const volts = at(high);
  return (
    volts &&
    derive('charge at the cut-off', high, '', {
      symbol: 's_off',
      formula: 'U(s, I) = U_off',
      inputs: [{ ...cutOff, symbol: 'U_off' }, volts],
      notes: ['where the voltage under the mean load reaches the cut-off'],
    })
  );
}

const LEAD: readonly string[] = ['flooded', 'agm', 'gel'];
