import type { CalculationFunction } from './registry.js';
import { conductorFunctions } from './conductors/index.js';
import { protectionFunctions } from './protection/index.js';
import { converterFunctions } from './sources/index.js';
import { storageFunctions } from './storage/index.js';
import { sunFunctions } from './sun/index.js';

/** Every function of the language, in the order of the reference page. */
export const FUNCTIONS: readonly CalculationFunction[] = [
  ...conductorFunctions,
  ...protectionFunctions,
  ...converterFunctions,
  ...storageFunctions,
  ...sunFunctions,
];

const byName = new Map(FUNCTIONS.map((definition) => [definition.name, definition]));

export const findFunction = (name: string): CalculationFunction | undefined => byName.get(name);

export * from './registry.js';
