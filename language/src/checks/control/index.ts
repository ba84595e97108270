import type { Check } from '../define.js';
import { controlTimes } from './control-times.js';
import { linkAddress } from './link-address.js';
import { linkCable } from './link-cable.js';
import { linkLoss } from './link-loss.js';
import { linkProtocol } from './link-protocol.js';
import { linkTermination } from './link-termination.js';
import { noFallback } from './no-fallback.js';
import { ruleLatched } from './rule-latched.js';
import { ruleLivelock } from './rule-livelock.js';
import { rulesConflict } from './rules-conflict.js';
import { rulesShadowed } from './rules-shadowed.js';
import { shortRun } from './short-run.js';
import { startOnSag } from './start-on-sag.js';
import { stopUnreachable } from './stop-unreachable.js';
import { thresholdGap } from './threshold-gap.js';
import { thresholdOrder } from './threshold-order.js';
import { voltageOnFlatCurve } from './voltage-on-flat-curve.js';

export const controlChecks: readonly Check[] = [
  thresholdOrder,
  thresholdGap,
  stopUnreachable,
  startOnSag,
  voltageOnFlatCurve,
  noFallback,
  rulesConflict,
  rulesShadowed,
  ruleLivelock,
  ruleLatched,
  controlTimes,
  shortRun,
  linkProtocol,
  linkAddress,
  linkTermination,
  linkCable,
  linkLoss,
];
