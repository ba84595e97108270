import { callFunction } from '../../calculate/index.js';
import {
  type Derivation,
  type Result,
  derive,
  displayValue,
  missing,
  numberIn,
  reasonOf,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { classBoundAt, isLimitingFuse, protectsItsConductors } from '../../quantities/faults/class-bounds.js';
import { type Clearing, clearingAt, letThroughAt } from '../../quantities/faults/clearing.js';
import { overloadLimit } from '../../quantities/faults/coordination.js';
import { motorLimitOver } from '../../quantities/conductors/motor-circuit.js';
import { conductorFacts, parallelOf } from '../../quantities/conductors/conductor-facts.js';
import { devicesBefore, devicesWithCurve, farFaults } from './far-fault.js';
import { alternatingFaultAt, bankFaultAt } from './faults.js';
import { calculation } from '../../quantities/calculation.js';
import { iecShortTime } from '../../reference/index.js';

/** Fault current a run of a size survives until a device opens, all conductors in parallel together. */
function survives(run: Run, size: Derivation, time: Derivation, context: DesignContext): Result {
  const { metal, type } = conductorFacts(run, context);
  const one = callFunction(calculation('shortTimeCurrent'), {
    size,
    time,
    ...(metal ? { metal } : {}),
    ...(type ? { type } : {}),
  });
  const count = parallelOf(run, context);
  if (count === 1 || one.kind !== 'known') return one;
  return {
    kind: 'known',
    derivation: derive('short-time current', count * numberIn(one.derivation, 'A'), 'A', {
      symbol: 'I',
      formula: 'n·I_1',
      inputs: [one.derivation],
    }),
  };
}

/** A fault that one of some devices must clear: the one in the run, or any of those before a run without one. */
interface Clearable {
  readonly devices: readonly Instance[];
  readonly current: Derivation;
  readonly where: string;
}

/** A fault that a device must clear. */
interface Fault {
  readonly device: Instance;
  readonly current: Derivation;
  readonly where: string;
}

const largestAt = (thing: Instance, run: Run, context: DesignContext): Result | undefined =>
  run.carries === 'ac' ? alternatingFaultAt(thing, context) : bankFaultAt(thing, context)?.result;

/** Largest faults at the devices, and the smallest at the far ends, where the device is slowest. */
function faultsOf(run: Run, context: DesignContext, size?: Derivation): { faults: Clearable[]; open: Result[] } {
  const faults: Clearable[] = [];
  const open: Result[] = [];
  const own = new Set(devicesWithCurve([run.from, ...run.through, ...run.to], context));
  const before = devicesBefore(run, context);
  const far = farFaults(run, context, size, before?.devices);
  const add = (at: Instance, devices: readonly Instance[]): void => {
    const largest = largestAt(at, run, context);
    if (largest?.kind === 'known') faults.push({ devices, current: largest.derivation, where: `at ${at.name}` });
    else if (largest) open.push(largest);
  };
  for (const device of own) add(device, [device]);
  if (before) add(before.entry, before.devices);
  for (const { current, node, devices } of far.faults) {
    const where = `at ${node.instance.name}`;
    if (before) faults.push({ devices, current, where });
    else for (const device of devices) faults.push({ devices: [device], current, where });
  }
  open.push(...far.open);
  return { faults, open };
}

/** Whether anything says how a device opens that protects a run: one of its own, or one before it. */
export const isProtected = (run: Run, context: DesignContext): boolean =>
  devicesWithCurve([run.from, ...run.through, ...run.to], context).length > 0 ||
  devicesBefore(run, context) !== undefined;

/** A fault whose heat the conductors bear, and what says so: the current that they survive, or the rating of the device. */
export interface Borne {
  readonly fault: Fault;
  readonly limit: Derivation;
  /** Where the device opens faster than its curve tells, or only its class does: what it lets through, and what the conductors bear (A²s). */
  readonly through?: { readonly energy: Derivation; readonly bearable: Derivation };
  /** Where the rating of the device is what says so: the largest with which it protects the conductors. */
  readonly largestRating?: Derivation;
}

export interface Heated extends Borne {
  readonly time: Derivation;
}

const ONE_SECOND = derive('one second', 1, 's', { symbol: 't' });

/** k²·S² of a run of a size: the I²t its conductors bear, whatever the time. */
function bearableBy(run: Run, size: Derivation, context: DesignContext): Result {
  const one = survives(run, size, ONE_SECOND, context);
  if (one.kind !== 'known') return one;
  return {
    kind: 'known',
    derivation: derive('I²t that the conductors withstand', numberIn(one.derivation, 'A') ** 2, 'A2s', {
      symbol: 'k²S²',
      formula: 'I²·1 s',
      inputs: [one.derivation],
    }),
  };
}

/** s up to which all heat stays in the conductors (IEC 60364-4-43 434.5.2); what takes longer is an overload. */
const { longestTime } = iecShortTime;

/** What becomes of one fault: its heat is borne or not, something lacks, or its device opens so late that it is an overload. */
type Outcome =
  | { readonly kind: 'borne'; readonly entry: Borne }
  | { readonly kind: 'heated'; readonly entry: Heated }
  | { readonly kind: 'open'; readonly result: Result }
  | { readonly kind: 'late' };

/** What a run has to bear while a device is taken to open at some current. */
interface Question {
  readonly run: Run;
  readonly size: Derivation;
  readonly fault: Fault;
  readonly rating: Derivation | undefined;
  readonly context: DesignContext;
}

const isBorne = (energy: Derivation, bearable: Derivation): boolean =>
  numberIn(energy, 'A2s') <= numberIn(bearable, 'A2s') * (1 + 1e-9);

/** The time in which an I²t flows at a current. */
const timeOf = (energy: Derivation, current: Derivation): Derivation =>
  derive('time in which that flows', numberIn(energy, 'A2s') / numberIn(current, 'A') ** 2, 's', {
    symbol: 't',
    formula: 'I²t/I²',
    inputs: [energy, current],
  });

/** An I²t against what the conductors bear. */
function byEnergy({ run, size, fault, context }: Question, energy: Derivation): Outcome {
  const bearable = bearableBy(run, size, context);
  if (bearable.kind !== 'known') return { kind: 'open', result: bearable };
  const time = timeOf(energy, fault.current);
  const limit = derive(
    'current that the conductors survive for that time',
    Math.sqrt(numberIn(bearable.derivation, 'A2s') / numberIn(time, 's')),
    'A',
    { symbol: 'I', formula: '√(k²S²/t)', inputs: [bearable.derivation, time] },
  );
  const entry = { fault, time, limit, through: { energy, bearable: bearable.derivation } };
  return isBorne(energy, bearable.derivation) ? { kind: 'borne', entry } : { kind: 'heated', entry };
}

/** The curve that a device or its class states, or that of general-purpose fuses and breakers with a trip curve. */
function byCurve(question: Question, clearing: Clearing): Outcome {
  const { run, size, fault, context, rating } = question;
  // Slower than its curve tells, or than five seconds, is what `fault-clearing` speaks about.
  if (clearing.kind === 'slow') return { kind: 'late' };
  const stated = rating ? undefined : letThroughAt(fault.device, fault.current);
  // What it lets through is all that has to be known; without a curve nothing else is.
  if (clearing.kind === 'open')
    return stated?.kind === 'known'
      ? byEnergy(question, stated.derivation)
      : { kind: 'open', result: stated ?? clearing.result };
  if (numberIn(clearing.time, 's') > longestTime) return { kind: 'late' };
  const limit = survives(run, size, clearing.time, context);
  if (limit.kind !== 'known') return { kind: 'open', result: limit };
  const entry = { fault, time: clearing.time, limit: limit.derivation };
  if (numberIn(fault.current, 'A') <= numberIn(limit.derivation, 'A') * (1 + 1e-9)) return { kind: 'borne', entry };
  if (clearing.kind === 'time') return { kind: 'heated', entry };
  if (stated?.kind === 'known') return byEnergy(question, stated.derivation);
  if (stated?.kind === 'refused') return { kind: 'open', result: stated };
  if (clearing.most) return byEnergy(question, clearing.most);
  return {
    kind: 'open',
    result: missing(`letThrough of ${fault.device.name}, which opens in less than ${displayValue(clearing.time)}`),
  };
}

/** That a device protects the conductors against overload, and is made so that this protects them against short circuits too. */
const byRating = ({ fault }: Question, rating: Derivation, largestRating: Derivation): Outcome => ({
  kind: 'borne',
  entry: {
    fault,
    limit: { ...rating, name: 'rating of the device', governing: [{ kind: 'overloadDevice' }] },
    largestRating,
  },
});

/** What the standard of the device's class bounds, where nothing is stated of the device. */
function byClass(question: Question): Outcome | undefined {
  const { run, size, fault, rating, context } = question;
  const rated = rating ?? context.maybe(fault.device, 'rating');
  const bound = rated && classBoundAt(fault.device, fault.current, rated, run.carries !== 'ac');
  if (!bound || !rated) return undefined;
  const outcome = bound.kind === 'energy' ? byEnergy(question, bound.energy) : undefined;
  if (outcome && outcome.kind !== 'heated') return outcome;
  // Breakers are tested with conductors of their rating (UL 489, from memory), and fuses that limit current let through less where they are rated
  // below their case (IEC 60364-4-43 435.1, from memory); other currents open the device as an overload does.
  const largest = overloadLimit(fault.device, rated, run, size, context);
  const isMadeForIt = protectsItsConductors(fault.device) || isLimitingFuse(fault.device);
  if (largest && (bound.kind !== 'energy' || isMadeForIt)) return byRating(question, rated, largest);
  // Nor does what a class may let through accuse the fuse of a motor.
  if (outcome && isLimitingFuse(fault.device) && motorLimitOver(rated, run, context))
    return { kind: 'open', result: missing(`letThrough of ${fault.device.name}`) };
  // What opens the device of a motor as an overload opens the overload protection of the motor too (240.4(G)).
  const ofMotors = bound.kind === 'energy' ? undefined : motorLimitOver(rated, run, context);
  if (ofMotors) return byRating(question, rated, ofMotors);
  // Where it does not limit yet it lets through no less than where it does: too much there is too much here.
  const least = bound.kind === 'overload' && bound.atLeast ? byEnergy(question, bound.atLeast) : undefined;
  if (least?.kind === 'heated') return least;
  return (
    outcome ?? { kind: 'open', result: missing(`openingTimes of ${fault.device.name}, from its time-current curve`) }
  );
}

/** A bound of the class that is too much proves nothing against a breaker which limits energy and has a rating that suits the conductors. */
function limited(question: Question, outcome: Outcome): Outcome {
  const { run, size, fault, rating, context } = question;
  const rated = rating ?? context.maybe(fault.device, 'rating');
  const isClassBound =
    outcome?.kind === 'heated' && outcome.entry.through && reasonOf(outcome.entry.through.energy, 'classBound');
  if (!isClassBound || !rated || !protectsItsConductors(fault.device)) return outcome;
  const largest = overloadLimit(fault.device, rated, run, size, context);
  return largest ? byRating(question, rated, largest) : outcome;
}

/**
 * NEC 430.52 means the device of a motor to be larger than what it protects: there what this device lets through decides, and what its class may
 * let through accuses nobody.
 */
function ofMotor({ run, fault, rating, context }: Question, outcome: Outcome): Outcome {
  const isClassBound =
    outcome.kind === 'heated' && outcome.entry.through && reasonOf(outcome.entry.through.energy, 'classBound');
  const rated = rating ?? context.maybe(fault.device, 'rating');
  return isClassBound && rated && protectsItsConductors(fault.device) && motorLimitOver(rated, run, context)
    ? { kind: 'open', result: missing(`letThrough of ${fault.device.name}`) }
    : outcome;
}

/** Faults whose heat is above the limit; what kept others from being judged. `ratings` stand for those of the devices they name. */
export function heatOf(
  run: Run,
  size: Derivation,
  context: DesignContext,
  ratings?: ReadonlyMap<Instance, Derivation>,
): { heated: Heated[]; open: Result[]; judged: Borne[] } {
  const { faults, open } = faultsOf(run, context, size);
  const heated: Heated[] = [];
  const judged: Borne[] = [];
  for (const { devices, ...fault } of faults) {
    const outcomes = devices.map((device): Outcome => {
      const rating = ratings?.get(device);
      const question: Question = { run, size, fault: { ...fault, device }, rating, context };
      const clearing = clearingAt(device, fault.current, run.carries !== 'ac', context, rating);
      const own = limited(question, byCurve(question, clearing));
      // What is stated of the device goes before what its class bounds; where its curve ends, the class goes on.
      const isOwn = own.kind !== 'open' || letThroughAt(device, fault.current) !== undefined;
      return ofMotor(question, isOwn ? own : (byClass(question) ?? own));
    });
    // One that clears in time is enough.
    const rank = ['borne', 'open', 'heated', 'late'] as const;
    const [outcome] = outcomes.sort((a, b) => rank.indexOf(a.kind) - rank.indexOf(b.kind));
    if (outcome?.kind === 'borne') judged.push(outcome.entry);
    if (outcome?.kind === 'open') open.push(outcome.result);
    if (outcome?.kind === 'heated') heated.push(outcome.entry);
  }
  return { heated, open, judged };
}

/** Ratings (A) as derivations, as `heatOf` takes them. */
export const asRatings = (ratings: ReadonlyMap<Instance, number>): ReadonlyMap<Instance, Derivation> =>
  new Map([...ratings].map(([device, rating]) => [device, derive('rating', rating, 'A')] as const));
