import type { Check } from '../define.js';
import { linkProtocol } from './link-protocol.js';
import { noFallback } from './no-fallback.js';
import { stopUnreachable } from './stop-unreachable.js';
import { thresholdGap } from './threshold-gap.js';
import { thresholdOrder } from './threshold-order.js';

export const controlChecks: readonly Check[] = [
  thresholdOrder,
  thresholdGap,
  stopUnreachable,
  noFallback,
  linkProtocol,
];
