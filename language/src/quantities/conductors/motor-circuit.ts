import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, derive, known, numberIn } from '../../derivation/index.js';
import { query } from '../../model/context.js';
import { isDevice, isLoad } from '../../model/roles.js';
import type { Instance, Run } from '../../model/types.js';
import { ruleValue } from '../../reference/index.js';
import { calculation } from '../calculation.js';
import type { QuantityContext } from '../define.js';
import { type Loading, isLoadings, loadingsOf } from '../flow/loading.js';
import { type MotorLoad, motorsIn } from '../flow/motor-loads.js';
import { listedGroupLimit, motorGroupOf } from './motor-group.js';
import { motorLimit } from './motor-limit.js';

/** The largest device of a circuit of motors by NEC 430.52 or 430.62, and what it rests on that is not stated. */
export interface MotorCircuit {
  readonly limit: Derivation;
  readonly lacking: readonly string[];
}

/** Facts of the overload protection of a motor that are not stated; none for small motors, which may rely on their branch device. */
export function overloadLacking(motor: Instance, context: QuantityContext): readonly string[] {
  const horsepower = context.maybe(motor, 'horsepower');
  const small = ruleValue('nec', 'smallMotor');
  if (horsepower && numberIn(horsepower, 'hp') <= numberIn(small, 'hp') * (1 + 1e-9)) return [];
  const isProtected =
    context.maybe(motor, 'overload') !== undefined || context.maybe(motor, 'thermalProtection')?.value === true;
  return isProtected ? [] : [`overload of ${motor.name}`];
}

const devicesIn = (run: Run): Instance[] =>
  [...new Set([run.from, ...run.through, ...run.to].map(({ instance }) => instance))].filter(isDevice);

/** The devices of the branch circuit of one motor behind a run: those in a run of its own that ends nowhere else. */
const branchDevices = (motor: Instance, feeder: Run, context: QuantityContext): Instance[] =>
  context.system.runs
    .filter((run) => run !== feeder && run.to.every(({ instance }) => instance === motor))
    .flatMap(devicesIn)
    .filter((device) => !devicesIn(feeder).includes(device));

/** The largest rating of a device that a motor behind a run has for itself: what protects the run as well must let that motor start. */
export function largestBranchRating(run: Run, context: QuantityContext): Derivation | undefined {
  const loadings = context.system.basis.practice === 'nec' ? loadingsOf(run, context) : [];
  if (!isLoadings(loadings)) return undefined;
  const motors = loadings.flatMap((loading) => motorsIn(loading, context)).map(({ motor }) => motor);
  return motors
    .flatMap((motor) => branchDevices(motor, run, context))
    .flatMap((device) => context.maybe(device, 'rating') ?? [])
    .sort((a, b) => numberIn(b, 'A') - numberIn(a, 'A'))[0];
}

const sortLoads = (loading: Loading, context: QuantityContext): Instance[] =>
  loading.whole.inputs.flatMap(({ subject }) => (subject === undefined ? [] : (context.instance(subject) ?? [])));

/** One motor and nothing else: a branch circuit (NEC 430.52). */
function branchCircuit(
  { motor, count }: MotorLoad,
  loading: Loading,
  run: Run,
  context: QuantityContext,
): MotorCircuit | undefined {
  const [device] = devicesIn(run);
  if (!device || count > 1) return undefined;
  const limit = motorLimit(motor, loading.source, device, context);
  return limit?.kind === 'known' ? { limit: limit.derivation, lacking: overloadLacking(motor, context) } : undefined;
}

/** Several motors, or motors and other loads, with a device for each motor: a feeder (NEC 430.62, 430.63). */
function feederCircuit(
  motors: readonly MotorLoad[],
  loading: Loading,
  run: Run,
  context: QuantityContext,
): MotorCircuit | undefined {
  const branches = motors.flatMap((each) => {
    const devices = each.count === 1 ? branchDevices(each.motor, run, context) : [];
    const ratings = devices.flatMap((device) => context.maybe(device, 'rating') ?? []);
    const [smallest] = ratings.sort((a, b) => numberIn(a, 'A') - numberIn(b, 'A'));
    return smallest ? [{ own: each, rating: smallest }] : [];
  });
  // A group of motors behind one device (430.53) is no feeder.
  if (branches.length < motors.length) return undefined;
  const [{ own, rating: largest }] = branches.sort(
    (a, b) =>
      numberIn(b.rating, 'A') - numberIn(a.rating, 'A') || numberIn(b.own.each, 'A') - numberIn(a.own.each, 'A'),
  ) as [(typeof branches)[number]];
  const all = motors.reduce((sum, { each }) => sum + numberIn(each, 'A'), 0);
  const drawn = motors.reduce((sum, { part }) => sum + numberIn(part, 'A'), 0);
  const rest = Math.max(0, numberIn(loading.whole, 'A') - drawn);
  const others = derive('other motors and loads', all - numberIn(own.each, 'A') + rest, 'A', {
    inputs: [...motors.filter((each) => each !== own).map(({ each }) => each), loading.whole],
  });
  const limit = callFunction(calculation('motorFeederProtection'), { device: largest, others });
  return limit.kind === 'known'
    ? { limit: limit.derivation, lacking: motors.flatMap(({ motor }) => overloadLacking(motor, context)) }
    : undefined;
}

/** Motors behind one device, whose gear is listed for it (NEC 430.53(C), from memory). */
function groupCircuit(run: Run, context: QuantityContext): MotorCircuit | undefined {
  const limit = listedGroupLimit(run, context);
  const motors = motorGroupOf(run, context)?.motors ?? [];
  return limit?.kind === 'known'
    ? { limit: limit.derivation, lacking: motors.flatMap((motor) => overloadLacking(motor, context)) }
    : undefined;
}

function findMotorCircuit(run: Run, context: QuantityContext): MotorCircuit | undefined {
  const loadings = context.system.basis.practice === 'nec' ? loadingsOf(run, context) : [];
  if (!isLoadings(loadings)) return undefined;
  let least: MotorCircuit | undefined;
  for (const loading of loadings) {
    const motors = motorsIn(loading, context);
    const [first] = motors;
    // A leg without a motor, or with what is no load, is bound by what its conductors allow.
    const isOfLoads = sortLoads(loading, context).every(isLoad);
    if (!first || !isOfLoads) return undefined;
    const isAlone = motors.length === 1 && loading.whole.inputs.length === 1;
    const circuit = isAlone
      ? branchCircuit(first, loading, run, context)
      : feederCircuit(motors, loading, run, context);
    if (!circuit) return groupCircuit(run, context);
    if (!least || numberIn(circuit.limit, 'A') < numberIn(least.limit, 'A')) least = circuit;
  }
  return least;
}

const CIRCUITS = query<Run, { readonly circuit: MotorCircuit | undefined }>('the circuit of motors a run is');

/** The largest device that NEC 430 allows a circuit of motors, whatever 240.4 says of its conductors (240.4(G)). */
export const motorCircuitOf = (run: Run, context: QuantityContext): MotorCircuit | undefined =>
  context.kept(CIRCUITS, run, () => ({ circuit: findMotorCircuit(run, context) })).circuit;

/** The larger of what the conductors of a run allow and what NEC 430 allows its motors, where their overload protection is stated. */
export function orOfMotors(run: Run, largest: Result, context: QuantityContext): Result {
  const circuit = motorCircuitOf(run, context);
  if (!circuit || circuit.lacking.length > 0 || largest.kind !== 'known') return largest;
  return numberIn(circuit.limit, 'A') > numberIn(largest.derivation, 'A') ? known(circuit.limit) : largest;
}

/** The largest device of the motors of a run, where it is within that and all of them have overload protection; their conductors then need no other. */
export function motorLimitOver(rating: Derivation, run: Run, context: QuantityContext): Derivation | undefined {
  const circuit = motorCircuitOf(run, context);
  return circuit && circuit.lacking.length === 0 && numberIn(rating, 'A') <= numberIn(circuit.limit, 'A') * (1 + 1e-9)
    ? circuit.limit
    : undefined;
}
