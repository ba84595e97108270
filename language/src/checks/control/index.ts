import type { Check } from '../define.js';

export const controlChecks: readonly Check[] = [];
