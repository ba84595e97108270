import { callFunction } from '../../calculate/index.js';
import { type BurnPoint, burnAt } from '../../calculate/sources/fuel.js';
import { type Derivation, type Result, derive, known, missing, numberIn, refused } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isOneMachine } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { DIMENSIONS, inUnit } from '../../quantity/index.js';
import { defineQuantity, instance } from '../define.js';
import { ratedPower } from './generator-rating.js';
import { collect, sumOf } from '../worst.js';
import { mayBurnFuel } from '../../equipment/index.js';
import { calculation } from '../calculation.js';

/** The burn figures of a set as shares of its rating and L/h; undefined when it states none. */
export function burnPoints(thing: Instance, rated: Derivation): BurnPoint[] | undefined {
  const value = thing.properties.get('burn')?.value;
  if (value?.type !== 'table') return undefined;
  return value.rows.map(({ key, value: rate }) => ({
    load: key.dimension === DIMENSIONS.power ? key.value / numberIn(rated, 'W') : key.value,
    rate: inUnit(rate, 'L/h'),
  }));
}

/** Mean power of a machine: of all its outlets together. */
function machinePower(thing: Instance, context: DesignContext): Result {
  const outlets = context.system.instances.filter((each) => isOneMachine(each, thing));
  if (outlets.length === 1) return context.quantity(thing, 'meanPower');
  const all = collect(outlets.map((outlet) => context.quantity(outlet, 'meanPower')));
  return all.ok ? known(sumOf('mean power of the machine', 'P_m', 'W', all.derivations)) : all.result;
}

/** Fuel a set burns at the mean power it gives, less what is spared of it (W). */
export function fuelRateWith(thing: Instance, spared: Derivation | undefined, context: DesignContext): Result {
  const all = collect([ratedPower(thing, context), machinePower(thing, context)]);
  if (!all.ok) return all.result;
  const [rated, mean] = all.derivations as [Derivation, Derivation];
  const power = spared
    ? derive('power while it charges', Math.max(0, numberIn(mean, 'W') - numberIn(spared, 'W')), 'W', {
        symbol: 'P_c',
        formula: `${mean.symbol} − ${spared.symbol}`,
        inputs: [mean, spared],
      })
    : mean;
  const load = derive('load share', numberIn(power, 'W') / numberIn(rated, 'W'), '', {
    symbol: 'p',
    formula: `${power.symbol}/P_r`,
    inputs: [power, rated],
  });
  if (numberIn(load, '') > 1 + 1e-9) return refused(`${thing.name} is asked for more than its rating`);
  const points = burnPoints(thing, rated);
  if (points) return burnAt(points, load);
  const fuel = context.maybe(thing, 'fuel');
  if (!fuel) return missing(`burn or fuel of ${thing.name}`);
  return callFunction(calculation('fuelRate'), { rated, load, fuel, waveform: context.maybe(thing, 'waveform') });
}

const fuelRate = defineQuantity({
  name: 'fuelRate',
  of: [mayBurnFuel],
  doc: 'Fuel it burns at the mean power it gives, by its burn figures, else by the table of its fuel.',
  unit: 'L/h',
  compute: (thing, context) => fuelRateWith(instance(thing), undefined, context),
});

const tankTime = defineQuantity({
  name: 'tankTime',
  of: [mayBurnFuel],
  doc: 'How long one tank lasts at the mean power it gives.',
  unit: 's',
  isListedFor: (thing) => thing.properties.has('tank'),
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'tank'), context.quantity(thing, 'fuelRate')]);
    if (!all.ok) return all.result;
    const [tank, rate] = all.derivations as [Derivation, Derivation];
    if (numberIn(rate, 'L/h') <= 0) return refused(`${thing.name} burns nothing`);
    return known(
      derive('time on one tank', (numberIn(tank, 'L') / numberIn(rate, 'L/h')) * 3600, 's', {
        symbol: 't',
        formula: 'V/F',
        inputs: [tank, rate],
      }),
    );
  },
});

export const fuelQuantities = [fuelRate, tankTime];
