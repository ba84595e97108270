import { type Result, numberIn } from '../derivation/index.js';
import { type PropertyDefinition, type Seeking, propertyOf } from '../equipment/index.js';
import type { Expression } from '../grammar/generated/ast.js';
import type { DesignContext } from '../model/context.js';
import { isDevice } from '../model/roles.js';
import { textOf } from '../model/lower/place.js';
import type { Instance, Part, Run } from '../model/types.js';
import { METRIC_SERIES, type Quantity, quantity, sameSize } from '../quantity/index.js';
import { ratingsUnder } from '../reference/index.js';
import { sortOf } from '../checks/conductors/device-ratings.js';
import { candidates } from '../checks/conductors/sizing.js';
import { ratingsOf } from '../propose/conductors/other-ratings.js';
import type { OpenValue } from './open-values.js';

/** The values that may stand in a hole, as texts. */
export interface Domain {
  /** Best first, whatever the checks say of them. */
  readonly values: readonly string[];
  readonly best: Seeking['best'];
  /** Whether each value is more than the one before it, or each less: then checks are expected to follow the order. */
  readonly isOrdered: boolean;
  /** From small to large where `best` is the middle. */
  readonly ascending?: readonly string[];
}

/** Why a hole has no values to be tried, as a question to whoever wrote it. */
export interface Unsought {
  readonly ask: string;
}

/** Values tried for one hole at most; finer steps than that are made coarser. */
const MOST_VALUES = 200;

/** Steps of a quantity whose definition names none, by its unit. Common practice, no source. */
const STEPS: Readonly<Record<string, number>> = {
  A: 1,
  V: 0.1,
  '%': 5,
  deg: 5,
  m: 0.5,
  mm: 10,
  kW: 0.5,
  W: 100,
  h: 0.5,
  min: 5,
};

/** What a rule compares signals with: unit, and what is tried where no range says it. Common practice, no source. */
const LIMITS: Readonly<Record<string, { readonly unit: string; readonly steps?: Extract<Seeking['among'], object> }>> =
  {
    soc: { unit: '%', steps: { step: 5, from: 5, to: 95 } },
    voltage: { unit: 'V' },
    current: { unit: 'A' },
    power: { unit: 'W' },
  };

export interface Surroundings {
  readonly context: DesignContext;
  readonly evaluate: (node: Expression) => Result;
}

/** The values that are tried for a hole, or what has to be said before any can be. */
export function domainOf(open: OpenValue, around: Surroundings): Domain | Unsought {
  const { of } = open;
  switch (of.kind) {
    case 'other':
      return { ask: of.why };
    case 'limit': {
      const limit = LIMITS[of.signal];
      if (!limit) return { ask: `what ${of.signal} is compared with has to be stated` };
      return stepped(open, { best: 'middle', among: limit.steps ?? 'ratings' }, limit.unit, undefined, around);
    }
    case 'part': {
      const thing = around.context.instance(of.thing);
      return thing
        ? partsFor(open, [thing.kind], undefined, around)
        : { ask: `${of.thing} is no thing of this design` };
    }
    case 'property': {
      const thing =
        around.context.instance(of.thing) ?? around.context.system.runs.find(({ name }) => name === of.thing);
      const definition = thing && propertyOf(thing.kind, of.property);
      if (!thing || !definition) return { ask: `${of.thing} has no property ${of.property} that could be found` };
      return propertyDomain(open, thing, definition, around);
    }
  }
}

function propertyDomain(
  open: OpenValue,
  thing: Instance | Run,
  definition: PropertyDefinition,
  around: Surroundings,
): Domain | Unsought {
  const { type, seek, name } = definition;
  if (type.type === 'part') return partsFor(open, type.kinds, thing.kind === 'run' ? undefined : thing, around);
  if (type.type !== 'quantity') return { ask: `state ${name} of ${thing.name}: only somebody who looks can tell` };
  if (seek?.among === 'sizes')
    return thing.kind === 'run' ? sizes(open, thing, around) : { ask: `state ${name} of ${thing.name}` };
  if (seek?.among === 'ratings') return ratings(open, thing, around);
  return stepped(open, seek, type.unit, { thing, definition }, around);
}

interface Range {
  readonly low: Quantity;
  readonly high: Quantity;
}

/** The range that narrows a hole; undefined where there is none, `wrong` where its ends cannot be worked out. */
function rangeOf({ node: { from, to } }: OpenValue, { evaluate }: Surroundings): Range | 'wrong' | undefined {
  if (!from || !to) return undefined;
  const [low, high] = [from, to].map((end) => {
    const result = evaluate(end);
    return result.kind === 'known' && typeof result.derivation.value === 'object' ? result.derivation.value : undefined;
  });
  return low && high && low.dimension === high.dimension && low.low <= high.high ? { low, high } : 'wrong';
}

const WRONG_RANGE: Unsought = { ask: 'give the range of `?` as two values of its kind, the lower one first' };
const EMPTY_RANGE: Unsought = { ask: 'widen the range of `?`: no standard value lies in it' };

const isIn = (si: number, range: Range | undefined): boolean =>
  !range || (si >= range.low.low * (1 - 1e-6) - 1e-12 && si <= range.high.high * (1 + 1e-6) + 1e-12);

const orEmpty = (domain: Domain): Domain | Unsought => (domain.values.length > 0 ? domain : EMPTY_RANGE);

function sizes(open: OpenValue, run: Run, around: Surroundings): Domain | Unsought {
  const range = rangeOf(open, around);
  if (range === 'wrong') return WRONG_RANGE;
  const { context } = around;
  const written = open.node.from ? textOf(open.node.from) : '';
  const isMetric = written ? /mm2|mm²/.test(written) : isMetricDesign(context);
  const all = candidates(run, context, isMetric);
  return orEmpty({
    values: all.filter(({ area }) => isIn(area * 1e-6, range)).map(({ name }) => name),
    isOrdered: true,
    best: 'smallest',
  });
}

/** Whether the sizes of a design are metric: where all that it states are; by its practice where it states none. */
function isMetricDesign(context: DesignContext): boolean | undefined {
  const stated = context.system.runs.flatMap((run) => context.maybe(run, 'size') ?? []);
  const isMetric = (area: number): boolean => METRIC_SERIES.some((size) => sameSize(size.area, area));
  return stated.length === 0 ? undefined : stated.every((size) => isMetric(numberIn(size, 'mm2')));
}

function ratings(open: OpenValue, thing: Instance | Run, around: Surroundings): Domain | Unsought {
  const range = rangeOf(open, around);
  if (range === 'wrong') return WRONG_RANGE;
  const { context } = around;
  const all =
    thing.kind !== 'run' && isDevice(thing) ? ratingsOf(thing, context) : ratingsUnder(context.system.basis, 'fuse');
  return orEmpty({
    values: all.filter((each) => isIn(each, range)).map((each) => `${each} A`),
    isOrdered: true,
    best: 'smallest',
  });
}

/** Steps of a quantity within its range, or between the bounds of its definition. */
function stepped(
  open: OpenValue,
  seek: Seeking | undefined,
  usualUnit: string,
  owner: { readonly thing: Instance | Run; readonly definition: PropertyDefinition } | undefined,
  around: Surroundings,
): Domain | Unsought {
  const range = rangeOf(open, around);
  if (range === 'wrong') return WRONG_RANGE;
  const among = typeof seek?.among === 'object' ? seek.among : undefined;
  const unit = range?.low.unit?.symbol ?? usualUnit;
  const bounds = range ? inUnit(range, unit) : among && boundsOf(among, owner);
  if (!bounds) return { ask: `say between which values it is sought: \`? in A..B\`` };
  const isWhole = owner?.definition.type.type === 'quantity' && owner.definition.type.whole === true;
  const step = coarse(
    isWhole ? 1 : unit === usualUnit && among ? among.step : (STEPS[unit] ?? (bounds.high - bounds.low) / 20),
    bounds,
  );
  // Steps count from zero, so that round values are tried; the ends of a range belong to it.
  const first = Math.ceil(bounds.low / step - 1e-9);
  const last = Math.floor(bounds.high / step + 1e-9);
  const inner = Array.from({ length: Math.max(0, last - first + 1) }, (_, index) => rounded((first + index) * step));
  const ends = range && !isWhole ? [rounded(bounds.low), rounded(bounds.high)] : [];
  const numbers = [...new Set([...inner, ...ends])].sort((left, right) => left - right);
  return orEmpty(
    ordered(
      numbers.map((each) => textIn(each, unit)),
      seek?.best ?? (owner ? 'smallest' : 'middle'),
    ),
  );
}

const rounded = (value: number): number => Number(value.toPrecision(9));

const textIn = (value: number, unit: string): string => (unit === '' ? String(value) : `${value} ${unit}`);

function inUnit({ low, high }: Range, unit: string): { readonly low: number; readonly high: number } | undefined {
  if (unit === '') return { low: low.low, high: high.high };
  const one = quantity(1, unit).value;
  const zero = quantity(0, unit).value;
  return { low: (low.low - zero) / (one - zero), high: (high.high - zero) / (one - zero) };
}

function boundsOf(
  { from, to, upTo = [] }: Extract<Seeking['among'], object>,
  owner: { readonly thing: Instance | Run; readonly definition: PropertyDefinition } | undefined,
): { readonly low: number; readonly high: number } {
  if (!owner) return { low: from, high: to };
  const { thing, definition } = owner;
  const unit = definition.type.type === 'quantity' ? definition.type.unit : '';
  const ends = upTo.flatMap((name) => {
    const value = thing.properties.get(name)?.value;
    return value?.type === 'quantity' ? [value.quantity.low / quantity(1, unit).value] : [];
  });
  return { low: from, high: ends[0] ?? to };
}

/** A step that gives no more values than are tried: the next of 1, 2, 5, 10 … times as wide. */
function coarse(step: number, { low, high }: { readonly low: number; readonly high: number }): number {
  let wide = step > 0 ? step : 1;
  for (let turn = 0; (high - low) / wide > MOST_VALUES; turn += 1) wide *= turn % 3 === 1 ? 2.5 : 2;
  return wide;
}

/** Values from small to large, put in the order in which they are wanted. */
export function ordered(ascending: readonly string[], best: Seeking['best']): Domain {
  switch (best) {
    case 'smallest':
      return { values: ascending, isOrdered: true, best };
    case 'largest':
      return { values: [...ascending].reverse(), isOrdered: true, best };
    case 'middle': {
      const middle = (ascending.length - 1) / 2;
      const distance = (index: number): number => Math.abs(index - middle);
      const indices = ascending
        .map((_, index) => index)
        .sort((left, right) => distance(left) - distance(right) || left - right);
      return { values: indices.map((index) => ascending[index]!), isOrdered: false, best, ascending };
    }
  }
}

/** What parts of a kind are ranked by, the first that both state: a smaller one is tried first. */
const RANKED_BY = [
  'rated',
  'apparent',
  'maximumCurrent',
  'maximumPower',
  'power',
  'capacity',
  'rating',
  'dcVoltage',
  'acVoltage',
  'interruptRating',
];

/** Parts in reach: the project's own; the library's where there are none, or where they are asked for. */
function partsFor(
  { node: { source, isOpen } }: OpenValue,
  kinds: readonly string[],
  owner: Instance | undefined,
  { context }: Surroundings,
): Domain | Unsought {
  const all = kinds.flatMap((kind) => context.parts(kind)).filter((part) => fits(part, owner));
  const named =
    source === undefined || source === 'library'
      ? all
      : all.filter(({ name }) => (isOpen ? name.startsWith(source) : name === source));
  const own = named.filter(({ library }) => !library);
  const chosen =
    source === 'library'
      ? named.filter(({ library }) => library)
      : source !== undefined || own.length === 0
        ? named
        : own;
  if (chosen.length === 0)
    return {
      ask:
        source === undefined
          ? `no ${kinds.join(' or ')} is in reach`
          : `no ${kinds.join(' or ')} in reach is called ${source}${isOpen ? '…' : ''}`,
    };
  const sorted = [...chosen].sort((left, right) => byRating(left, right) || (left.name < right.name ? -1 : 1));
  return { values: [...new Set(sorted.map(({ name }) => name))], isOrdered: false, best: 'smallest' };
}

/** Whether a class is one of the sort of device that it is for. */
function fits(part: Part, owner: Instance | undefined): boolean {
  const sort = part.properties.get('device')?.value;
  return !owner || !isDevice(owner) || sort?.type !== 'word' || sort.word === sortOf(owner);
}

function byRating(left: Part, right: Part): number {
  for (const name of RANKED_BY) {
    const [one, two] = [left, right].map((part) => part.properties.get(name)?.value);
    if (one?.type !== 'quantity' || two?.type !== 'quantity') continue;
    const difference = one.quantity.value - two.quantity.value;
    if (Number.isFinite(difference) && difference !== 0) return difference;
  }
  return 0;
}
