import type { CalculationFunction } from '../registry.js';

export const converterFunctions: readonly CalculationFunction[] = [];
