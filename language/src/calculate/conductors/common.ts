/** What the functions on conductors share: their recurring parameters and how an argument, a part or a default settles a value. */
import {
  type Derivation,
  type Result,
  type Source,
  derive,
  deriveFact,
  numberIn,
  refused,
  withFacts,
} from '../../derivation/index.js';
import {
  DIMENSIONS,
  type DimensionName,
  type Quantity,
  inUnit,
  sameSize,
  sizeText,
  standardSize,
} from '../../quantity/index.js';
import {
  type Basis,
  type Metal,
  type SizedRow,
  type Table,
  areaOfSize,
  conductorMetals,
  rowAtSize,
  tableName,
} from '../../reference/index.js';
import { type PartArgument, defaults, may, mayPart, mayWord, needs, wordOr } from '../registry.js';

export const GROUP = 'conductors';

export const METALS = ['copper', 'aluminium'] as const;
export const BASES = ['nec', 'iec', 'craft'] as const;
export const STRANDS = ['solid', 'stranded', 'flexible'] as const;
export const SYSTEMS = ['dc', 'single', 'three'] as const;
export type Strand = (typeof STRANDS)[number];
export type SystemWord = (typeof SYSTEMS)[number];

/** Conductor temperatures over which resistance is taken as linear. Common practice, no source. */
const CONDUCTOR_TEMPERATURES = { minimum: -60, maximum: 250 } as const;

export const basisParameter = wordOr(BASES, 'nec', 'wiring practice whose tables are read');
export const sizeParameter = needs('area', 'mm2', 'conductor size, area of metal', { minimum: 0, aboveMinimum: true });
export const currentParameter = needs('current', 'A', 'current in the conductor', { minimum: 0 });
export const lengthParameter = needs('length', 'm', 'length one way; the loop is worked out', { minimum: 0 });
export const metalParameter = wordOr(METALS, 'copper', 'metal of the conductor');
export const maybeMetalParameter = mayWord(METALS, 'conductor metal; copper when neither it nor a type says');
export const maybeStrandParameter = mayWord(
  STRANDS,
  'solid (class 1), stranded (class 2 or B) or flexible (class 5, fine-stranded); stranded when neither it nor a type says',
);
export const seriesParameter = wordOr(['gauge', 'metric'], 'gauge', 'sizes small craft are wired in (craft)');
export const typeParameter = mayPart(['conductor', 'cord'], 'conductor or cord type, which states metal and stranding');
export const systemParameter = wordOr(SYSTEMS, 'dc', 'direct current, single phase or three phase');
export const temperatureParameter = defaults('temperature', 'degC', 75, 'temperature of the conductor', {
  ...CONDUCTOR_TEMPERATURES,
  defaultSource: 'a warm conductor, as in NEC Chapter 9 Table 8',
});
/** A count of things: a plain number from 1. */
export const maybeCount = (doc: string) => may('ratio', '', doc, { minimum: 1, maximum: 1000 });

/** A value that was settled, or the result that says why not. */
export type Found<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly result: Result };
export const found = <T>(value: T): Found<T> => ({ ok: true, value });
export const notFound = (reason: string, argument?: string): { readonly ok: false; readonly result: Result } => ({
  ok: false,
  result: refused(reason, argument),
});

/** A derivation as a result: for functions that pass on what a helper found. */
export const asResult = (outcome: Found<Derivation>): Result =>
  outcome.ok ? { kind: 'known', derivation: outcome.value } : outcome.result;

export const areaIn = (size: Derivation): number => numberIn(size, 'mm2');

/** An argument under the letter it has in the formula. */
export const named = (argument: Derivation, symbol: string): Derivation => withFacts(argument, { symbol });

/** A word argument as an input of a derivation. */
export const wordInput = (name: string, value: string): Derivation => deriveFact(name, value, { origin: 'stated' });

/** The quantity a part states under `property`; undefined where it states none or one of another dimension. */
export function partQuantity(
  part: PartArgument | undefined,
  property: string,
  dimension: DimensionName,
): Derivation | undefined {
  const stated = part?.fact(property);
  const value = stated?.value;
  return typeof value === 'object' && value.dimension === DIMENSIONS[dimension] ? stated : undefined;
}

/** The word a part states under `property`. */
export function partWord(part: PartArgument | undefined, property: string): Derivation | undefined {
  const stated = part?.fact(property);
  return typeof stated?.value === 'string' ? stated : undefined;
}

/** The argument where it was given, else what the part states, else the documented default, which says that it is one. */
export function settleQuantity(options: {
  name: string;
  given: Derivation | undefined;
  part?: PartArgument | undefined;
  property?: string;
  dimension: DimensionName;
  unit: string;
  fallback: number;
  why: string;
}): Derivation {
  return (
    options.given ??
    partQuantity(options.part, options.property ?? options.name, options.dimension) ??
    derive(options.name, options.fallback, options.unit, {
      fact: options.name,
      origin: 'default',
      notes: [`${options.why}; not stated`],
    })
  );
}

/** A word that was settled; `given` tells an argument from a fact of the type or a default. */
export interface Chosen<W extends string> {
  readonly word: W;
  readonly derivation: Derivation;
  readonly given: boolean;
}

/** As settleQuantity, for a word; a word of the part that is none of `words` is refused. */
export function settleWord<W extends string>(options: {
  name: string;
  property?: string;
  words: readonly W[];
  given: W | undefined;
  part?: PartArgument | undefined;
  fallback: W;
  why: string;
}): Found<Chosen<W>> {
  const { name, property = name, words, given, part, fallback, why } = options;
  if (given !== undefined) return found({ word: given, derivation: wordInput(name, given), given: true });
  const stated = partWord(part, property);
  if (stated) {
    const word = words.find((candidate) => candidate === stated.value);
    if (!word)
      return notFound(
        `${part?.name ?? 'the part'} states ${property} \`${String(stated.value)}\`; known are ${words.join(', ')}`,
        name,
      );
    return found({ word, derivation: stated, given: false });
  }
  const derivation = deriveFact(name, fallback, { fact: name, origin: 'default', notes: [`${why}; not stated`] });
  return found({ word: fallback, derivation, given: false });
}

/** Metal and stranding of a conductor, from the arguments, the type or the defaults. */
export function settleConductor(given: {
  readonly metal: Metal | undefined;
  readonly strand: Strand | undefined;
  readonly type: PartArgument | undefined;
}): Found<{ metal: Chosen<Metal>; strand: Chosen<Strand> }> {
  const metal = settleMetal(given.metal, given.type);
  if (!metal.ok) return metal;
  const strand = settleWord({
    name: 'strand',
    words: STRANDS,
    given: given.strand,
    part: given.type,
    fallback: 'stranded',
    why: 'the usual make',
  });
  return strand.ok ? found({ metal: metal.value, strand: strand.value }) : strand;
}

export const settleMetal = (given: Metal | undefined, part: PartArgument | undefined): Found<Chosen<Metal>> =>
  settleWord({ name: 'metal', words: METALS, given, part, fallback: 'copper', why: 'the usual metal' });

/** The whole number of a count argument; halves of a conductor are refused. */
export function wholeNumber(count: Derivation): Found<number> {
  const value = numberIn(count, '');
  return Number.isInteger(value)
    ? found(value)
    : notFound(`\`${count.name}\` is a count; ${value} is no whole number`, count.name);
}

/** What a table has for a size: its row, and the note that goes with one that only stands in. */
export interface SizeRow<R> {
  readonly row: R;
  readonly notes: readonly string[];
}

/**
 * The row of a size (mm²). A standard size of the other series (35 mm² where the table lists gauges, 2 AWG where it lists mm²) takes the
 * row of the next smaller listed size, which has less metal and so errs to the safe side; an area that is no standard size is refused.
 */
export function rowForSize<R extends SizedRow>(table: Table<R>, area: number): Found<SizeRow<R>> {
  const lookup = rowAtSize(table, area);
  if (lookup.ok) return found({ row: lookup.row, notes: [] });
  const smaller = standardSize(area)
    ? table.rows.filter((row) => areaOfSize(row.size) < area).reduce<R | undefined>(larger, undefined)
    : undefined;
  if (!smaller) return notFound(lookup.reason, 'size');
  return found({
    row: smaller,
    notes: [
      `${tableName(table)} lists no ${sizeText(area)}; the row of the next smaller size, ${smaller.size}, is read, which errs to the safe side`,
    ],
  });
}

const larger = <R extends SizedRow>(so: R | undefined, next: R): R =>
  !so || areaOfSize(next.size) > areaOfSize(so.size) ? next : so;

/** The source of a value that a part of the design states in a table of its own, which goes before every table stored here. */
export const ownTable = (part: PartArgument, property: string): Source => ({
  standard: 'own table of the design',
  table: `${property} of ${part.name}`,
  provenance: 'data sheet',
});

/** What a part states for a size in a table of its own. */
export function ownValue(part: PartArgument | undefined, property: string, area: number): Quantity | undefined {
  return part?.table?.(property)?.find(({ key }) => sameSize(inUnit(key, 'mm2'), area))?.value;
}

export function metalRow(metal: Metal) {
  const row = conductorMetals.rows.find((candidate) => candidate.metal === metal);
  if (!row) throw new RangeError(`no constants for ${metal}`);
  return row;
}

export type { Basis, Metal };
