import { type JointRule, brokenBy, candidates, largestDevice, sizeOf } from '../checks/conductors/sizing.js';
import { highestDirectVoltage, isMissing, sufficientClasses } from '../checks/conductors/device-ratings.js';
import { bankFaultAt } from '../checks/conductors/faults.js';
import { leastRating } from '../checks/conductors/protection-need.js';
import { type Derivation, numberIn } from '../derivation/index.js';
import { capabilitiesOf, none } from '../equipment/index.js';
import { type DesignContext, query } from '../model/context.js';
import type { Instance, Part, Run } from '../model/types.js';
import { ampacityAt, voltageDropAt } from '../quantities/conductors/conductor.js';
import type { ConductorSize } from '../quantity/index.js';
import { ratingsUnder } from '../reference/index.js';
import { dependentsOf, othersAllow } from './conductors/other-ratings.js';

/*
 * What may be written for a value, with what each choice leaves of its limits: for lists in an editor. The same rules judge that propose
 * changes; nothing here is tried on the whole design.
 */

/** Where a size, rating or class stands against the rules that are known for it. */
export type Standing = 'fits' | 'breaks' | 'unknown';

/** A conductor size for a run. */
export interface SizeChoice {
  readonly size: ConductorSize;
  /** What it carries there, A; absent where facts lack. */
  readonly ampacity?: Derivation;
  /** The share of the voltage it loses, a ratio; absent where facts lack. */
  readonly drop?: Derivation;
  readonly standing: Standing;
  /** The rules of conductors and devices that it breaks, worst first. */
  readonly broken: readonly JointRule[];
}

/** Sizes beyond the smallest that fits for which drop and heat are worked out too. */
const BEYOND = 6;

const SIZES = query<Run, readonly SizeChoice[]>('sizes that a run could have');

/** The sizes of a run's series, smallest first, each with what it carries and loses. */
export const sizeChoices = (run: Run, context: DesignContext): readonly SizeChoice[] =>
  context.kept(SIZES, run, () => findSizes(run, context));

function findSizes(run: Run, context: DesignContext): readonly SizeChoice[] {
  const current = context.quantity(run, 'current');
  let fitting = 0;
  return candidates(run, context).map((size): SizeChoice => {
    const area = sizeOf(size.area);
    const ampacity = ampacityAt(run, area, context);
    const drop = voltageDropAt(run, area, context);
    const share = drop.kind === 'known' ? drop.derivation.parts['ratio'] : undefined;
    const facts = {
      size,
      ...(ampacity.kind === 'known' ? { ampacity: ampacity.derivation } : {}),
      ...(share ? { drop: share } : {}),
    };
    if (ampacity.kind !== 'known' || current.kind !== 'known') return { ...facts, standing: 'unknown', broken: [] };
    // Far beyond what is enough, a conductor breaks nothing that a smaller one does not.
    if (fitting >= BEYOND) return { ...facts, standing: 'fits', broken: [] };
    const broken = [...brokenBy(run, { size: area, ratings: NO_RATINGS, added: 0 }, context)];
    if (broken.length === 0) fitting += 1;
    return { ...facts, standing: broken.length === 0 ? 'fits' : 'breaks', broken };
  });
}

const NO_RATINGS: ReadonlyMap<Instance, number> = new Map();

/** A device as it is being written: its kind and class, and the placed thing where the design has it already. */
export interface WrittenDevice {
  readonly kind: string;
  /** The name of its class, as far as it is written. */
  readonly className?: string;
  readonly placed?: Instance;
}

/** A standard rating for a device. */
export interface RatingChoice {
  /** A. */
  readonly rating: number;
  /** The most that its runs ask of it, A; absent where facts lack or nothing is wired to it. */
  readonly least?: Derivation;
  /** The largest device that its conductors may have, A; absent where facts lack. */
  readonly most?: Derivation;
  readonly standing: Standing;
}

/** The standard ratings of a device's class, smallest first, each with the limits it has to keep. */
export function ratingChoices(written: WrittenDevice, context: DesignContext): readonly RatingChoice[] {
  const sort = sortOfKind(written.kind);
  if (!sort) return [];
  const part = written.className === undefined ? undefined : classNamed(written.className, context);
  const made = part?.properties.get('ratings')?.value;
  const isMade = (rating: number): boolean =>
    made?.type !== 'quantity' || (rating >= made.quantity.low - 1e-9 && rating <= made.quantity.high + 1e-9);
  const ratings = ratingsUnder(context.system.basis, sort).filter(isMade);
  const { placed } = written;
  if (!placed || sortOfKind(placed.kind) !== sort) return ratings.map((rating) => ({ rating, standing: 'unknown' }));
  const runs = dependentsOf(placed, context).standing;
  const needs = runs.map((run) => leastRating(run, placed, context));
  const least = largestOf(needs.flatMap((need) => (need.kind === 'known' ? [need.derivation] : [])));
  const limits = runs.map((run) => limitOf(run, context));
  const most = smallestOf(limits.flatMap((limit) => limit ?? []));
  const isKnown = runs.length > 0 && needs.every(({ kind }) => kind === 'known') && limits.every(Boolean);
  return ratings.map((rating): RatingChoice => {
    const facts = { rating, ...(least ? { least } : {}), ...(most ? { most } : {}) };
    const isBroken =
      (least !== undefined && rating < numberIn(least, 'A') * (1 - 1e-9)) ||
      (most !== undefined && rating > numberIn(most, 'A') * (1 + 1e-9));
    if (isBroken) return { ...facts, standing: 'breaks' };
    if (!isKnown) return { ...facts, standing: 'unknown' };
    return { ...facts, standing: runs.every((run) => isBorne(run, placed, rating, context)) ? 'fits' : 'breaks' };
  });
}

/** Whether the conductors of a run, and the other runs of a device, bear a rating of it. */
function isBorne(run: Run, device: Instance, rating: number, context: DesignContext): boolean {
  const size = context.maybe(run, 'size');
  if (!size) return false;
  const setup = { size, ratings: new Map([[device, rating]]), added: 0 };
  for (const rule of brokenBy(run, setup, context)) if (ON_DEVICES.has(rule)) return false;
  return othersAllow(run, device, rating, context);
}

/** The rules that the rating of a device decides. */
const ON_DEVICES: ReadonlySet<JointRule> = new Set([
  'run-protection',
  'protection-coordination',
  'protection-continuous',
  'short-circuit-withstand',
]);

function limitOf(run: Run, context: DesignContext): Derivation | undefined {
  const size = context.maybe(run, 'size');
  const ampacity = size && ampacityAt(run, size, context);
  if (!size || ampacity?.kind !== 'known') return undefined;
  const largest = largestDevice(run, ampacity.derivation, size, context);
  return largest.kind === 'known' ? largest.derivation : undefined;
}

const largestOf = (all: readonly Derivation[]): Derivation | undefined =>
  all.reduce<Derivation | undefined>(
    (most, each) => (!most || numberIn(each, 'A') > numberIn(most, 'A') ? each : most),
    undefined,
  );
const smallestOf = (all: readonly Derivation[]): Derivation | undefined =>
  all.reduce<Derivation | undefined>(
    (least, each) => (!least || numberIn(each, 'A') < numberIn(least, 'A') ? each : least),
    undefined,
  );

/** A class for a device. */
export interface ClassChoice {
  readonly part: Part;
  readonly standing: Standing;
}

/**
 * The classes of devices of a kind, those first that stand the voltage and interrupt the fault where the device is wired, then those used
 * under the practice of the design.
 */
export function classChoices(written: WrittenDevice, context: DesignContext): readonly ClassChoice[] {
  const sort = sortOfKind(written.kind);
  const classes = context.parts('deviceClass').filter((part) => !sort || isOfSort(part, sort));
  const sufficient = written.placed && sufficientFor(written.placed, context);
  const isUsual = (part: Part): boolean => {
    const practices = part.properties.get('basis')?.value;
    return practices?.type !== 'words' || practices.words.includes(context.system.basis.practice);
  };
  const standing = (part: Part): Standing =>
    !sufficient ? 'unknown' : sufficient.some(({ name }) => name === part.name) ? 'fits' : 'breaks';
  const rank = (part: Part): number => {
    const place = sufficient?.findIndex(({ name }) => name === part.name) ?? -1;
    return place >= 0 ? place : isUsual(part) ? classes.length : 2 * classes.length;
  };
  return [...classes]
    .sort((left, right) => rank(left) - rank(right))
    .map((part) => ({ part, standing: standing(part) }));
}

/** The classes that do where a device is wired on direct current; undefined where that cannot be told. */
function sufficientFor(device: Instance, context: DesignContext): readonly Part[] | undefined {
  const runs = dependentsOf(device, context).standing;
  if (runs.length === 0 || runs.some(({ carries }) => carries !== 'dc')) return undefined;
  const highest = highestDirectVoltage(device, context);
  const fault = bankFaultAt(device, context)?.result;
  if (isMissing(highest) || highest.lacking.length > 0 || (fault && fault.kind !== 'known')) return undefined;
  return sufficientClasses(
    device,
    numberIn(highest.voltage, 'V'),
    fault ? numberIn(fault.derivation, 'A') : 0,
    context,
  );
}

const classNamed = (name: string, context: DesignContext): Part | undefined =>
  context.parts('deviceClass').find((part) => part.name === name);

function isOfSort(part: Part, sort: 'fuse' | 'breaker'): boolean {
  const value = part.properties.get('device')?.value;
  return value?.type === 'word' && value.word === sort;
}

/** The word by which classes call the devices of a kind; undefined for what is no device. */
export function sortOfKind(kind: string): 'fuse' | 'breaker' | undefined {
  const { conducts } = capabilitiesOf(kind);
  if (conducts === none || conducts.as !== 'device') return undefined;
  return conducts.opensBy === 'melting' ? 'fuse' : 'breaker';
}
