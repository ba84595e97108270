import type { Source } from '../../derivation/index.js';
import dailyClearnessJson from './daily-clearness.json' with { type: 'json' };
import meanDaysJson from './mean-days.json' with { type: 'json' };
import solarModelsJson from './solar-models.json' with { type: 'json' };
import { type Table, asTable } from './table.js';

interface ModelRow {
  readonly model: string;
  readonly source: string;
  readonly values: readonly number[] | readonly (readonly number[])[];
  readonly limits?: readonly number[];
}

const models = asTable<Table<ModelRow>>(solarModelsJson);

const rowOf = (model: string): ModelRow => {
  const row = models.rows.find((candidate) => candidate.model === model);
  if (!row) throw new RangeError(`unknown solar model ${model}`);
  return row;
};

/** The coefficients of a model of solar geometry or radiation. Throws for a name that is not in the table. */
export const solarModel = (model: string): readonly number[] => rowOf(model).values as readonly number[];

/** The coefficients of a model that has rows of them. */
export const solarTable = (model: string): readonly (readonly number[])[] =>
  rowOf(model).values as readonly (readonly number[])[];

export const solarSource = (model: string): Source => ({
  standard: rowOf(model).source,
  provenance: models.provenance,
});

/** A curve made of polynomials: the piece up to each limit, and the last piece beyond. */
export const piecewise = (model: string, x: number): number => piecewiseCurve(model)(x);

/** The same as a function, for those who ask it hundreds of thousands of times. */
export function piecewiseCurve(model: string): (x: number) => number {
  const row = rowOf(model);
  const pieces = row.values as readonly (readonly number[])[];
  const limits = row.limits ?? [];
  return (x) => {
    let piece = 0;
    while (piece < limits.length && x > limits[piece]!) piece += 1;
    const coefficients = pieces[Math.min(piece, pieces.length - 1)]!;
    let sum = 0;
    for (let at = coefficients.length - 1; at >= 0; at -= 1) sum = sum * x + coefficients[at]!;
    return sum;
  };
}

/** The day of each month whose extraterrestrial radiation is nearest the month's mean, with its declination in degrees. */
export const MEAN_DAYS =
  asTable<Table<{ readonly month: number; readonly day: number; readonly declination: number }>>(meanDaysJson);

/** Days of months up to a mean clearness: the bounds of ten equal states, and the share of days that go from each to each. */
export interface ClearnessRow {
  readonly upTo: number;
  readonly least: number;
  readonly most: number;
  readonly steps: readonly (readonly number[])[];
}

export const DAILY_CLEARNESS = asTable<Table<ClearnessRow>>(dailyClearnessJson);
