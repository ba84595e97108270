import type { CalculationFunction } from '../registry.js';

export const sunFunctions: readonly CalculationFunction[] = [];
