import type { Check } from '../define.js';
import { energyDeficit } from './energy-deficit.js';
import { readingOff } from './reading-off.js';
import { requirementFailed } from './requirement-failed.js';
import { scenarioUnfinished } from './scenario-unfinished.js';
import { scenarioUnserved } from './scenario-unserved.js';

export const requirementChecks: readonly Check[] = [
  requirementFailed,
  scenarioUnserved,
  scenarioUnfinished,
  energyDeficit,
  readingOff,
];
