import type { Check } from '../define.js';
import { energyDeficit } from './energy-deficit.js';
import { readingMismatch } from './reading-mismatch.js';
import { requirementFailed } from './requirement-failed.js';
import { scenarioUnfinished } from './scenario-unfinished.js';
import { scenarioUnserved } from './scenario-unserved.js';

export const requirementChecks: readonly Check[] = [
  requirementFailed,
  scenarioUnserved,
  scenarioUnfinished,
  energyDeficit,
  readingMismatch,
];
