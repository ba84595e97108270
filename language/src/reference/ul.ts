/** Bounds of UL 248 fuses and UL 489 breakers by class: what holds of every device of a class, not what one of them does. */
import thermalFile from './ul/breakers-1077.json' with { type: 'json' };
import breakersFile from './ul/breakers-489.json' with { type: 'json' };
import limitingFile from './ul/current-limiting-248.json' with { type: 'json' };
import letThroughFile from './ul/let-through-248.json' with { type: 'json' };
import openingFile from './ul/opening-times-248.json' with { type: 'json' };
import { type Table, type TableRow, typed } from './table.js';

/** Largest let-through (A²s) of a class in one case size (A), for prospective currents up to a limit (A). */
export interface LetThroughRow extends TableRow {
  readonly class: string;
  readonly part: string;
  readonly case: number;
  readonly limits: readonly (TableRow & { readonly upTo: number; readonly energy: number })[];
}

/** Longest opening times (s) at 135 % and 200 % of ratings up to a limit (A). */
export interface OpeningRow extends TableRow {
  readonly upTo: number;
  readonly at135: number;
  readonly at200: number;
}

/** `overload` and `certain` are the multiples of the rating of the two columns. */
export interface OpeningTable extends Table<OpeningRow> {
  readonly overload: number;
  readonly certain: number;
}

export const ulLetThrough = typed<Table<LetThroughRow>>(letThroughFile);
export const ulCurrentLimiting =
  typed<Table<TableRow & { readonly class: string; readonly multiple: number }>>(limitingFile);
export const ulFuseOpening = typed<OpeningTable>(openingFile);
export const ulBreakers = typed<
  OpeningTable & {
    /** Multiple of the rating above which it trips at once. */
    readonly instantaneous: number;
    readonly directCurrentFactor: number;
    /** Time to clear, s, by rating up to a limit (A). */
    readonly clearing: readonly { readonly upTo: number; readonly seconds: number }[];
  }
>(breakersFile);
export const ulThermalBreakers = typed<OpeningTable>(thermalFile);
