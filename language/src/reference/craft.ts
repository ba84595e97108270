/** Tables of small-craft practice: 33 CFR 183.425 and what ABYC E-11 adds to it. */
import ampacityFile from './craft/ampacity-183-425.json' with { type: 'json' };
import bundlingFile from './craft/bundling.json' with { type: 'json' };
import engineSpaceFile from './craft/engine-space.json' with { type: 'json' };
import rulesFile from './craft/rules.json' with { type: 'json' };
import ratingsFile from './craft/standard-ratings.json' with { type: 'json' };
import type { AmbientTable, AmpacityTable, CountTable, RatingRow, RuleRow } from './nec.js';
import { type Table, typed } from './table.js';

export const craftAmpacity = typed<AmpacityTable>(ampacityFile);
export const craftEngineSpace = typed<AmbientTable>(engineSpaceFile);
export const craftBundling = typed<CountTable>(bundlingFile);
export const craftRules = typed<Table<RuleRow>>(rulesFile);
export const craftRatings = typed<Table<RatingRow>>(ratingsFile);
