import type { Check } from '../define.js';
import { alternatorDisconnect } from './alternator-disconnect.js';
import { autonomy } from './autonomy.js';
import { bankMixed } from './bank-mixed.js';
import { bankStrings } from './bank-strings.js';
import { bankVentilation } from './bank-ventilation.js';
import { bankVoltage } from './bank-voltage.js';
import { cellTemperature } from './cell-temperature.js';
import { chargeCold } from './charge-cold.js';
import { chargeEnd } from './charge-end.js';
import { dischargeRate } from './discharge-rate.js';
import { dwellingEnergy } from './dwelling-energy.js';
import { seldomFull } from './seldom-full.js';
import { loadCutoff } from './load-cutoff.js';

export const storageChecks: readonly Check[] = [
  bankVoltage,
  bankMixed,
  bankStrings,
  chargeCold,
  chargeEnd,
  cellTemperature,
  dischargeRate,
  autonomy,
  bankVentilation,
  alternatorDisconnect,
  dwellingEnergy,
  seldomFull,
  loadCutoff,
];
