import type { Source } from '../derivation/index.js';
import { type ConductorSize, awgArea, parseGauge, quantity, sameSize, sizeText } from '../quantity/index.js';

/** How far a published number can be trusted to stand in its standard. */
export type Provenance = 'published' | 'from memory' | 'common practice, no source';

/** What every table file says about itself. */
export interface TableHead {
  readonly standard: string;
  readonly edition: string;
  readonly table: string;
  readonly title: string;
  readonly provenance: Provenance;
  readonly provenanceNote?: string;
  readonly notes?: readonly string[];
}

/** A row may be less certain than its table. */
export interface TableRow {
  readonly provenance?: Provenance;
}

export interface Table<R extends TableRow = TableRow> extends TableHead {
  readonly rows: readonly R[];
}

/** A row of a table by conductor size; `size` is written as the trade does: `4 AWG`, `250 kcmil`, `35 mm2`. */
export interface SizedRow extends TableRow {
  readonly size: string;
}

export type Metal = 'copper' | 'aluminium';
export type Basis = 'nec' | 'iec' | 'craft';
export type Column = Readonly<Partial<Record<string, number>>>;

/** Where a number of this table comes from; `row` may be less certain than the table. */
export function sourceOf(table: TableHead, row?: TableRow): Source {
  return {
    standard: table.standard,
    edition: table.edition,
    table: table.table,
    provenance: row?.provenance ?? table.provenance,
  };
}

/** Area in mm² of a size name as the tables write it. Throws for a name that is none: the files are part of the program. */
export function areaOfName(name: string): number {
  const [number = '', unit = ''] = name.split(' ');
  const gauge = unit === 'AWG' ? parseGauge(number) : undefined;
  if (gauge !== undefined) return awgArea(gauge);
  if (unit === 'kcmil' || unit === 'mm2') return quantity(Number(number), unit).value * 1e6;
  throw new RangeError(`${name} is no conductor size`);
}

const areas = new Map<string, number>();

/** The area of a size name, remembered: tables are read many times. */
export function areaOfSize(name: string): number {
  let area = areas.get(name);
  if (area === undefined) {
    area = areaOfName(name);
    areas.set(name, area);
  }
  return area;
}

export const asSize = (name: string): ConductorSize => ({ name, area: areaOfSize(name) });

/** What a table look-up yields: the row, or the sentence that says why there is none. */
export type Lookup<T> = { readonly ok: true; readonly row: T } | { readonly ok: false; readonly reason: string };

export const tableName = (table: TableHead): string => `${table.standard} ${table.table}`;

/** The nearest two sizes of a list on either side of `area`, in words. */
export function nearestSizes(area: number, names: readonly string[]): string {
  const sizes = names.map(asSize).sort((left, right) => left.area - right.area);
  const below = sizes.filter((size) => size.area < area).at(-1);
  const above = sizes.find((size) => size.area > area);
  if (below && above) return `its nearest sizes are ${below.name} and ${above.name}`;
  return below ? `its largest size is ${below.name}` : `its smallest size is ${above?.name ?? 'not listed'}`;
}

/**
 * The row of a size (mm²). Tables are read at their own sizes only (0.1 % tolerance): nothing is interpolated, because ampacity
 * and resistance tables are no functions of area between their rows.
 */
export function rowAtSize<R extends SizedRow>(table: Table<R>, area: number): Lookup<R> {
  const row = table.rows.find((candidate) => sameSize(areaOfSize(candidate.size), area));
  if (row) return { ok: true, row };
  const nearest = nearestSizes(
    area,
    table.rows.map((candidate) => candidate.size),
  );
  return { ok: false, reason: `${tableName(table)} has no ${sizeText(area)}; ${nearest}` };
}

/** Temperatures converted from °F may miss a band's end by rounding. */
const BAND_SLACK = 1e-6;

/** The first row whose `upTo` is not below `value`; undefined above the last band. */
export function bandAt<R extends { readonly upTo: number }>(rows: readonly R[], value: number): R | undefined {
  return rows.find((row) => value <= row.upTo + BAND_SLACK * Math.max(1, Math.abs(row.upTo)));
}

/** The largest column head (a temperature in °C) that is not above `temperature`. */
export function columnAtOrBelow(columns: readonly number[], temperature: number): number | undefined {
  return columns.filter((column) => column <= temperature + BAND_SLACK).at(-1);
}

/** Gives a JSON file its type. A test holds every file against the shape it is given here. */
export const typed = <T>(file: unknown): T => file as T;
