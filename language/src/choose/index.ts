export {
  type AskedFirst,
  type Chosen,
  type ChosenDesign,
  type ChooseOptions,
  type ConflictPart,
  ENOUGH,
  chosenFor,
} from './choose.js';
export type { HeldBy } from './held-by.js';
export { type OpenDesign, type OpenValue, openValues } from './open-values.js';
export type { PriceOf } from './price.js';
