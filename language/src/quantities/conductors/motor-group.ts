import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import { callFunction } from '../../calculate/index.js';
import { query } from '../../model/context.js';
import { isDevice, isGear, isLoad } from '../../model/roles.js';
import type { Instance, Run, System } from '../../model/types.js';
import { ruleValue } from '../../reference/index.js';
import { calculation } from '../calculation.js';
import type { QuantityContext } from '../define.js';
import { motorOf } from '../demand/motors.js';
import { type Loading, isLoadings, loadingsOf } from '../flow/loading.js';
import { type MotorLoad, motorsIn, motorsOf } from '../flow/motor-loads.js';
import { nodesBehind } from '../network/behind.js';
import { systemOf } from '../supply/supply.js';
import { motorLimit } from './motor-limit.js';

/** A device and what it protects together: motors, or motors and other loads, without a device of their own between (NEC 430.53). */
export interface MotorGroup {
  readonly run: Run;
  readonly device: Instance;
  readonly motors: readonly Instance[];
}

const stopsOf = (run: Run): Instance[] => [run.from, ...run.through, ...run.to].map(({ instance }) => instance);

const PLACES = query<System, ReadonlyMap<Instance, number>>('the order of the things of a design');

const countOf = (load: Instance, context: QuantityContext): number => {
  const count = context.maybe(load, 'count');
  return count ? numberIn(count, '') : 1;
};

/**
 * The motors behind a run with a device, at its end or over busbars, without a device of their own between. One alone makes the run one of its
 * branch circuit (NEC 430.52); else they are a group behind the device that is rated least, in the order of the design.
 */
export function motorsBehind(
  run: Run,
  context: QuantityContext,
): { readonly sole: Instance } | { readonly group: MotorGroup } | undefined {
  const devices = stopsOf(run).filter(isDevice);
  if (devices.length === 0 || motorsOf(context).length === 0) return undefined;
  const open = nodesBehind(run, context.graph).flatMap(({ instance }) => (isDevice(instance) ? [] : [instance]));
  const things = new Set(open.filter((each) => !isGear(each)));
  const [sole] = things;
  if (sole && things.size === 1 && motorOf(sole) && countOf(sole, context) === 1) return { sole };
  const { system } = context;
  const places = context.kept(PLACES, system, () => new Map(system.instances.map((each, index) => [each, index])));
  const motors = [...things]
    .filter((each) => isLoad(each) && motorOf(each))
    .sort((one, other) => places.get(one)! - places.get(other)!);
  if (motors.length === 0) return undefined;
  const rating = (device: Instance): number => {
    const stated = context.maybe(device, 'rating');
    return stated ? numberIn(stated, 'A') : Infinity;
  };
  const device = devices.reduce((so, next) => (rating(next) < rating(so) ? next : so));
  return { group: { run, device, motors } };
}

/** The group of motors behind the device of a run; undefined where there is none, or one motor alone. */
export function motorGroupOf(run: Run, context: QuantityContext): MotorGroup | undefined {
  const found = motorsBehind(run, context);
  return found && 'group' in found ? found.group : undefined;
}

/** The largest device of a group by the ways in which NEC 430.53 allows one, A. */
export interface GroupLimits {
  /** (A): small motors on a general-purpose circuit; undefined where one is no such motor. */
  readonly small?: Derivation;
  /** (B): what 430.52 allows the smallest motor. */
  readonly smallest: Derivation;
  /** (C): what 430.52 allows the largest, and what the others take; asks for gear that is listed for it. */
  readonly together: Derivation;
}

/** 430.53(A): every motor up to 1 hp and 6 A. */
function smallLimit(motors: readonly MotorLoad[], source: Instance | undefined, context: QuantityContext) {
  const [most, current] = [ruleValue('nec', 'smallMotor'), ruleValue('nec', 'smallGroupMotor')];
  const isSmall = ({ motor, each }: MotorLoad): boolean => {
    const horsepower = context.maybe(motor, 'horsepower');
    return (
      horsepower !== undefined &&
      numberIn(horsepower, 'hp') <= numberIn(most, 'hp') * (1 + 1e-9) &&
      numberIn(each, 'A') <= numberIn(current, 'A') * (1 + 1e-9)
    );
  };
  if (!motors.every(isSmall)) return undefined;
  const system = source && systemOf(source);
  const volts = system ? system.lineToNeutral : 0;
  return ruleValue('nec', volts <= GENERAL_VOLTAGE ? 'generalCircuit' : 'smallGroupCircuit');
}

/** V up to which a circuit is a general-purpose one of 120 V. */
const GENERAL_VOLTAGE = 125;

function limitsOn(
  loading: Loading,
  { device, motors }: MotorGroup,
  context: QuantityContext,
): Result | GroupLimits | undefined {
  const all = motorsIn(loading, context);
  const own = all.filter(({ motor }) => motors.includes(motor));
  if (own.length === 0) return undefined;
  const limits: { readonly of: MotorLoad; readonly limit: Derivation }[] = [];
  for (const of of own) {
    const limit = motorLimit(of.motor, loading.source, device, context);
    if (!limit) return missing(`horsepower or fullLoadCurrent of ${of.motor.name}`);
    if (limit.kind !== 'known') return limit;
    limits.push({ of, limit: limit.derivation });
  }
  const by = (left: (typeof limits)[number], right: (typeof limits)[number]): number =>
    numberIn(left.limit, 'A') - numberIn(right.limit, 'A') ||
    numberIn(left.of.each, 'A') - numberIn(right.of.each, 'A');
  const sorted = [...limits].sort(by);
  const [smallest, largest] = [sorted[0]!, sorted.at(-1)!];
  const full = all.reduce((sum, { each, count }) => sum + count * numberIn(each, 'A'), 0);
  const drawn = all.reduce((sum, { part }) => sum + numberIn(part, 'A'), 0);
  const rest = Math.max(0, numberIn(loading.whole, 'A') - drawn);
  const others = derive('other motors and loads', Math.max(0, full - numberIn(largest.of.each, 'A')) + rest, 'A', {
    inputs: [...all.map(({ each }) => each), loading.whole],
  });
  const together = callFunction(calculation('motorFeederProtection'), { device: largest.limit, others });
  if (together.kind !== 'known') return together;
  const small = smallLimit(own, loading.source, context);
  return { ...(small ? { small } : {}), smallest: smallest.limit, together: together.derivation };
}

const least = (left: Derivation, right: Derivation): Derivation =>
  numberIn(right, 'A') < numberIn(left, 'A') ? right : left;

/** The limits of a group on the leg and in the state that allow least. */
export function groupLimits(group: MotorGroup, context: QuantityContext): Result | GroupLimits {
  const loadings = loadingsOf(group.run, context);
  if (!isLoadings(loadings)) return loadings;
  let worst: GroupLimits | undefined;
  for (const loading of loadings) {
    const limits = limitsOn(loading, group, context);
    if (!limits) continue;
    if (!('together' in limits)) return limits;
    const small = worst ? worst.small && limits.small && least(worst.small, limits.small) : limits.small;
    worst = {
      ...(small ? { small } : {}),
      smallest: worst ? least(worst.smallest, limits.smallest) : limits.smallest,
      together: worst ? least(worst.together, limits.together) : limits.together,
    };
  }
  return worst ?? missing(`what ${group.run.name} carries`);
}

/** Motors of a group that do not say whether they and their overload protection are listed for group installation; none where one is not. */
export function groupListing(
  { motors }: MotorGroup,
  context: QuantityContext,
): { readonly isListed: boolean; readonly lacking: readonly string[] } {
  const said = motors.map((motor) => context.maybe(motor, 'groupListed')?.value);
  return {
    isListed: said.every((each) => each === true),
    lacking: said.includes(false)
      ? []
      : motors.flatMap((motor, index) => (said[index] === undefined ? [`groupListed of ${motor.name}`] : [])),
  };
}

/** The largest device of a group whose gear is listed for it, as a result that `run-protection` may go by. */
export function listedGroupLimit(run: Run, context: QuantityContext): Result | undefined {
  const group = motorGroupOf(run, context);
  // Conductors that branch off behind the run are judged by themselves.
  if (!group || !run.to.every(({ instance }) => isLoad(instance)) || !groupListing(group, context).isListed)
    return undefined;
  const limits = groupLimits(group, context);
  return 'together' in limits ? known(limits.together) : undefined;
}
