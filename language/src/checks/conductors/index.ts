import type { Check } from '../define.js';

export const conductorChecks: readonly Check[] = [];
