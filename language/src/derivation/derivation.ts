import type { Reason } from './reason.js';
import { type Quantity, formatQuantity, inUnit, quantity, reportUnit, unit as unitNamed } from '../quantity/index.js';

/** A stretch of a source text. Lines and characters count from 0, characters in UTF-16 units; `offset` and `end` are positions in the text. */
export interface Place {
  readonly uri: string;
  readonly offset: number;
  readonly end: number;
  readonly line: number;
  readonly character: number;
  readonly endLine: number;
  readonly endCharacter: number;
}

/** Where a published value comes from. `provenance` says whether it was read from a public copy or is from memory. */
export interface Source {
  readonly standard: string;
  readonly edition?: string;
  readonly table?: string;
  readonly provenance: 'published' | 'from memory' | 'common practice, no source' | 'own derivation' | 'data sheet';
}

/** A place in a source that is prose and no clause or table: `24 A of a 30 A supply`, `continuous and prime power`. */
const PROSE =
  /^(?:(?!(?:range|class|clause|chapter|part|row|page|p\.|example|annex)\b)\p{Ll}|\d[\d.]*\s(?:%|m?V|A|of)\s)/u;

export function sourceText(source: Source): string {
  const { standard, edition, table = '' } = source;
  const origin = edition ? `${standard} (${edition})` : standard;
  const between = !PROSE.test(table) ? ' ' : table.startsWith('from ') ? ', ' : ': ';
  const named = table === '' ? origin : `${origin}${between}${table}`;
  return source.provenance === 'published' || named === source.provenance ? named : `${named} [${source.provenance}]`;
}

/** Where a value came from: written in the design, marked `assumed`, a documented default, computed, or read from a table. */
export type Origin = 'stated' | 'assumed' | 'default' | 'computed' | 'table';

/** What a derivation yields. */
export type DerivedValue = Quantity | boolean | string;

/**
 * A value with everything that led to it. Hovers, reports, findings and fixes all render this one object.
 */
export interface Derivation {
  /** What it is, in the trade's words: `voltage drop`. */
  readonly name: string;
  /** The letter it has in formulas: `ΔU`. */
  readonly symbol?: string;
  readonly value: DerivedValue;
  /** Unit symbol in which machine-readable output gives the value; `1` for plain numbers. */
  readonly unit: string;
  readonly origin: Origin;
  /** The formula in symbols of the inputs. */
  readonly formula?: string;
  readonly inputs: readonly Derivation[];
  readonly source?: Source;
  /** Which corner of the ranges, source state, bound or rule decided, in the order in which they are told; never empty. */
  readonly governing?: readonly Reason[];
  /** The thing whose own current or power it is, by name: sums list it by that. */
  readonly subject?: string;
  /** The property or the argument of a function that it is the value of: `ambient`. */
  readonly fact?: string;
  readonly notes: readonly string[];
  /** Named results beside the main one: `.ratio` of a voltage drop. */
  readonly parts: Readonly<Record<string, Derivation>>;
  readonly place?: Place;
}

/** Facts for `derive`: a quantity by number and unit, with its formula and inputs. */
export interface DerivationOptions {
  symbol?: string;
  formula?: string;
  inputs?: readonly Derivation[];
  source?: Source;
  governing?: readonly Reason[];
  subject?: string;
  fact?: string;
  notes?: readonly string[];
  parts?: Readonly<Record<string, Derivation>>;
  origin?: Origin;
  place?: Place;
}

function build(name: string, value: DerivedValue, unit: string, options: DerivationOptions): Derivation {
  const { origin = 'computed', inputs = [], notes = [], parts = {} } = options;
  // Many thousands are made at every keystroke; assignments are several times as fast as spreading conditionals.
  const derivation: { -readonly [Key in keyof Derivation]: Derivation[Key] } = {
    name,
    value,
    unit,
    origin,
    inputs,
    notes,
    parts,
  };
  if (options.symbol) derivation.symbol = options.symbol;
  if (options.formula) derivation.formula = options.formula;
  if (options.source) derivation.source = options.source;
  if (options.governing && options.governing.length > 0) derivation.governing = options.governing;
  if (options.subject) derivation.subject = options.subject;
  if (options.fact) derivation.fact = options.fact;
  if (options.place) derivation.place = options.place;
  return Object.freeze(derivation);
}

/** A derived quantity: `value` in `unit` (`''` or `1` for a plain number). Throws NotFinite for values that are not finite. */
export function derive(name: string, value: number, unit: string, options: DerivationOptions = {}): Derivation {
  // The display picks the unit that reads best; `unit` is only what machine-readable output uses.
  const q = quantity(value, unit);
  const { unit: _own, ...withoutUnit } = q;
  // Apparent power has the dimension of power, and would read as watts.
  const shown = unit === 'VA' ? { ...q, unit: unitNamed(Math.abs(value) >= 1000 ? 'kVA' : 'VA') } : withoutUnit;
  return build(name, Object.freeze(shown), unit === '' ? '1' : unit, options);
}

/** A derivation of an existing quantity, for example one stated in the design or read from a table. */
export function deriveQuantity(name: string, q: Quantity, options: DerivationOptions = {}): Derivation {
  return build(name, q, reportUnit(q.dimension), options);
}

export function deriveFact(name: string, value: boolean | string, options: DerivationOptions = {}): Derivation {
  return build(name, value, '1', options);
}

/** A number read from a published table, with its source. */
export function fromTable(
  name: string,
  value: number,
  unit: string,
  source: Source,
  options: DerivationOptions = {},
): Derivation {
  return derive(name, value, unit, { ...options, origin: 'table', source });
}

/** The same derivation with some facts replaced. */
export const withFacts = (derivation: Derivation, facts: Partial<Omit<Derivation, 'value'>>): Derivation =>
  Object.freeze({ ...derivation, ...facts });

/** The number of a derived quantity in `unit`. Throws when it is no quantity or of another dimension. */
export function numberIn(derivation: Derivation, unit: string): number {
  if (typeof derivation.value !== 'object') throw new TypeError(`${derivation.name} is not a quantity`);
  return inUnit(derivation.value, unit);
}

/** A derivation's value for people. */
export function displayValue(derivation: Derivation, digits = 4): string {
  if (typeof derivation.value === 'boolean') return derivation.value ? 'yes' : 'no';
  return typeof derivation.value === 'string' ? derivation.value : formatQuantity(derivation.value, digits);
}

/**
 * The result of a calculation: known with its derivation; missing facts by name; or refused because an argument lies outside the
 * range of validity.
 */
export type Result =
  | { readonly kind: 'known'; readonly derivation: Derivation }
  | { readonly kind: 'missing'; readonly missing: readonly string[] }
  | { readonly kind: 'refused'; readonly reason: string; readonly argument?: string };

export const known = (derivation: Derivation): Result => ({ kind: 'known', derivation });
export const missing = (...facts: readonly string[]): Result => ({ kind: 'missing', missing: [...new Set(facts)] });
export const refused = (reason: string, argument?: string): Result => ({
  kind: 'refused',
  reason,
  ...(argument ? { argument } : {}),
});
