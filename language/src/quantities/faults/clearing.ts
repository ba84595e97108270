import {
  type Derivation,
  type Result,
  derive,
  displayValue,
  fromTable,
  known,
  missing,
  numberIn,
  refused,
} from '../../derivation/index.js';
import type { Instance } from '../../model/types.js';
import { DIMENSIONS, raise } from '../../quantity/index.js';
import { iecBreakerTrip, iecFuseGates, iecFuseMelting, iecFuseTimes, sourceOf } from '../../reference/index.js';
import type { QuantityContext } from '../define.js';
import { fastestEnergy, isBounded } from './class-bounds.js';
import { type StatedTable, deviceTable, rowValue } from '../conductors/device-class.js';
import { wordIn } from '../../model/stated-facts.js';
import { isBreaker, isFuse } from '../../model/roles.js';

/** A point of a time-current curve: at this current the device has opened after this time at the latest. */
interface Point {
  readonly amperes: number;
  readonly seconds: number;
  readonly current: Derivation;
}

const speedOf = (device: Instance): string | undefined => {
  const value = device.properties.get('class')?.value;
  return value?.type === 'part' ? wordIn(value.part.properties, 'speed') : undefined;
};

const point = (amperes: number, seconds: number, current: Derivation): Point => ({ amperes, seconds, current });

/** Points of a general-purpose fuse of one rating: 5 s, 0.4 s and 10 ms (published) and 0.1 s (from memory). */
function fusePoints(rating: number): Point[] {
  const published = iecFuseTimes.rows.find((row) => row.rating === rating);
  const gate = iecFuseGates.rows.find((row) => row.rating === rating);
  const named = (amperes: number, seconds: number, table: typeof iecFuseTimes): Point =>
    point(
      amperes,
      seconds,
      fromTable(`current that opens a ${rating} A gG fuse in ${seconds} s`, amperes, 'A', sourceOf(table), {
        symbol: 'I_a',
      }),
    );
  const melting = meltingPoint(rating);
  const slowest = published
    ? [named(published.fiveSeconds, 5, iecFuseTimes)]
    : gate
      ? [named(gate.fiveSeconds, 5, iecFuseGates)]
      : [];
  return [
    ...slowest,
    ...(published?.fourTenths ? [named(published.fourTenths, 0.4, iecFuseTimes)] : []),
    ...(gate?.oneTenth ? [named(gate.oneTenth, 0.1, iecFuseGates)] : []),
    ...(melting ? [melting] : []),
  ];
}

/** s for which the pre-arcing I²t of gG fuses is given (IEC 60269-1 Table 7). */
const MELTING_TIME = 0.01;

/** The point of a general-purpose fuse at 10 ms, from the most I²t at which it melts. */
function meltingPoint(rating: number): Point | undefined {
  const row = iecFuseMelting.rows.find((each) => each.rating === rating);
  if (!row) return undefined;
  const amperes = Math.sqrt(row.most / MELTING_TIME);
  return point(
    amperes,
    MELTING_TIME,
    derive(`current that opens a ${rating} A gG fuse in ${MELTING_TIME * 1000} ms`, amperes, 'A', {
      symbol: 'I_a',
      formula: '√(I²t/10 ms)',
      inputs: [fromTable('pre-arcing I²t', row.most, 'A2s', sourceOf(iecFuseMelting, row), { symbol: 'I²t' })],
    }),
  );
}

/** The one point of a miniature breaker: the upper end of its magnetic trip, raised on direct current. */
function breakerPoint(rating: Derivation, curve: string, isDirect: boolean): Point | undefined {
  const row = iecBreakerTrip.rows.find((each) => each.curve === curve);
  if (!row) return undefined;
  const factor = row.trips * (isDirect ? iecBreakerTrip.directCurrentFactor : 1);
  const multiple = fromTable(
    `magnetic trip of curve ${curve}${isDirect ? ' on direct current' : ''}`,
    factor,
    '',
    isDirect ? { ...sourceOf(iecBreakerTrip), provenance: 'from memory' } : sourceOf(iecBreakerTrip),
    { symbol: 'n' },
  );
  const amperes = factor * numberIn(rating, 'A');
  return point(
    amperes,
    iecBreakerTrip.openingTime,
    derive('current that trips the breaker at once', amperes, 'A', {
      symbol: 'I_a',
      formula: 'n·I_n',
      inputs: [multiple, rating],
    }),
  );
}

/**
 * The points of a curve that a device or its class states, by multiples of the rating or by currents. Where a larger current is listed
 * with a longer time, the shorter time holds from the smaller current on.
 */
function statedPoints(table: StatedTable, rating: Derivation, device: Instance): Point[] {
  const listed = table.rows.map(({ key }, index) => {
    const isMultiple = key.dimension === DIMENSIONS.ratio;
    const amperes = isMultiple ? key.value * numberIn(rating, 'A') : key.value;
    const time = rowValue(`longest time in which ${device.name} opens`, table, index);
    const current = derive(`current that opens ${device.name} in ${displayValue(time)}`, amperes, 'A', {
      symbol: 'I_a',
      ...(isMultiple ? { formula: 'n·I_n' } : {}),
      inputs: isMultiple ? [derive('multiple of the rating', key.value, '', { symbol: 'n' }), rating, time] : [time],
    });
    return point(amperes, numberIn(time, 's'), current);
  });
  const rising = listed.filter(({ amperes }) => amperes > 0).sort((a, b) => a.amperes - b.amperes);
  const points: Point[] = [];
  for (const each of rising) if (each.seconds < (points.at(-1)?.seconds ?? Infinity)) points.push(each);
  return points;
}

/** The time-current points of a device, slowest first, as if it had another rating when one is given. */
function pointsOf(
  device: Instance,
  isDirect: boolean,
  context: QuantityContext,
  otherRating?: Derivation,
): { readonly ok: true; readonly points: readonly Point[] } | { readonly ok: false; readonly result: Result } {
  const stated = context.fact(device, 'rating');
  if (stated.kind !== 'known') return { ok: false, result: stated };
  const rating = otherRating ?? stated.derivation;
  const none = { ok: false as const, result: refused(`no time-current data for ${device.name}`) };
  const table = deviceTable(device, 'openingTimes');
  if (table) {
    const points = statedPoints(table, rating, device);
    return points.length > 0 ? { ok: true, points } : none;
  }
  if (isBreaker(device)) {
    const curve = wordIn(device.properties, 'curve');
    if (curve === undefined)
      return context.system.basis.practice === 'iec' ? { ok: false, result: missing(`curve of ${device.name}`) } : none;
    const found = breakerPoint(rating, curve, isDirect);
    return found ? { ok: true, points: [found] } : none;
  }
  if (!isFuse(device) || speedOf(device) !== 'general') return none;
  const points = fusePoints(numberIn(rating, 'A'));
  return points.length > 0 ? { ok: true, points } : none;
}

/** Whether time-current data exist for a device, or would if it stated its curve; the bounds of its class are none. */
export function hasCurve(device: Instance, context: QuantityContext): boolean {
  if (deviceTable(device, 'openingTimes')) return true;
  if (isBreaker(device))
    return (
      wordIn(device.properties, 'curve') !== undefined ||
      (context.system.basis.practice === 'iec' && !isBounded(device))
    );
  return isFuse(device) && speedOf(device) === 'general';
}

/** Current that opens a device within a time (s) at the latest, from its published curve; refused where there are no data. */
export function tripCurrent(
  device: Instance,
  seconds: number,
  isDirect: boolean,
  context: QuantityContext,
  rating?: Derivation,
): Result {
  const curve = pointsOf(device, isDirect, context, rating);
  if (!curve.ok) return curve.result;
  const { points } = curve;
  const index = points.findIndex((each) => each.seconds <= seconds + 1e-9);
  const [slow, fast] = [points[index - 1], points[index]];
  if (!fast) return refused(`no time-current data for ${device.name} at ${seconds} s`);
  if (!slow || fast.seconds >= seconds - 1e-9) return known(fast.current);
  const share = Math.log(seconds / slow.seconds) / Math.log(fast.seconds / slow.seconds);
  return known(
    derive(
      `current that opens ${device.name} in ${seconds} s`,
      slow.amperes * raise(fast.amperes / slow.amperes, share),
      'A',
      {
        symbol: 'I_a',
        inputs: [slow.current, fast.current],
        notes: ['between two points of its curve, on a straight line in logarithms'],
      },
    ),
  );
}

/** What a device does at a fault current. */
export type Clearing =
  /** It has opened after this time at the latest, between the points of its curve on straight lines in logarithms. */
  | { readonly kind: 'time'; readonly time: Derivation }
  /** Faster than the fastest point of its curve: its let-through I²t counts, of which its standard may know the most. */
  | { readonly kind: 'instant'; readonly time: Derivation; readonly most?: Derivation }
  /** Slower than the slowest point of its curve. */
  | { readonly kind: 'slow' }
  | { readonly kind: 'open'; readonly result: Result };

export function clearingAt(
  device: Instance,
  current: Derivation,
  isDirect: boolean,
  context: QuantityContext,
  rating?: Derivation,
): Clearing {
  const curve = pointsOf(device, isDirect, context, rating);
  if (!curve.ok) return { kind: 'open', result: curve.result };
  const { points } = curve;
  const amperes = numberIn(current, 'A');
  const fastest = points.at(-1)!;
  const timed = (seconds: number, inputs: readonly Derivation[]): Derivation =>
    derive(`time in which ${device.name} opens`, seconds, 's', { symbol: 't', inputs: [current, ...inputs] });
  if (amperes >= fastest.amperes) {
    const rated = rating ?? context.maybe(device, 'rating');
    const most = rated && fastestEnergy(device, current, rated, fastest, isDirect);
    return { kind: 'instant', time: timed(fastest.seconds, [fastest.current]), ...(most ? { most } : {}) };
  }
  const after = points.findIndex((each) => each.amperes > amperes);
  const [slow, fast] = [points[after - 1], points[after]];
  if (!slow || !fast) return { kind: 'slow' };
  const share = Math.log(amperes / slow.amperes) / Math.log(fast.amperes / slow.amperes);
  const seconds = slow.seconds * raise(fast.seconds / slow.seconds, share);
  return { kind: 'time', time: timed(seconds, [slow.current, fast.current]) };
}

/**
 * Total I²t that a device lets through at a prospective current, where it or its class states it: the row of the next larger current.
 * Undefined where nothing is stated, refused above the largest current listed.
 */
export function letThroughAt(device: Instance, current: Derivation): Result | undefined {
  const table = deviceTable(device, 'letThrough');
  if (!table) return undefined;
  const amperes = numberIn(current, 'A');
  const rows = table.rows
    .map(({ key }, index) => ({ amperes: key.value, index }))
    .sort((a, b) => a.amperes - b.amperes);
  const row = rows.find((each) => each.amperes >= amperes * (1 - 1e-9));
  if (!row) return refused(`let-through of ${device.name} is not stated up to ${displayValue(current)}`);
  const value = rowValue(`let-through I²t of ${device.name}`, table, row.index);
  return known({ ...value, symbol: 'I²t', inputs: [current] });
}
