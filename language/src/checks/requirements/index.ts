import type { Check } from '../define.js';

export const requirementChecks: readonly Check[] = [];
