import type { CalculationFunction } from '../registry.js';
import { generatorFault } from './generator-fault.js';
import { motorCurrent, motorFeederProtection, motorOverload, motorProtection } from './motor.js';

/** Functions on motor circuits and on what generating sets drive into a fault, in the order of the reference page. */
export const protectionFunctions: readonly CalculationFunction[] = [
  motorCurrent,
  motorProtection,
  motorOverload,
  motorFeederProtection,
  generatorFault,
];
