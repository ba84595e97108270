import type { Check } from '../define.js';
import { expiredAccept, renamedCheck, unusedAccept } from './accepts.js';
import { assumedFact } from './assumed-fact.js';
import { contradictoryRatings, missingRating } from './data-sheets.js';
import { deadEnd } from './dead-end.js';
import { duplicateName } from './duplicate-name.js';
import { extendsLoop } from './extends-loop.js';
import { lostEnd } from './lost-end.js';
import { importLoop } from './import-loop.js';
import { importOutside } from './import-outside.js';
import { missingFact } from './missing-fact.js';
import { notConnected } from './not-connected.js';
import { notEvaluated } from './not-evaluated.js';
import { syntaxError } from './syntax-error.js';
import { unknownName } from './unknown-name.js';
import { unlikeTerminals } from './unlike-terminals.js';
import { unusedPart } from './unused-part.js';
import { valueOutOfRange } from './value-out-of-range.js';
import { wrongDimension } from './wrong-dimension.js';
import { wrongType } from './wrong-type.js';

export const textChecks: readonly Check[] = [
  syntaxError,
  unknownName,
  duplicateName,
  unusedPart,
  importLoop,
  extendsLoop,
  importOutside,
  lostEnd,
  wrongDimension,
  wrongType,
  unlikeTerminals,
  valueOutOfRange,
  contradictoryRatings,
  missingRating,
  missingFact,
  assumedFact,
  notEvaluated,
  unusedAccept,
  expiredAccept,
  renamedCheck,
  notConnected,
  deadEnd,
];
