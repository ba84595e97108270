import type { Check } from '../define.js';
import { requirementFailed } from './requirement-failed.js';

export const requirementChecks: readonly Check[] = [requirementFailed];
