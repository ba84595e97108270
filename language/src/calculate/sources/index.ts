import type { CalculationFunction } from '../registry.js';
import { altitudeDerate } from './altitude-derate.js';
import { inputCurrent, inputPower, inverterCurrent } from './converter-input.js';
import { engineDerate } from './engine-derate.js';
import { fuelFor, fuelRate } from './fuel.js';
import { hydroPower, penstockLoss } from './hydro.js';
import { generatorConductor } from './generator-conductor.js';
import { inverterEfficiency } from './inverter-efficiency.js';
import { legCurrent, splitPhaseCurrent, voltageUnbalance } from './legs.js';
import { moduleAmpacity, moduleCurrent, moduleProtection } from './module-circuits.js';
import { startingCurrent, startingPower, voltageDip } from './motor-starting.js';
import { airDensity, windAtHeight, windDensity, windShare } from './wind.js';
import { usablePower } from './usable-power.js';

export { type BurnPoint, burnAt } from './fuel.js';

/** Functions on sources and converters, in the order of the reference page. */
export const converterFunctions: readonly CalculationFunction[] = [
  altitudeDerate,
  usablePower,
  engineDerate,
  inputPower,
  inputCurrent,
  inverterCurrent,
  inverterEfficiency,
  moduleCurrent,
  moduleAmpacity,
  moduleProtection,
  generatorConductor,
  startingPower,
  startingCurrent,
  voltageDip,
  fuelRate,
  fuelFor,
  legCurrent,
  splitPhaseCurrent,
  voltageUnbalance,
  penstockLoss,
  hydroPower,
  airDensity,
  windAtHeight,
  windDensity,
  windShare,
];
