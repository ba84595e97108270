import type { CalculationFunction } from '../registry.js';

export const storageFunctions: readonly CalculationFunction[] = [];
