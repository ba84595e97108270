import { numberIn } from '../../derivation/index.js';
import { type DesignContext, query } from '../../model/context.js';
import { partArgument } from '../../model/lower/property-facts.js';
import type { Instance, Run } from '../../model/types.js';
import { ampacityAt, devicesOf } from '../../quantities/conductors/conductor.js';
import { ratingsUnder } from '../../reference/index.js';
import {
  classOf,
  highestDirectVoltage,
  isMadeIn,
  isMissing,
  sortOf,
  sufficientClasses,
} from '../../checks/conductors/device-ratings.js';
import { bankFaultAt } from '../../checks/conductors/faults.js';
import { feedInto, judgedDevices } from '../../checks/conductors/feeding.js';
import { leastRating } from '../../checks/conductors/protection-need.js';
import { largestDevice } from '../../checks/conductors/sizing.js';
import { isVehicle, ownDeviceOf } from '../../model/roles.js';

/** The runs that a device stands in, and those without a device of their own that it protects from before. */
interface Dependents {
  readonly standing: readonly Run[];
  readonly fed: readonly Run[];
}

const NO_DEPENDENTS: Dependents = { standing: [], fed: [] };
const DEPENDENTS = query<DesignContext, ReadonlyMap<string, Dependents>>('what is connected to each device');

/** The dependents of a device, found once for all devices of a design. */
export function dependentsOf(device: Instance, context: DesignContext): Dependents {
  const all = context.kept(DEPENDENTS, context, () => findDependents(context));
  return all.get(device.name) ?? NO_DEPENDENTS;
}

function findDependents(context: DesignContext): ReadonlyMap<string, Dependents> {
  const all = new Map<string, { standing: Run[]; fed: Run[] }>();
  const of = (name: string): { standing: Run[]; fed: Run[] } => {
    let found = all.get(name);
    if (!found) all.set(name, (found = { standing: [], fed: [] }));
    return found;
  };
  for (const run of context.system.runs) {
    const own = new Set(devicesOf(run).map(({ instance }) => instance.name));
    for (const name of own) of(name).standing.push(run);
    if (own.size > 0) continue;
    const feeds = (['near', 'far'] as const).map((end) => feedInto(run, end, context));
    const before = new Set(feeds.flatMap((feed) => (feed.kind === 'limited' ? feed.by : [])));
    for (const name of before) of(name).fed.push(run);
  }
  return all;
}

/** Devices of a run that are too small for its load, with the next rating in which they are made, where nothing else forbids it. */
export const fittedRatings = (run: Run, context: DesignContext): ReadonlyMap<Instance, number> =>
  leastRatings(run, context, (present, least) => present < least);

/** The devices of a run that could be smaller, with the least rating in which they are made that carries what they feed. */
export const smallestRatings = (run: Run, context: DesignContext): ReadonlyMap<Instance, number> =>
  leastRatings(run, context, (present, least, next = least) => next < present);

/**
 * Devices of a run with the least rating (A) in which they are made that carries what they feed and that nothing else forbids: those of which
 * the present rating, the least that is needed and, once it is found, the next are wanted.
 */
function leastRatings(
  run: Run,
  context: DesignContext,
  isWanted: (present: number, least: number, next?: number) => boolean,
): ReadonlyMap<Instance, number> {
  const found = new Map<Instance, number>();
  for (const { instance: device } of devicesOf(run)) {
    const rating = context.maybe(device, 'rating');
    const needed = leastRating(run, device, context);
    if (!rating || needed.kind !== 'known') continue;
    const present = numberIn(rating, 'A');
    const least = numberIn(needed.derivation, 'A') * (1 - 1e-9);
    if (!isWanted(present, least)) continue;
    const next = ratingsOf(device, context).find((each) => each >= least && othersAllow(run, device, each, context));
    if (next !== undefined && isWanted(present, least, next)) found.set(device, next);
  }
  return found;
}

/** The standard ratings in which a device is made, A. */
export const ratingsOf = (device: Instance, context: DesignContext): readonly number[] =>
  ratingsUnder(context.system.basis, sortOf(device)).filter((rating) => isMadeIn(device, rating));

/** Ratings (A) above those of its class, each with a class that is made in it, stands the voltage and interrupts what flows there. */
export function ratingsOfOtherClasses(
  run: Run,
  device: Instance,
  context: DesignContext,
): readonly { readonly rating: number; readonly part: string }[] {
  const most = Math.max(0, ...ratingsOf(device, context));
  if (!classOf(device) || run.carries !== 'dc') return [];
  const highest = highestDirectVoltage(device, context);
  const fault = bankFaultAt(device, context)?.result;
  // What could raise the voltage or the fault and is not known could be too much for the class.
  if (isMissing(highest) || highest.lacking.length > 0 || (fault && fault.kind !== 'known')) return [];
  const amperes = fault ? numberIn(fault.derivation, 'A') : 0;
  return ratingsUnder(context.system.basis, sortOf(device))
    .filter((rating) => rating > most)
    .flatMap((rating) => {
      const [part] = sufficientClasses(device, numberIn(highest.voltage, 'V'), amperes, context, rating);
      return part ? [{ rating, part: part.name }] : [];
    });
}

/** The most a device before the conductors of a run may be rated, A; undefined where facts lack. */
function mostBefore(run: Run, context: DesignContext): number | undefined {
  const size = context.maybe(run, 'size');
  const ampacity = size && ampacityAt(run, size, context);
  if (!size || ampacity?.kind !== 'known') return undefined;
  const largest = largestDevice(run, ampacity.derivation, size, context);
  return largest.kind === 'known'
    ? Math.max(numberIn(largest.derivation, 'A'), numberIn(ampacity.derivation, 'A'))
    : numberIn(ampacity.derivation, 'A');
}

/**
 * The most a device beside plugs may be rated, A: a larger one no longer protects the receptacle (NEC 210.21(B)(1)), and the service or
 * set behind it gives no more.
 */
function mostBesidePlugs(device: Instance, context: DesignContext): number {
  const stops = dependentsOf(device, context)
    .standing.filter(({ carries }) => carries === 'ac')
    .flatMap((run) => [run.from, ...run.through, ...run.to].map(({ instance }) => instance));
  const ratings = stops.flatMap((instance) => {
    const plugs = ['outlet', 'plug'].map((property) => {
      const value = instance.properties.get(property)?.value;
      return value?.type === 'part' ? partArgument(value.part).fact('rating') : undefined;
    });
    const own = isVehicle(instance) ? undefined : ownDeviceOf(instance);
    return [...plugs, own && context.maybe(instance, own.rating)].filter((rating) => rating !== undefined);
  });
  return Math.min(...ratings.map((rating) => numberIn(rating, 'A')));
}

/** Whether the other runs that a device stands in, or protects from before, bear another rating of it. */
export function othersAllow(run: Run, device: Instance, rating: number, context: DesignContext): boolean {
  const present = context.maybe(device, 'rating');
  const grows = !present || rating > numberIn(present, 'A');
  const { standing, fed } = dependentsOf(device, context);
  const others = standing.filter((other) => other !== run);
  if (!grows)
    return others.every((other) => {
      const least = leastRating(other, device, context);
      // A load that is not known could be more than a smaller device carries.
      return least.kind === 'known' && rating >= numberIn(least.derivation, 'A') * (1 - 1e-9);
    });
  if (rating > mostBesidePlugs(device, context) * (1 + 1e-9)) return false;
  return [...others.filter((other) => judgedDevices(other, context).includes(device)), ...fed].every((other) => {
    const most = mostBefore(other, context);
    return most !== undefined && rating <= most * (1 + 1e-9);
  });
}
