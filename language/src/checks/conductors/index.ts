import type { Check } from '../define.js';
import { oneBond } from './one-bond.js';
import { twoSourcesOneBus } from './two-sources-one-bus.js';

export const conductorChecks: readonly Check[] = [oneBond, twoSourcesOneBus];
