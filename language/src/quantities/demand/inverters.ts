import { mayInvert } from '../../equipment/index.js';
import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, known, missing } from '../../derivation/index.js';
import type { PropertyName } from '../../equipment/index.js';
import type { Instance } from '../../model/types.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { lowEnd } from '../ends.js';
import { banksAt } from '../supply/joined.js';
import { collect, whenKnown } from '../worst.js';
import { calculation } from '../calculation.js';

/** Lowest DC voltage at which an inverter still gives its rated power. */
export const lowestInverterVoltage = (thing: Instance, context: QuantityContext): Result => {
  const cutOff = context.maybe(thing, 'cutOff');
  if (cutOff) return known({ ...lowEnd(cutOff), symbol: 'U_min' });
  const window = context.maybe(thing, 'dcVoltage');
  if (window && typeof window.value === 'object')
    return known({ ...lowEnd(window), symbol: 'U_min', name: 'lowest voltage of its window' });
  const [bank] = banksAt(thing, context);
  return bank ? context.quantity(bank, 'lowestVoltage') : missing(`cutOff of ${thing.name}`);
};

const fromBank =
  (power: PropertyName, name: string, symbol: string) =>
  (thing: Instance, context: QuantityContext): Result => {
    const rated = context.fact(thing, power);
    const all = collect([rated, lowestInverterVoltage(thing, context), context.fact(thing, 'efficiency')]);
    if (!all.ok) return all.result;
    const [watts, voltage, efficiency] = all.derivations as [Derivation, Derivation, Derivation];
    return whenKnown(
      callFunction(calculation('inverterCurrent'), { power: watts, voltage, efficiency: lowEnd(efficiency) }),
      (current) =>
        known({
          ...current,
          name,
          symbol,
          subject: thing.name,
          governing: [{ kind: 'lowestVoltage', of: 'inverter' }],
        }),
    );
  };

export const dcCurrent = defineQuantity({
  name: 'dcCurrent',
  of: [mayInvert],
  doc: 'Current drawn from the bank at rated power and the lowest voltage at which it runs: P/(η·U_min).',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) =>
    fromBank('rated', `DC current of ${thing.name}`, `I_${thing.name}`)(instance(thing), context),
});

export const surgeCurrent = defineQuantity({
  name: 'surgeCurrent',
  of: [mayInvert],
  doc: 'Current drawn from the bank at surge power and the lowest voltage at which it runs.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) =>
    fromBank('surge', `surge current of ${thing.name}`, `I_${thing.name}`)(instance(thing), context),
});

export const inverterQuantities = [dcCurrent, surgeCurrent];
