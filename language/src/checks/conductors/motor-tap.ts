/** Conductors of one motor that branch off from the circuit of several, behind their common device (NEC 430.53(D), from memory). */
import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isLoad, isSwitch } from '../../model/roles.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { ampacityAt } from '../../quantities/conductors/conductor.js';
import { motorGroupOf } from '../../quantities/conductors/motor-group.js';
import { motorOf } from '../../quantities/demand/motors.js';
import { ruleValue } from '../../reference/index.js';
import { type Verdict, NO_LIMIT, atLeast } from '../define.js';
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

/** A manual motor controller that is marked for tap conductor protection in group installations. */
const isTapController = (thing: Instance): boolean =>
  isSwitch(thing) && flagIn(thing.properties, 'tapProtection') === true;

/** A run to one motor of a group, with the controller in it or at its end that is marked to protect it. */
interface MotorTap {
  readonly motor: Instance;
  readonly controller?: Stop;
}

/** The one motor that a run, or what goes on behind the controller at its end, leads to. */
function tapOf(run: Run, context: DesignContext): MotorTap | undefined {
  const motor = motorAt(run);
  const [controller] = run.through.filter(({ instance }) => isTapController(instance));
  if (motor) return { motor, ...(controller ? { controller } : {}) };
  const [end, ...others] = run.to;
  if (!end || others.length > 0 || !isTapController(end.instance)) return undefined;
  const [behind, ...more] = context.system.runs.filter((each) => each.from.instance === end.instance);
  const last = behind && more.length === 0 ? motorAt(behind) : undefined;
  return last && { motor: last, controller: end };
}

/** Whether a run is the tap of one motor of a group to or from a controller that is marked to protect it, which is tested with such a tap. */
export function isHeldByController(run: Run, context: DesignContext): boolean {
  const tap = context.system.basis.practice === 'nec' ? tapOf(run, context) : undefined;
  const isHeld = tap !== undefined && (tap.controller !== undefined || isTapController(run.from.instance));
  return isHeld && groupBefore(run, tap.motor, context) !== undefined;
}

/** What a tap that is long enough for a limit lacks of being enclosed and short; `pass` where it lacks nothing. */
function ifEnclosed(
  run: Run,
  length: Result,
  most: Derivation,
  pass: (length: Derivation) => Verdict,
): Verdict | undefined {
  if (flagIn(run.properties, 'enclosed') === false) return undefined;
  if (length.kind !== 'known') return notChecked(run, length);
  if (!isWithin(length.derivation, most, 'm')) return undefined;
  if (flagIn(run.properties, 'enclosed') === undefined)
    return notChecked(run, { kind: 'missing', missing: [`enclosed of ${run.name}`] });
  return pass(length.derivation);
}

/** A tap to a controller that is marked for it: up to 10 ft, enclosed, and a tenth of the device of the branch circuit ((D)(3)). */
function judgeToController(
  run: Run,
  { controller }: MotorTap,
  circuit: Run,
  own: Derivation,
  context: DesignContext,
): Verdict | undefined {
  const group = controller && motorGroupOf(circuit, context);
  if (!controller || !group) return undefined;
  const rating = context.fact(group.device, 'rating');
  if (rating.kind !== 'known') return notChecked(run, rating);
  const least = shareOf(ruleValue('nec', 'controllerTapShare'), rating.derivation);
  if (!isWithin(least, own, 'A')) return undefined;
  const name = controller.instance.name;
  const length: Result = run.to.includes(controller)
    ? context.fact(run, 'length')
    : controller.distance
      ? known(controller.distance)
      : missing(`distance of ${name} in ${run.name} (\`${name} @ 2 m\`)`);
  return ifEnclosed(run, length, ruleValue('nec', 'controllerTapLength'), (distance) =>
    passed(run, atLeast(own, least), { ampacity: own, limit: least, length: distance }),
  );
}

/**
 * Passes a tap that needs no device of its own: as good as the conductors it branches off from ((D)(1)), a third of them, up to 25 ft and in a
 * raceway ((D)(2)), or to a controller that is marked to protect taps ((D)(3)), from which what leads on to the motor needs none. Undefined where
 * it is none of these: then what is asked of any conductors is asked of it.
 */
export function judgeMotorTap(run: Run, ampacity: Result | undefined, context: DesignContext): Verdict | undefined {
  const tap = context.system.basis.practice === 'nec' ? tapOf(run, context) : undefined;
  const circuit = tap && groupBefore(run, tap.motor, context);
  if (!circuit || ampacity?.kind !== 'known') return undefined;
  if (isTapController(run.from.instance)) return passed(run, NO_LIMIT);
  const size = context.fact(circuit, 'size');
  if (size.kind !== 'known') return notChecked(run, size);
  const whole = ampacityAt(circuit, size.derivation, context);
  if (whole.kind !== 'known') return notChecked(run, whole);
  const own = ampacity.derivation;
  if (isWithin(whole.derivation, own, 'A'))
    return passed(run, atLeast(own, whole.derivation), { ampacity: own, limit: whole.derivation });
  const least = shareOf(ruleValue('nec', 'motorTapShare'), whole.derivation);
  const byLength = isWithin(least, own, 'A')
    ? ifEnclosed(run, context.fact(run, 'length'), ruleValue('nec', 'motorTapLength'), (length) =>
        passed(run, atLeast(own, least), { ampacity: own, limit: least, length }),
      )
    : undefined;
  return byLength?.verdict === 'passed' ? byLength : (judgeToController(run, tap, circuit, own, context) ?? byLength);
}

/** A share of what the circuit before a tap is good for. */
function shareOf(share: Derivation, whole: Derivation): Derivation {
  return derive('least ampacity of the tap of a motor', numberIn(share, '') * numberIn(whole, 'A'), 'A', {
    formula: 'share·I',
    inputs: [share, { ...whole, symbol: 'I' }],
    ...(share.source ? { source: share.source } : {}),
  });
}
