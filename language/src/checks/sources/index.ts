import type { Check } from '../define.js';
import { chargeBelowLoad } from './charge-below-load.js';
import { chargeCurrent } from './charge-current.js';
import { chargeVoltage } from './charge-voltage.js';
import { chargerInput } from './charger-input.js';
import { generatorCleanShare } from './generator-clean-share.js';
import { generatorOverload } from './generator-overload.js';
import { inverterCutoff } from './inverter-cutoff.js';

export const sourceChecks: readonly Check[] = [
  generatorOverload,
  generatorCleanShare,
  chargerInput,
  chargeCurrent,
  chargeVoltage,
  chargeBelowLoad,
  inverterCutoff,
];
