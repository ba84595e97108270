import { callFunction } from '../calculate/index.js';
import { type Derivation, derive, known, numberIn } from '../derivation/index.js';
import { calculation } from './bank.js';
import { defineQuantity } from './define.js';
import { collect, whenKnown } from './worst.js';

const arrayCurrent = defineQuantity({
  name: 'arrayCurrent',
  kinds: ['solar'],
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
  kinds: ['solar'],
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

const arrayPower = defineQuantity({
  name: 'arrayPower',
  kinds: ['solar'],
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

export const arrayQuantities = [arrayCurrent, arrayVoltage, arrayPower];
