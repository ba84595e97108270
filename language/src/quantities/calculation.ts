import { type CalculationFunction, findFunction } from '../calculate/index.js';

/** A function of the language, for quantities that fill in the design's values. */
export const calculation = (name: string): CalculationFunction => findFunction(name)!;
