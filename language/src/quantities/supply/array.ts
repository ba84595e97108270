import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import type { PropertyName } from '../../equipment/index.js';
import type { Instance } from '../../model/types.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { lowEnd } from '../ends.js';
import { collect, whenKnown } from '../worst.js';
import { mayTakeSun } from '../../equipment/index.js';
import { calculation } from '../calculation.js';

/** Power of a module against voltage times current at maximum power: figures of data sheets are rounded by so much. */
export const POWER_SPREAD = 0.05;

/** One of two facts of a module of which the first cannot be less than the second: the larger, where it is told that they contradict. */
function largerOf(array: Instance, first: PropertyName, second: PropertyName, context: QuantityContext): Result {
  return whenKnown(context.fact(array, first), (own) => {
    const other = context.maybe(array, second);
    const isLess =
      other && typeof own.value === 'object' && typeof other.value === 'object' && own.value.value < other.value.value;
    return known(
      isLess ? { ...other, governing: [{ kind: 'contradicted', by: 'more', fact: `its ${first}` } as const] } : own,
    );
  });
}

/** Power of one module: as stated, or voltage times current at maximum power where that is less by more than rounding. */
function modulePower(array: Instance, context: QuantityContext): Result {
  return whenKnown(context.fact(array, 'power'), (power) => {
    const volts = context.maybe(array, 'maximumPowerVoltage');
    const amperes = context.maybe(array, 'maximumPowerCurrent');
    if (!volts || !amperes) return known(power);
    const product = numberIn(volts, 'V') * numberIn(amperes, 'A');
    if (product >= numberIn(power, 'W') * (1 - POWER_SPREAD)) return known(power);
    return known(
      derive('power of one module', product, 'W', {
        symbol: 'P_module',
        formula: 'U_mp·I_mp',
        inputs: [volts, amperes, power],
        governing: [{ kind: 'contradicted', by: 'less', fact: 'its stated power' }],
      }),
    );
  });
}

/** A number of modules in series. */
export const moduleCount = (modules: number): Derivation => derive('modules in series', modules, '', { symbol: 'n_s' });

export const siteAmbient = (context: QuantityContext): Result => {
  const ambient = context.siteFact('ambient');
  return ambient ? known(ambient) : missing('ambient of the site');
};

/** Open-circuit voltage of `modules` of an array in series at the lowest temperature of the site. */
export function coldOpenVoltage(array: Instance, modules: number, context: QuantityContext): Result {
  const all = collect([largerOf(array, 'openCircuitVoltage', 'maximumPowerVoltage', context), siteAmbient(context)]);
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
    const all = collect([
      largerOf(instance(thing), 'shortCircuitCurrent', 'maximumPowerCurrent', context),
      context.fact(thing, 'parallel'),
    ]);
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
    const all = collect([
      modulePower(instance(thing), context),
      context.fact(thing, 'series'),
      context.fact(thing, 'parallel'),
    ]);
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
