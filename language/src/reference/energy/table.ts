import type { Source } from '../../derivation/index.js';

/** How far a value can be trusted: read from a public copy, remembered, or a habit of the trade. */
export type Provenance = Source['provenance'];

/** A reference table as kept in the JSON files beside this one. A row may name its own provenance, which then goes first. */
export interface Table<Row> {
  readonly standard: string;
  readonly edition?: string;
  readonly table?: string;
  readonly provenance: Provenance;
  readonly note?: string;
  readonly rows: readonly Row[];
}

/** A JSON table with the type of its rows. The shape of every file is held by a test. */
export const asTable = <T extends Table<unknown>>(json: unknown): T => json as T;

/** The source of a table, for derivations. */
export function tableSource(table: Table<unknown>): Source {
  return {
    standard: table.standard,
    ...(table.edition ? { edition: table.edition } : {}),
    ...(table.table ? { table: table.table } : {}),
    provenance: table.provenance,
  };
}

/** A row that names its own source in words. */
export interface SourcedRow {
  readonly provenance: Provenance;
  readonly source: string;
}

export const rowSource = (row: SourcedRow): Source => ({ standard: row.source, provenance: row.provenance });

/** One point of a curve. */
export type Point = readonly [x: number, y: number];

/** The value at `x` on the straight lines through `points` (ascending in x); undefined outside them. */
export function onCurve(points: readonly Point[], x: number): number | undefined {
  const above = points.findIndex(([px]) => px >= x);
  if (above < 0) return undefined;
  const [x1, y1] = points[above]!;
  if (x1 === x) return y1;
  if (above === 0) return undefined;
  const [x0, y0] = points[above - 1]!;
  return y0 + ((y1 - y0) * (x - x0)) / (x1 - x0);
}

/** As `onCurve`, with the first and last straight line continued beyond the points. */
export function onExtendedCurve(points: readonly Point[], x: number): number {
  const inside = onCurve(points, x);
  if (inside !== undefined) return inside;
  const [[x0, y0], [x1, y1]] = (x < points[0]![0] ? points.slice(0, 2) : points.slice(-2)) as [Point, Point];
  return y0 + ((y1 - y0) * (x - x0)) / (x1 - x0);
}
