/** Tables of small-craft practice: 33 CFR 183.425 with what ABYC E-11 adds for gauge sizes, ISO 13297 for metric ones. */
import ampacityFile from './craft/ampacity-183-425.json' with { type: 'json' };
import metricAmpacityFile from './craft/ampacity-iso-13297.json' with { type: 'json' };
import metricBundlingFile from './craft/bundling-iso-13297.json' with { type: 'json' };
import bundlingFile from './craft/bundling.json' with { type: 'json' };
import engineSpaceFile from './craft/engine-space.json' with { type: 'json' };
import metricEngineSpaceFile from './craft/engine-space-iso-13297.json' with { type: 'json' };
import placesFile from './craft/ground-fault-places.json' with { type: 'json' };
import rulesFile from './craft/rules.json' with { type: 'json' };
import ratingsFile from './craft/standard-ratings.json' with { type: 'json' };
import type { AmbientTable, AmpacityTable, CountTable, GroundFaultPlace, RatingRow, RuleRow } from './nec.js';
import { type Table, rowAtSize, typed } from './table.js';

export const craftAmpacity = typed<AmpacityTable>(ampacityFile);
export const craftEngineSpace = typed<AmbientTable>(engineSpaceFile);
export const craftBundling = typed<CountTable>(bundlingFile);
export const craftRules = typed<Table<RuleRow>>(rulesFile);
export const craftGroundFaultPlaces = typed<Table<GroundFaultPlace>>(placesFile);
export const craftRatings = typed<Table<RatingRow>>(ratingsFile);

/** The tables that belong together: a size is read in the one that lists it, with the factors of the same standard. */
export interface CraftTables {
  readonly ampacity: AmpacityTable;
  readonly ambient: AmbientTable;
  readonly bundling: CountTable;
}

export const craftGauge: CraftTables = {
  ampacity: craftAmpacity,
  ambient: craftEngineSpace,
  bundling: craftBundling,
};
export const craftMetric: CraftTables = {
  ampacity: typed<AmpacityTable>(metricAmpacityFile),
  ambient: typed<AmbientTable>(metricEngineSpaceFile),
  bundling: typed<CountTable>(metricBundlingFile),
};

/** The tables for a size (mm²): metric for the sizes ISO 13297 lists, gauge for all others. */
export const craftTables = (area: number): CraftTables =>
  rowAtSize(craftMetric.ampacity, area).ok ? craftMetric : craftGauge;
