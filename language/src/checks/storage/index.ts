import type { Check } from '../define.js';
import { bankVoltage } from './bank-voltage.js';

export const storageChecks: readonly Check[] = [bankVoltage];
