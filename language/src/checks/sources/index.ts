import type { Check } from '../define.js';
import { chargerInput } from './charger-input.js';
import { generatorCleanShare } from './generator-clean-share.js';
import { generatorOverload } from './generator-overload.js';

export const sourceChecks: readonly Check[] = [generatorOverload, generatorCleanShare, chargerInput];
