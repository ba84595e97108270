import { callFunction } from '../calculate/index.js';
import { type Derivation, type Result, derive, known, missing, numberIn } from '../derivation/index.js';
import { calculation } from './bank.js';
import type { Instance } from '../model/types.js';
import { type QuantityContext, defineQuantity, instance } from './define.js';
import { lowEnd } from './ends.js';
import { collect, whenKnown } from './worst.js';
import { mayTakeSun } from '../equipment/index.js';

/** A number of modules in series. */
export const moduleCount = (modules: number): Derivation => derive('modules in series', modules, '', { symbol: 'n_s' });

export const siteAmbient = (context: QuantityContext): Result => {
  const ambient = context.siteFact('ambient');
  return ambient ? known(ambient) : missing('ambient of the site');
};

/** Open-circuit voltage of `modules` of an array in series at the lowest temperature of the site. */
export function coldOpenVoltage(array: Instance, modules: number, context: QuantityContext): Result {
  const all = collect([context.fact(array, 'openCircuitVoltage'), siteAmbient(context)]);
  if (!all.ok) return all.result;
  const [voltage, ambient] = all.derivations as [Derivation, Derivation];
  const coefficient = context.maybe(array, 'voltageCoefficient');
  return callFunction(calculation('coldVoltage'), {
    voltage,
    series: moduleCount(modules),
    coefficient,
    temperature: lowEnd(ambient),
  });
}

const arrayCurrent = defineQuantity({
  name: 'arrayCurrent',
  of: [mayTakeSun],
  doc: 'Largest current of the array: 125 % of its short-circuit current.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'shortCircuitCurrent'), context.fact(thing, 'parallel')]);
    return all.ok
      ? whenKnown(
          callFunction(calculation('moduleCurrent'), {
            shortCircuit: all.derivations[0],
            parallel: all.derivations[1],
          }),
          (current) => known({ ...current, name: `array current of ${thing.name}`, symbol: `I_${thing.name}` }),
        )
      : all.result;
  },
});

const arrayVoltage = defineQuantity({
  name: 'arrayVoltage',
  of: [mayTakeSun],
  doc: 'Voltage of the array at maximum power.',
  unit: 'V',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'maximumPowerVoltage'), context.fact(thing, 'series')]);
    if (!all.ok) return all.result;
    const [module, series] = all.derivations as [Derivation, Derivation];
    return known(
      derive('array voltage', numberIn(module, 'V') * numberIn(series, ''), 'V', {
        symbol: 'U',
        formula: 'U_mp·n_s',
        inputs: [module, series],
      }),
    );
  },
});

const coldVoltage = defineQuantity({
  name: 'coldVoltage',
  of: [mayTakeSun],
  doc: 'Open-circuit voltage of a string at the lowest temperature of the site: by its coefficient, else by the table of the NEC.',
  unit: 'V',
  bound: 'most',
  compute: (thing, context) =>
    whenKnown(context.fact(thing, 'series'), (series) =>
      coldOpenVoltage(instance(thing), numberIn(series, ''), context),
    ),
});

const arrayPower = defineQuantity({
  name: 'arrayPower',
  of: [mayTakeSun],
  doc: 'Power of the array at standard test conditions.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'power'), context.fact(thing, 'series'), context.fact(thing, 'parallel')]);
    if (!all.ok) return all.result;
    const [module, series, parallel] = all.derivations as [Derivation, Derivation, Derivation];
    return known(
      derive('array power', numberIn(module, 'W') * numberIn(series, '') * numberIn(parallel, ''), 'W', {
        symbol: 'P',
        formula: 'P_module·n_s·n_p',
        inputs: [module, series, parallel],
      }),
    );
  },
});

export const arrayQuantities = [arrayCurrent, arrayVoltage, coldVoltage, arrayPower];
