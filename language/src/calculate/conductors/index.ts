import type { CalculationFunction } from '../registry.js';

export const conductorFunctions: readonly CalculationFunction[] = [];
