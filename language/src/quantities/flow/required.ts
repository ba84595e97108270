import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, derive, known, numberIn } from '../../derivation/index.js';
import { isDevice, ownDeviceOf } from '../../model/roles.js';
import type { Run } from '../../model/types.js';
import { calculation } from '../calculation.js';
import { type QuantityContext, defineQuantity } from '../define.js';
import { ruleValue } from '../../reference/index.js';
import { collect, whenKnown } from '../worst.js';
import { type Loading, restOf, worstNeed } from './loading.js';
import { motorsIn, withMotors } from './motor-loads.js';

/** What one conductor needs: 125 % of what lasts three hours or more plus the rest, motors by NEC 430.24. */
function needOf(loading: Loading, motorFactor: Derivation, context: QuantityContext): Result {
  const rest = restOf(loading);
  const motors = motorsIn(loading, context);
  const drawn = (isLasting: boolean): number =>
    motors.filter((each) => each.isLasting === isLasting).reduce((sum, { part }) => sum + numberIn(part, 'A'), 0);
  const less = (name: string, from: Derivation, amperes: number): Derivation =>
    amperes === 0
      ? from
      : derive(name, Math.max(0, numberIn(from, 'A') - amperes), 'A', {
          ...(from.symbol ? { symbol: from.symbol } : {}),
          inputs: [from, ...motors.map(({ part }) => part)],
        });
  const others = callFunction(calculation('requiredAmpacity'), {
    continuous: less('continuous current without motors', loading.continuous, drawn(true)),
    noncontinuous: less('noncontinuous current without motors', rest, drawn(false)),
  });
  return motors.length === 0 ? others : whenKnown(others, (sum) => known(withMotors(motors, sum, motorFactor)));
}

/**
 * 125 % of what lasts three hours or more plus the rest (NEC 210.19(A)(1), 215.2(A)(1)), of the conductor that needs most; of the largest
 * motor `motorFactor`, which is 125 % for conductors (430.22, 430.24).
 */
export const requiredByNec = (
  run: Run,
  context: QuantityContext,
  motorFactor: Derivation = ruleValue('nec', 'motorConductor'),
): Result => worstNeed(run, context, (loading) => needOf(loading, motorFactor, context));

/**
 * Whether all that protects a run is listed, in its enclosure, for 100 % of its rating (NEC 210.19(A)(1) and 215.2(A)(1), exception): its
 * devices, else the device of the source at its end.
 */
export function isFullyRated(run: Run, context: QuantityContext): boolean {
  const stops = [run.from, ...run.through, ...run.to].map(({ instance }) => instance);
  const devices = stops.filter(isDevice);
  const protecting = devices.length > 0 ? devices : stops.filter((each) => ownDeviceOf(each) !== undefined);
  return protecting.length > 0 && protecting.every((each) => context.maybe(each, 'fullRating')?.value === true);
}

export const runRequired = defineQuantity({
  name: 'requiredAmpacity',
  kinds: ['run'],
  doc: 'Ampacity the run must have before correction: 125 % of the continuous part plus the rest (nec), each leg and each source state by itself; else the design current.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const run = thing as Run;
    const all = collect([context.quantity(run, 'current'), context.quantity(run, 'continuousCurrent')]);
    if (!all.ok) return all.result;
    const [current] = all.derivations;
    if (context.system.basis.practice !== 'nec') return known({ ...current!, name: 'required ampacity' });
    if (isFullyRated(run, context))
      return known({
        ...current!,
        name: 'required ampacity',
        notes: [...current!.notes, 'its protection is listed for 100 % of its rating'],
      });
    return requiredByNec(run, context);
  },
});

export const requiredQuantities = [runRequired];
