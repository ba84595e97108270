import type { Check } from '../define.js';
import { arrayCurrent } from './array-current.js';
import { chargeBelowLoad } from './charge-below-load.js';
import { chargeCurrent } from './charge-current.js';
import { chargeTooSlow } from './charge-too-slow.js';
import { chargeVoltage } from './charge-voltage.js';
import { chargerInput } from './charger-input.js';
import { chargerWindow } from './charger-window.js';
import { chargingOutlet } from './charging-outlet.js';
import { coldStringVoltage } from './cold-string-voltage.js';
import { diversionLoad } from './diversion-load.js';
import { fuelRunsOut } from './fuel-runs-out.js';
import { generatorDerating } from './generator-derating.js';
import { generatorDistortion } from './generator-distortion.js';
import { generatorFuel } from './generator-fuel.js';
import { generatorOverload } from './generator-overload.js';
import { contradictingFacts } from './contradicting-facts.js';
import { generatorStarting } from './generator-starting.js';
import { inverterBankCurrent } from './inverter-bank-current.js';
import { inverterCutoff } from './inverter-cutoff.js';
import { inverterIdle } from './inverter-idle.js';
import { inverterReconnect } from './inverter-reconnect.js';
import { inverterSurge } from './inverter-surge.js';
import { machineTotal } from './machine-total.js';
import { penstockLossCheck } from './penstock-loss.js';
import { precharge } from './precharge.js';
import { settingRange } from './setting-range.js';
import { shoreLimit } from './shore-limit.js';
import { streamFlow } from './stream-flow.js';
import { stringCurrent } from './string-current.js';
import { stringVoltageWindow } from './string-voltage-window.js';
import { supplySetting } from './supply-setting.js';
import { vehicleOutlet } from './vehicle-outlet.js';

export const sourceChecks: readonly Check[] = [
  generatorOverload,
  generatorDistortion,
  generatorDerating,
  generatorStarting,
  machineTotal,
  contradictingFacts,
  generatorFuel,
  fuelRunsOut,
  chargerInput,
  chargerWindow,
  chargeCurrent,
  chargeVoltage,
  chargeBelowLoad,
  chargeTooSlow,
  inverterSurge,
  inverterIdle,
  inverterCutoff,
  inverterReconnect,
  inverterBankCurrent,
  precharge,
  coldStringVoltage,
  stringCurrent,
  stringVoltageWindow,
  arrayCurrent,
  settingRange,
  shoreLimit,
  vehicleOutlet,
  supplySetting,
  chargingOutlet,
  diversionLoad,
  penstockLossCheck,
  streamFlow,
];
