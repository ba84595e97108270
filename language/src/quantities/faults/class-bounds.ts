import { type Derivation, type Source, derive, fromTable, numberIn } from '../../derivation/index.js';
import { wordIn } from '../../model/stated-facts.js';
import { isBreaker, isFuse } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import {
  type TableHead,
  type TableRow,
  bandAt,
  iecBreakerEnergy,
  iecFuseConventional,
  iecFuseMelting,
  iecFuseOperating,
  sourceOf,
  ulBreakers,
  ulCurrentLimiting,
  ulFuseOpening,
  ulLetThrough,
  ulThermalBreakers,
} from '../../reference/index.js';
import { classOf, deviceFact } from '../conductors/device-class.js';

/** What the standard of a device's class says it does at a fault current, at the least. */
export type ClassBound =
  /** It lets through no more than this I²t (A²s); from this current on. */
  | { readonly kind: 'energy'; readonly energy: Derivation; readonly from: Derivation }
  /** It opens, but only as an overload does: within this time at 200 % of its rating. `atLeast` is what the class allows it where it limits. */
  | { readonly kind: 'overload'; readonly time: Derivation; readonly from: Derivation; readonly atLeast?: Derivation }
  /** Too little: it may stay closed for ever, or for as long as its standard allows at 135 %; from `from` on it opens for certain. */
  | { readonly kind: 'closed'; readonly time?: Derivation; readonly from: Derivation };

/** The standard class whose bounds count for a device, by its class. */
export const boundsOf = (device: Instance): string | undefined => {
  const part = classOf(device);
  return part && wordIn(part.properties, 'bounds');
};

/** Whether a standard bounds what the devices of a class do. */
export const isBounded = (device: Instance): boolean => boundsOf(device) !== undefined;

/** A bound of a class with its source, which says that it is no value of this device. */
const bounding = (
  name: string,
  value: number,
  unit: string,
  source: Source,
  isDirect: boolean,
  inputs: readonly Derivation[],
): Derivation => ({
  ...fromTable(name, value, unit, source, { symbol: unit === 's' ? 't' : 'I²t', inputs }),
  governing: [
    { kind: 'classBound', of: source.standard, ...(isDirect && unit !== 's' ? { onDirect: true as const } : {}) },
  ],
});

/** A multiple of the rating as a current. */
function times(name: string, multiple: number, rating: Derivation, source: Source): Derivation {
  return derive(name, multiple * numberIn(rating, 'A'), 'A', {
    symbol: 'I',
    formula: 'n·I_n',
    inputs: [fromTable('multiple of the rating', multiple, '', source, { symbol: 'n' }), rating],
  });
}

/** What a table of overload times bounds: from a multiple of the rating on a device opens within `seconds`. */
function openingOf(
  device: Instance,
  table: TableHead & { readonly certain: number; readonly overload?: number },
  row: (TableRow & { readonly seconds: number; readonly at135?: number }) | undefined,
  current: Derivation,
  rating: Derivation,
): ClassBound | undefined {
  if (!row) return undefined;
  const source = sourceOf(table, row);
  const from = times(`current that opens ${device.name} for certain`, table.certain, rating, source);
  const name = `longest time in which ${device.name} opens`;
  const amperes = numberIn(current, 'A') * (1 + 1e-9);
  if (amperes < numberIn(from, 'A')) {
    const opens = row.at135 !== undefined && table.overload && amperes >= table.overload * numberIn(rating, 'A');
    return {
      kind: 'closed',
      from,
      ...(opens ? { time: bounding(name, row.at135!, 's', source, false, [current]) } : {}),
    };
  }
  return { kind: 'overload', time: bounding(name, row.seconds, 's', source, false, [from]), from };
}

function fuseBound(
  device: Instance,
  word: string,
  current: Derivation,
  rating: Derivation,
  isDirect: boolean,
): ClassBound | undefined {
  const amperes = numberIn(current, 'A');
  const limiting = ulCurrentLimiting.rows.find((row) => row.class === word);
  const size = ulLetThrough.rows.find((row) => row.class === word && row.case >= numberIn(rating, 'A') * (1 - 1e-9));
  const limit = size && bandAt(size.limits, amperes);
  const energy =
    size && limit
      ? bounding(
          `let-through I²t of ${device.name}`,
          limit.energy,
          'A2s',
          { ...sourceOf(ulLetThrough, limit), standard: size.part },
          isDirect,
          [current, rating],
        )
      : undefined;
  if (limiting && energy) {
    const from = times(
      `current from which ${device.name} is taken to limit`,
      limiting.multiple,
      rating,
      sourceOf(ulCurrentLimiting, limiting),
    );
    if (amperes >= numberIn(from, 'A') * (1 - 1e-9)) return { kind: 'energy', from, energy };
  }
  if (word === 'full-range')
    return openingOf(
      device,
      iecFuseConventional,
      bandAt(iecFuseConventional.rows, numberIn(rating, 'A')),
      current,
      rating,
    );
  const row = bandAt(ulFuseOpening.rows, numberIn(rating, 'A'));
  const bound = openingOf(device, ulFuseOpening, row && { ...row, seconds: row.at200 }, current, rating);
  return bound?.kind === 'overload' && energy ? { ...bound, atLeast: energy } : bound;
}

function breakerBound(
  device: Instance,
  current: Derivation,
  rating: Derivation,
  isDirect: boolean,
): ClassBound | undefined {
  const source = sourceOf(ulBreakers);
  const multiple = ulBreakers.instantaneous * (isDirect ? ulBreakers.directCurrentFactor : 1);
  const from = times(`current that trips ${device.name} at once`, multiple, rating, source);
  const amperes = numberIn(current, 'A');
  const clearing = bandAt(ulBreakers.clearing, numberIn(rating, 'A'));
  if (clearing && amperes >= numberIn(from, 'A') * (1 - 1e-9)) {
    const time = fromTable('time to clear', clearing.seconds, 's', source, { symbol: 't' });
    return {
      kind: 'energy',
      from,
      energy: bounding(`let-through I²t of ${device.name}`, amperes ** 2 * clearing.seconds, 'A2s', source, false, [
        current,
        time,
      ]),
    };
  }
  const row = bandAt(ulBreakers.rows, numberIn(rating, 'A'));
  return openingOf(device, ulBreakers, row && { ...row, seconds: row.at200 }, current, rating);
}

/** What the class of a device bounds at a current; undefined where it is of no class whose standard does. */
export function classBoundAt(
  device: Instance,
  current: Derivation,
  rating: Derivation,
  isDirect: boolean,
): ClassBound | undefined {
  const word = boundsOf(device);
  if (word === undefined) return undefined;
  if (word === 'thermal') {
    const row = bandAt(ulThermalBreakers.rows, numberIn(rating, 'A'));
    return openingOf(device, ulThermalBreakers, row && { ...row, seconds: row.at200 }, current, rating);
  }
  return isBreaker(device)
    ? breakerBound(device, current, rating, isDirect)
    : fuseBound(device, word, current, rating, isDirect);
}

/** The current from which the class of a device opens it at once: from there on its let-through is bounded. */
export function classTripsFrom(device: Instance, rating: Derivation, isDirect: boolean): Derivation | undefined {
  // Beyond all thresholds, and within what the largest fuses are tested with, the bound tells from where on it holds.
  const beyond = derive('any large current', 50 * numberIn(rating, 'A'), 'A');
  const bound = classBoundAt(device, beyond, rating, isDirect);
  return bound?.kind === 'energy' ? bound.from : undefined;
}

const general = (device: Instance): boolean => {
  const part = classOf(device);
  return isFuse(device) && part !== undefined && wordIn(part.properties, 'speed') === 'general';
};

/** Most that a breaker with a trip curve lets through above its magnetic trip: one half-wave, or what its energy-limiting class allows. */
function miniatureEnergy(
  device: Instance,
  name: string,
  current: Derivation,
  rating: Derivation,
  isDirect: boolean,
): Derivation | undefined {
  const curve = wordIn(device.properties, 'curve');
  if (isDirect || curve === undefined) return undefined;
  const amperes = numberIn(current, 'A');
  const wave = amperes ** 2 * iecBreakerEnergy.halfWave;
  const [marked, breaks] = [deviceFact(device, 'energyClass'), deviceFact(device, 'interruptRating')];
  const row =
    marked &&
    breaks &&
    iecBreakerEnergy.rows.find(
      (each) =>
        each.class === numberIn(marked, '') &&
        each.upTo >= numberIn(rating, 'A') * (1 - 1e-9) &&
        each.breaking >= numberIn(breaks, 'A') * (1 - 1e-9),
    );
  const most = row && amperes <= row.breaking * (1 + 1e-9) && (curve === 'B' || curve === 'C') ? row[curve] : Infinity;
  return bounding(name, Math.min(wave, most), 'A2s', sourceOf(iecBreakerEnergy, most < wave ? row : undefined), false, [
    current,
    rating,
    ...(marked && most < wave ? [marked] : []),
  ]);
}

/** Class of a breaker that limits energy well enough to protect whatever its rating does (EN 60898-1). */
const LIMITING = 3;

/** Whether a breaker is tested with conductors of its rating, or limits energy: then it protects those that it protects against overload. */
export function protectsItsConductors(device: Instance): boolean {
  const marked = deviceFact(device, 'energyClass');
  return (
    isBreaker(device) &&
    (boundsOf(device) === 'moulded-case' || (marked !== undefined && numberIn(marked, '') === LIMITING))
  );
}

/** Whether a fuse is of a class that limits current: what bounds it holds for the largest rating of its case, and its own lets through less. */
export const isLimitingFuse = (device: Instance): boolean =>
  isFuse(device) && ulLetThrough.rows.some((row) => row.class === boundsOf(device));

/** Largest I²t that a device lets through where it is faster than the fastest point (A, s) of its curve, by the standard of its sort. */
export function fastestEnergy(
  device: Instance,
  current: Derivation,
  rating: Derivation,
  fastest: { readonly amperes: number; readonly seconds: number },
  isDirect: boolean,
): Derivation | undefined {
  const name = `let-through I²t of ${device.name}`;
  if (isBreaker(device)) return miniatureEnergy(device, name, current, rating, isDirect);
  const melting = fastest.amperes ** 2 * fastest.seconds;
  if (general(device)) {
    const amperes = numberIn(rating, 'A');
    const operating = iecFuseOperating.rows.find((row) => row.rating === amperes);
    const least = iecFuseMelting.rows.find((row) => row.rating === amperes);
    const smallest = amperes <= iecFuseOperating.rows[0]!.rating ? iecFuseOperating.smallest : undefined;
    const most = operating?.most ?? smallest;
    if (most === undefined) return undefined;
    return bounding(
      name,
      Math.max(most, least?.most ?? 0, melting, smallest ?? 0),
      'A2s',
      sourceOf(iecFuseOperating),
      isDirect,
      [current, rating],
    );
  }
  // The I²t at which a fuse melts does not grow with the current; from a tenth of a second down its arc may add as much again.
  return fastest.seconds < SLOW_ENOUGH
    ? undefined
    : bounding(name, melting, 'A2s', MELTING, false, [
        current,
        derive('current of the fastest point of its curve', fastest.amperes, 'A', { symbol: 'I' }),
        derive('time of it', fastest.seconds, 's', { symbol: 't' }),
      ]);
}

/** s: where a fuse still takes so long to melt, its arc counts for little. Common practice, no source. */
const SLOW_ENOUGH = 0.1;
const MELTING: Source = {
  standard: 'fuses melt at an I²t that does not grow with the current',
  provenance: 'common practice, no source',
};
