import type { TextCheck } from './problem-check.js';

export const textChecks: readonly TextCheck[] = [];
