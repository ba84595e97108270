import type { DimensionName } from '../../quantity/index.js';
import type { Property, Terminal } from '../types.js';

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
  | { readonly type: 'profile' }
  | { readonly type: 'quiet' };

export interface PropertyDefinition {
  readonly name: string;
  readonly type: PropertyType;
  /** One sentence for hovers and the reference page. */
  readonly doc: string;
  /** What the trade takes when nothing is stated: the value as it would be written, and where that comes from. It shows as a default wherever it counts. */
  readonly default?: { readonly text: string; readonly note: string };
}

export interface KindDefinition {
  readonly kind: string;
  readonly group:
    'source' | 'converter' | 'storage' | 'gear' | 'load' | 'catalogue' | 'connection' | 'control' | 'design';
  readonly doc: string;
  readonly properties: readonly PropertyDefinition[];
  /** Terminals, which may depend on the properties (a pass-through inverter has an input). Empty for catalogue kinds. */
  readonly terminals: (properties: ReadonlyMap<string, Property>) => readonly Terminal[];
}

type Limits = {
  minimum?: number;
  maximum?: number;
  whole?: boolean;
  aboveZero?: boolean;
  ranges?: boolean;
  flavour?: 'active' | 'apparent';
  default?: string;
  note?: string;
};

const define = (
  name: string,
  type: PropertyType,
  doc: string,
  limits: Pick<Limits, 'default' | 'note'> = {},
): PropertyDefinition => ({
  name,
  type,
  doc,
  ...(limits.default !== undefined
    ? { default: { text: limits.default, note: limits.note ?? 'common practice, no source' } }
    : {}),
});

/** A property that takes a quantity. */
export function quantityOf(
  name: string,
  dimension: DimensionName | readonly DimensionName[],
  unit: string,
  doc: string,
  limits: Limits = {},
): PropertyDefinition {
  const { default: _default, note: _note, ...bounds } = limits;
  return define(
    name,
    { type: 'quantity', dimensions: typeof dimension === 'string' ? [dimension] : dimension, unit, ...bounds },
    doc,
    limits,
  );
}

/** A property that takes one of a few words, given as `word: meaning`. */
export function wordOf(
  name: string,
  words: Readonly<Record<string, string>>,
  doc: string,
  limits: Pick<Limits, 'default' | 'note'> = {},
): PropertyDefinition {
  return define(
    name,
    { type: 'word', words: Object.entries(words).map(([word, meaning]) => ({ word, doc: meaning })) },
    doc,
    limits,
  );
}

export function wordsOf(name: string, words: Readonly<Record<string, string>>, doc: string): PropertyDefinition {
  return define(
    name,
    { type: 'words', words: Object.entries(words).map(([word, meaning]) => ({ word, doc: meaning })) },
    doc,
  );
}

export const flagOf = (name: string, doc: string, limits: Pick<Limits, 'default' | 'note'> = {}): PropertyDefinition =>
  define(name, { type: 'flag' }, doc, limits);
export const textOf = (name: string, doc: string): PropertyDefinition => define(name, { type: 'text' }, doc);
export const systemOf = (
  name: string,
  doc: string,
  limits: Pick<Limits, 'default' | 'note'> = {},
): PropertyDefinition => define(name, { type: 'system' }, doc, limits);
export const partOf = (
  name: string,
  kinds: readonly string[],
  doc: string,
  limits: Pick<Limits, 'default' | 'note'> = {},
): PropertyDefinition => define(name, { type: 'part', kinds }, doc, limits);
export const tableOf = (
  name: string,
  key: DimensionName | readonly DimensionName[],
  keyUnit: string,
  value: DimensionName | readonly DimensionName[],
  valueUnit: string,
  doc: string,
): PropertyDefinition =>
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
export const profileOf = (
  name: string,
  doc: string,
  limits: Pick<Limits, 'default' | 'note'> = {},
): PropertyDefinition => define(name, { type: 'profile' }, doc, limits);
export const quietOf = (name: string, doc: string): PropertyDefinition => define(name, { type: 'quiet' }, doc);

/** Facts that every part and instance may carry. */
export const COMMON: readonly PropertyDefinition[] = [
  define('price', { type: 'money' }, 'Price of one piece, in an ISO 4217 currency; never converted.'),
  quantityOf('mass', 'mass', 'kg', 'Mass of one piece.', { minimum: 0 }),
  textOf('note', 'A remark that shows in hovers and reports.'),
  textOf('dataSheet', 'Where the data come from: document, revision, page.'),
];

export const terminal = (name: string, carries: Terminal['carries'], direction: Terminal['direction']): Terminal => ({
  name,
  carries,
  direction,
});

export const wordIn = (properties: ReadonlyMap<string, Property>, name: string): string | undefined => {
  const value = properties.get(name)?.value;
  return value?.type === 'word' ? value.word : undefined;
};

export const flagIn = (properties: ReadonlyMap<string, Property>, name: string): boolean | undefined => {
  const value = properties.get(name)?.value;
  return value?.type === 'flag' ? value.flag : undefined;
};
