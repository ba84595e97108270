import type { CalculationFunction } from '../registry.js';
import { bankEnergy } from './bank-energy.js';
import { bankSize, leadTemperatureFactor } from './bank-size.js';
import { chargeTime, netChargeCurrent } from './charge-time.js';
import { compensatedVoltage } from './compensated-voltage.js';
import { dailyRunTime } from './daily-run-time.js';
import { leadVoltage } from './lead-voltage.js';
import { lifeAt } from './life-at.js';
import { coldChargeCurrent, openCircuitVoltage } from './open-circuit.js';
import { peukertTime } from './peukert-time.js';
import { stringShare } from './string-share.js';
import { gassingCurrent, ventilation } from './ventilation.js';

/** Functions on batteries, in the order of the reference page. */
export const storageFunctions: readonly CalculationFunction[] = [
  bankEnergy,
  netChargeCurrent,
  chargeTime,
  dailyRunTime,
  peukertTime,
  lifeAt,
  bankSize,
  leadTemperatureFactor,
  openCircuitVoltage,
  leadVoltage,
  compensatedVoltage,
  coldChargeCurrent,
  stringShare,
  gassingCurrent,
  ventilation,
];
