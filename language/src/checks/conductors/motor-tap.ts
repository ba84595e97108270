/** Conductors of one motor that branch off from the circuit of several, behind their common device (NEC 430.53(D), from memory). */
import { type Derivation, type Result, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isLoad } from '../../model/roles.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Instance, Run } from '../../model/types.js';
import { ampacityAt } from '../../quantities/conductors/conductor.js';
import { motorGroupOf } from '../../quantities/conductors/motor-group.js';
import { motorOf } from '../../quantities/demand/motors.js';
import { ruleValue } from '../../reference/index.js';
import { type Verdict, atLeast } from '../define.js';
import { notChecked, passed } from '../verdicts.js';
import { isWithin } from './device-distance.js';

/** The circuit whose device protects several motors, one of which a run leads to; undefined where there is none. */
function groupBefore(run: Run, motor: Instance, context: DesignContext): Run | undefined {
  return context.system.runs.find(
    (each) => each !== run && motorGroupOf(each, context)?.motors.includes(motor) === true,
  );
}

/** The one motor at the end of a run. */
function motorAt(run: Run): Instance | undefined {
  const [end, ...others] = run.to.map(({ instance }) => instance);
  return end && others.length === 0 && isLoad(end) && motorOf(end) ? end : undefined;
}

/**
 * Passes a tap that needs no device of its own: as good as the conductors it branches off from ((D)(1)), or a third of them, up to 25 ft
 * and in a raceway ((D)(2)). Undefined where it is none of these: then what is asked of any conductors is asked of it. Taps to controllers
 * that are marked for it ((D)(3)) are not known.
 */
export function judgeMotorTap(run: Run, ampacity: Result | undefined, context: DesignContext): Verdict | undefined {
  const motor = context.system.basis.practice === 'nec' ? motorAt(run) : undefined;
  const circuit = motor && groupBefore(run, motor, context);
  if (!circuit || ampacity?.kind !== 'known') return undefined;
  const size = context.fact(circuit, 'size');
  if (size.kind !== 'known') return notChecked(run, size);
  const whole = ampacityAt(circuit, size.derivation, context);
  if (whole.kind !== 'known') return notChecked(run, whole);
  const own = ampacity.derivation;
  if (isWithin(whole.derivation, own, 'A'))
    return passed(run, atLeast(own, whole.derivation), { ampacity: own, limit: whole.derivation });
  const least = aThirdOf(whole.derivation);
  if (!isWithin(least, own, 'A') || flagIn(run.properties, 'enclosed') === false) return undefined;
  const length = context.fact(run, 'length');
  if (length.kind !== 'known') return notChecked(run, length);
  if (!isWithin(length.derivation, ruleValue('nec', 'motorTapLength'), 'm')) return undefined;
  if (flagIn(run.properties, 'enclosed') === undefined)
    return notChecked(run, { kind: 'missing', missing: [`enclosed of ${run.name}`] });
  return passed(run, atLeast(own, least), { ampacity: own, limit: least, length: length.derivation });
}

function aThirdOf(whole: Derivation): Derivation {
  const share = ruleValue('nec', 'motorTapShare');
  return derive('least ampacity of the tap of a motor', numberIn(share, '') * numberIn(whole, 'A'), 'A', {
    formula: 'share·I_z',
    inputs: [share, { ...whole, symbol: 'I_z' }],
    ...(share.source ? { source: share.source } : {}),
  });
}
