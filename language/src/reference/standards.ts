/** Standard conductor sizes and device ratings of each wiring practice. */
import { type ConductorSize, sameSize } from '../quantity/index.js';
import { craftAmpacity, craftMetric, craftRatings } from './craft.js';
import { iecPowerCircuits, iecRatings, iecResistance } from './iec.js';
import { necAmpacity, necRatings } from './nec.js';
import { type Basis, type Metal, type SizedRow, areaOfSize, asSize } from './table.js';

function from(rows: readonly SizedRow[], smallest: string | undefined): readonly ConductorSize[] {
  const least = smallest === undefined ? 0 : areaOfSize(smallest);
  return rows
    .map((row) => asSize(row.size))
    .filter((size) => size.area >= least || sameSize(size.area, least))
    .sort((left, right) => left.area - right.area);
}

const iecSmallest = (metal: Metal): string | undefined =>
  iecPowerCircuits.rows.find((row) => row.metal === metal)?.size;

const SIZES: Readonly<Record<Basis, Readonly<Record<Metal, readonly ConductorSize[]>>>> = {
  nec: {
    copper: from(necAmpacity.rows, necAmpacity.smallest.copper),
    aluminium: from(necAmpacity.rows, necAmpacity.smallest.aluminium),
  },
  iec: {
    copper: from(iecResistance.rows, iecSmallest('copper')),
    aluminium: from(iecResistance.rows, iecSmallest('aluminium')),
  },
  craft: { copper: from(craftAmpacity.rows, craftAmpacity.smallest.copper), aluminium: [] },
};

const RATINGS: Readonly<Record<Basis, readonly number[]>> = {
  nec: necRatings.rows.map((row) => row.rating),
  iec: iecRatings.rows.map((row) => row.rating),
  craft: craftRatings.rows.map((row) => row.rating),
};

const CRAFT_METRIC = from(craftMetric.ampacity.rows, craftMetric.ampacity.smallest.copper);

/** Which sizes small craft are wired in: wire gauge (33 CFR 183.425) or metric (ISO 13297). The other practices have one series. */
export type Series = 'gauge' | 'metric';

/**
 * The conductor sizes of power wiring under a practice, smallest first, areas in mm²: NEC Table 310.16 from 14 AWG copper and
 * 12 AWG aluminium, IEC 60228 from 1.5 mm² copper and 10 mm² aluminium; craft 33 CFR 183.425 from 16 AWG or, in the metric
 * series, ISO 13297 from 1 mm² (no aluminium afloat).
 */
export function standardSizes(
  basis: Basis,
  metal: Metal = 'copper',
  series: Series = 'gauge',
): readonly ConductorSize[] {
  return basis === 'craft' && metal === 'copper' && series === 'metric' ? CRAFT_METRIC : SIZES[basis][metal];
}

/** The series a size (mm²) belongs to: metric where ISO 13297 lists it. */
const seriesOf = (area: number): Series =>
  CRAFT_METRIC.some((size) => sameSize(size.area, area)) ? 'metric' : 'gauge';

/**
 * The smallest standard size larger than `area` (mm²); a size within 0.1 % counts as equal. Craft stays in the series of the
 * size: the next after 35 mm² is 50 mm², after 2 AWG 1 AWG.
 */
export const nextSize = (area: number, basis: Basis, metal: Metal = 'copper'): ConductorSize | undefined =>
  standardSizes(basis, metal, seriesOf(area)).find((size) => size.area > area && !sameSize(size.area, area));

/** The smallest standard size that is not smaller than `area` (mm²), with 0.1 % tolerance. */
export const sizeAtLeast = (
  area: number,
  basis: Basis,
  metal: Metal = 'copper',
  series: Series = 'gauge',
): ConductorSize | undefined =>
  standardSizes(basis, metal, series).find((size) => size.area >= area || sameSize(size.area, area));

/** The standard ratings of overcurrent devices under a practice, A, smallest first. */
export const standardRatings = (basis: Basis): readonly number[] => RATINGS[basis];
