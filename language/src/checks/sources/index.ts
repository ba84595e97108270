import type { Check } from '../define.js';

export const sourceChecks: readonly Check[] = [];
