import type { Check } from '../define.js';

export const storageChecks: readonly Check[] = [];
