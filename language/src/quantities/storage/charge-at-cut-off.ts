import { callFunction } from '../../calculate/index.js';
import { type Derivation, derive, deriveFact, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isBusCharger, isInverter, isLoad, storingOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { leadVoltage } from '../../reference/energy/index.js';
import { calculation } from '../calculation.js';
import { lowEnd } from '../ends.js';
import { Facts } from '../plant/facts.js';
import { busesOf } from '../plant/wiring.js';
import { banksAt } from '../supply/joined.js';

/** Halvings of the charge between full and empty: to less than a hundredth of a percent. */
const HALVINGS = 14;

/** The voltage of the bus at which a load has its lowest voltage at the end of its cable. */
function beforeItsCable(load: Instance, least: Derivation, context: DesignContext): Derivation {
  const buses = busesOf(context, new Facts());
  const bus = buses.ofAny(load);
  const terminal = load.terminals.find(({ name }) => buses.of(load, name) === bus);
  const ohms = terminal ? buses.leads(load, terminal.name) : 0;
  const power = context.quantity(load, 'totalPower');
  if (!(ohms > 0) || power.kind !== 'known') return least;
  const volts = numberIn(least, 'V');
  return derive(`lowest bus voltage for ${load.name}`, volts + (numberIn(power.derivation, 'W') / volts) * ohms, 'V', {
    symbol: 'U_off',
    formula: 'U_min + P/U_min·R',
    inputs: [least, power.derivation, derive('cable out and back', ohms, 'ohm', { symbol: 'R' })],
  });
}

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
    // At 0 V nothing gives up.
    if (!found || numberIn(lowEnd(found), 'V') <= 0) return [];
    return [isLoad(each) ? beforeItsCable(each, lowEnd(found), context) : lowEnd(found)];
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
  if (!cutOff || !chemistry || !leadVoltage(String(chemistry.value))) return undefined;
  const known = (
    name: 'bankCapacity' | 'bankVoltage' | 'cellCount' | 'bankResistance',
    of = bank,
  ): Derivation | undefined => {
    const result = context.quantity(of, name);
    return result.kind === 'known' ? result.derivation : undefined;
  };
  const [capacity, cells, own] = [known('bankCapacity'), known('cellCount'), known('bankResistance')];
  const nominal = known('bankVoltage');
  if (!capacity || !cells || !own || !nominal) return undefined;
  const leads = busesOf(context, new Facts()).leads(bank, storingOf(bank)!.at);
  const resistance = derive('resistance up to the bus', numberIn(own, 'ohm') + leads, 'ohm', {
    symbol: 'R',
    inputs: [own, derive(`leads of ${bank.name}`, leads, 'ohm', { symbol: 'R_leads' })],
  });
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
