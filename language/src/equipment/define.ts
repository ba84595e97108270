import type { DimensionName } from '../quantity/index.js';
import type { Capabilities } from './capabilities.js';
import { type Carries, isMet, type OnlyIf, type StatedFacts, type Terminal } from './terminal.js';

/** A word a property may have, with what it means. */
export interface AllowedWord {
  readonly word: string;
  readonly doc: string;
}

export type PropertyType =
  | {
      readonly type: 'quantity';
      readonly dimensions: readonly DimensionName[];
      /** The unit of `minimum` and `maximum`, and the one completion offers first; '' for plain numbers. Bounds of ratios are plain numbers. */
      readonly unit: string;
      readonly minimum?: number;
      readonly maximum?: number;
      readonly whole?: boolean;
      /** Whether zero is no value. */
      readonly aboveZero?: boolean;
      /** Whether a range makes sense here; `false` refuses one. */
      readonly ranges?: boolean;
      /** Active power is written in W, apparent power in VA. */
      readonly flavour?: 'active' | 'apparent';
    }
  | { readonly type: 'word'; readonly words: readonly AllowedWord[] }
  | { readonly type: 'words'; readonly words: readonly AllowedWord[] }
  | { readonly type: 'flag' }
  | { readonly type: 'text' }
  | {
      readonly type: 'date';
      /** First and last day that make sense, as `YYYY-MM-DD`. */
      readonly first?: string;
      readonly last?: string;
    }
  | { readonly type: 'money' }
  | { readonly type: 'system' }
  | { readonly type: 'part'; readonly kinds: readonly string[] }
  | {
      readonly type: 'table';
      readonly key: readonly DimensionName[];
      readonly value: readonly DimensionName[];
      readonly keyUnit: string;
      readonly valueUnit: string;
    }
  | {
      /** A quantity for each of some supplies of the design: `{ Post30: 24 A, Garage: 12 A }`. */
      readonly type: 'bySupply';
      readonly dimensions: readonly DimensionName[];
      readonly unit: string;
      readonly minimum?: number;
    }
  | { readonly type: 'profile' }
  | { readonly type: 'quiet' };

/** How a value is found where a design leaves it open (`?`). */
export interface Seeking {
  /** Which of the values that hold is best: the smallest, the largest, or the one nearest their middle. */
  readonly best: 'smallest' | 'largest' | 'middle';
  /** What is tried: standard sizes or ratings of the practice, or steps in the unit of the property. */
  readonly among:
    | 'sizes'
    | 'ratings'
    | {
        readonly step: number;
        readonly from: number;
        readonly to: number;
        /** Properties of the same thing of which the first that is stated ends the steps in place of `to`. */
        readonly upTo?: readonly string[];
      };
}

export interface PropertyDefinition<N extends string = string> {
  readonly name: N;
  readonly type: PropertyType;
  /** One sentence for hovers and the reference page. */
  readonly doc: string;
  /** What the trade takes when nothing is stated: the value as it would be written, and where that comes from. It shows as a default wherever it counts. */
  readonly default?: { readonly text: string; readonly note: string };
  /** How it is found where it is left open; absent for facts that only somebody who looks can tell. */
  readonly seek?: Seeking;
}

export interface KindDefinition {
  readonly kind: string;
  readonly group:
    'source' | 'converter' | 'storage' | 'gear' | 'load' | 'catalogue' | 'connection' | 'control' | 'design';
  readonly doc: string;
  readonly properties: readonly PropertyDefinition[];
}

/** A kind of thing that is placed in a design. */
export interface DeviceDefinition<K extends string = string> extends KindDefinition {
  readonly kind: K;
  /** Its terminals in order, which may depend on what it states (a pass-through inverter has an input). */
  readonly terminals: (facts: StatedFacts) => readonly Terminal[];
  readonly capabilities: Capabilities;
}

/** One terminal as a kind declares it; `carries` may hang on what the thing says. */
interface TerminalShape<P extends string> {
  readonly carries: Carries | { readonly word: P };
  readonly direction: Terminal['direction'];
  readonly if?: OnlyIf<P>;
}

/**
 * Declares a kind: its facts, its terminals, and what it can do. A capability that is not answered, a misspelt property and a terminal
 * that it does not have do not compile.
 */
export function defineDevice<
  const K extends string,
  const D extends readonly PropertyDefinition[],
  const T extends string,
>(declared: {
  readonly kind: K;
  readonly group: 'source' | 'converter' | 'storage' | 'gear' | 'load';
  readonly doc: string;
  readonly properties: D;
  readonly terminals: Readonly<Record<T, TerminalShape<NoInfer<D>[number]['name']>>>;
  readonly capabilities: Capabilities<NoInfer<D>[number]['name'], NoInfer<T>>;
}): {
  readonly kind: K;
  readonly group: KindDefinition['group'];
  readonly doc: string;
  readonly properties: D;
  readonly terminals: DeviceDefinition['terminals'];
  readonly capabilities: Capabilities;
} {
  const shapes = Object.entries<TerminalShape<string>>(declared.terminals);
  return {
    ...declared,
    terminals: (facts) =>
      shapes.flatMap(([name, { carries, direction, if: condition }]) =>
        isMet(condition, facts)
          ? [{ name, carries: typeof carries === 'string' ? carries : carriedBy(facts.word(carries.word)), direction }]
          : [],
      ),
  };
}

/** What holds of a thing of a kind that states nothing: the documented defaults. */
export const defaultFacts = (properties: readonly PropertyDefinition[]): StatedFacts => {
  const written = new Map(properties.flatMap(({ name, default: usual }) => (usual ? [[name, usual.text]] : [])));
  return {
    has: (name) => written.has(name),
    word: (name) => written.get(name),
    flag: (name) => (written.has(name) ? written.get(name) === 'yes' : undefined),
  };
};

const carriedBy = (word: string | undefined): Carries => (word === 'ac' || word === 'dc' ? word : 'any');

type Limits = {
  minimum?: number;
  maximum?: number;
  whole?: boolean;
  aboveZero?: boolean;
  ranges?: boolean;
  flavour?: 'active' | 'apparent';
  default?: string;
  note?: string;
  seek?: Seeking;
};

const define = <const N extends string>(
  name: N,
  type: PropertyType,
  doc: string,
  limits: Pick<Limits, 'default' | 'note' | 'seek'> = {},
): PropertyDefinition<N> => ({
  name,
  type,
  doc,
  ...(limits.seek ? { seek: limits.seek } : {}),
  ...(limits.default !== undefined
    ? { default: { text: limits.default, note: limits.note ?? 'common practice, no source' } }
    : {}),
});

/** A property that takes a quantity. */
export function quantityOf<const N extends string>(
  name: N,
  dimension: DimensionName | readonly DimensionName[],
  unit: string,
  doc: string,
  limits: Limits = {},
): PropertyDefinition<N> {
  const { default: _default, note: _note, seek: _seek, ...bounds } = limits;
  return define(
    name,
    { type: 'quantity', dimensions: typeof dimension === 'string' ? [dimension] : dimension, unit, ...bounds },
    doc,
    limits,
  );
}

/** A property that takes one of a few words, given as `word: meaning`. */
export function wordOf<const N extends string>(
  name: N,
  words: Readonly<Record<string, string>>,
  doc: string,
  limits: Pick<Limits, 'default' | 'note'> = {},
): PropertyDefinition<N> {
  return define(
    name,
    { type: 'word', words: Object.entries(words).map(([word, meaning]) => ({ word, doc: meaning })) },
    doc,
    limits,
  );
}

export function wordsOf<const N extends string>(
  name: N,
  words: Readonly<Record<string, string>>,
  doc: string,
): PropertyDefinition<N> {
  return define(
    name,
    { type: 'words', words: Object.entries(words).map(([word, meaning]) => ({ word, doc: meaning })) },
    doc,
  );
}

export const flagOf = <const N extends string>(
  name: N,
  doc: string,
  limits: Pick<Limits, 'default' | 'note'> = {},
): PropertyDefinition<N> => define(name, { type: 'flag' }, doc, limits);
export const textOf = <const N extends string>(name: N, doc: string): PropertyDefinition<N> =>
  define(name, { type: 'text' }, doc);
export const systemOf = <const N extends string>(
  name: N,
  doc: string,
  limits: Pick<Limits, 'default' | 'note'> = {},
): PropertyDefinition<N> => define(name, { type: 'system' }, doc, limits);
export const partOf = <const N extends string>(
  name: N,
  kinds: readonly string[],
  doc: string,
  limits: Pick<Limits, 'default' | 'note'> = {},
): PropertyDefinition<N> => define(name, { type: 'part', kinds }, doc, limits);
export const tableOf = <const N extends string>(
  name: N,
  key: DimensionName | readonly DimensionName[],
  keyUnit: string,
  value: DimensionName | readonly DimensionName[],
  valueUnit: string,
  doc: string,
): PropertyDefinition<N> =>
  define(
    name,
    {
      type: 'table',
      key: typeof key === 'string' ? [key] : key,
      value: typeof value === 'string' ? [value] : value,
      keyUnit,
      valueUnit,
    },
    doc,
  );
/** A property that takes a quantity for each of some supplies. */
export const bySupplyOf = <const N extends string>(
  name: N,
  dimension: DimensionName,
  unit: string,
  doc: string,
  limits: Pick<Limits, 'minimum'> = {},
): PropertyDefinition<N> => define(name, { type: 'bySupply', dimensions: [dimension], unit, ...limits }, doc);
export const profileOf = <const N extends string>(
  name: N,
  doc: string,
  limits: Pick<Limits, 'default' | 'note'> = {},
): PropertyDefinition<N> => define(name, { type: 'profile' }, doc, limits);
export const quietOf = <const N extends string>(name: N, doc: string): PropertyDefinition<N> =>
  define(name, { type: 'quiet' }, doc);

/** The smallest standard size of conductors that holds. */
export const SMALLEST_SIZE: Seeking = { best: 'smallest', among: 'sizes' };
/** The smallest standard rating of overcurrent devices that holds. */
export const SMALLEST_RATING: Seeking = { best: 'smallest', among: 'ratings' };
/** The fewest that hold: of things of which a site has a handful or two. */
export const FEWEST: Seeking = { best: 'smallest', among: { step: 1, from: 1, to: 24 } };

/** The highest setting that holds, in whole amperes, up to what the thing itself can. */
export const highestCurrent = (...upTo: readonly string[]): Seeking => ({
  best: 'largest',
  among: { step: 1, from: 1, to: 400, upTo },
});

/** Where a thing is, for the sheets. A bank has a word of its own for it, which fire codes go by. */
export const LOCATION = textOf('location', 'Where it is: room, cabinet, compartment.');

/** What it is mounted in, and whether it took the place of another. */
export const MOUNTED = [
  textOf(
    'enclosure',
    'Board, box or cabinet that it is mounted in: things with the same words are in one, and have one wiring view.',
  ),
  define(
    'replaced',
    { type: 'date', first: '1950-01-01', last: '2199-12-31' },
    'Day on which it took the place of the first one: earlier settings and tests of it no longer count.',
  ),
];

/** Facts that every part and instance may carry. */
export const COMMON = [
  define('price', { type: 'money' }, 'Price of one piece, in an ISO 4217 currency; never converted.'),
  quantityOf('mass', 'mass', 'kg', 'Mass of one piece.', { minimum: 0 }),
  textOf('note', 'A remark that shows in hovers and reports.'),
  textOf('dataSheet', 'Where the data come from: document, revision, page.'),
];
