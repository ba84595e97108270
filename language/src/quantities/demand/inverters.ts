import { mayInvert } from '../../equipment/index.js';
import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, known, numberIn } from '../../derivation/index.js';
import type { PropertyName } from '../../equipment/index.js';
import type { Instance } from '../../model/types.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { lowEnd } from '../ends.js';
import { banksAt } from '../supply/joined.js';
import { collect, whenKnown } from '../worst.js';
import { calculation } from '../calculation.js';
import { invertingOf } from '../../model/roles.js';
import { behindCables } from './behind-cables.js';
import { lowestInverterVoltage, statesLowest } from './lowest-voltages.js';

/** What the cables leave an inverter of the lowest voltage of its bank; one that states its own lowest voltage gives up below that. */
function lowestAtInverter(
  thing: Instance,
  watts: Derivation,
  lowest: Derivation,
  efficiency: Derivation,
  context: QuantityContext,
): Derivation {
  const from = invertingOf(thing)?.from;
  const node = context.graph.nodes.get(`${thing.name}.${from ?? ''}`);
  if (!node || statesLowest(thing, context)) return lowest;
  const input = numberIn(watts, 'W') / numberIn(efficiency, '');
  return behindCables(node, input, lowest, banksAt(thing, context), context).voltage;
}

const fromBank =
  (power: PropertyName, name: string, symbol: string) =>
  (thing: Instance, context: QuantityContext): Result => {
    const rated = context.fact(thing, power);
    const all = collect([rated, lowestInverterVoltage(thing, context), context.fact(thing, 'efficiency')]);
    if (!all.ok) return all.result;
    const [watts, lowest, efficiency] = all.derivations as [Derivation, Derivation, Derivation];
    const voltage = lowestAtInverter(thing, watts, lowest, lowEnd(efficiency), context);
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
