import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, deriveFact } from '../../derivation/index.js';
import { isFuse } from '../../model/roles.js';
import { wordIn } from '../../model/stated-facts.js';
import type { Instance } from '../../model/types.js';
import type { MotorDevice } from '../../reference/index.js';
import { calculation } from '../calculation.js';
import type { QuantityContext } from '../define.js';
import { fullLoadCurrent, motorOf } from '../demand/motors.js';
import { boundsOf } from '../faults/class-bounds.js';
import { classOf } from './device-class.js';

/** The sort of device by which Table 430.52 is read; fuses of class CC count as such without time delay (from memory). */
export function motorDeviceOf(device: Instance): MotorDevice {
  if (!isFuse(device)) return 'breaker';
  const part = classOf(device);
  return part && wordIn(part.properties, 'speed') === 'slow' && boundsOf(device) !== 'CC' ? 'delayFuse' : 'fuse';
}

/** The largest device of one motor by its sort and its full-load current. */
export function motorLimit(
  motor: Instance,
  source: Instance | undefined,
  device: Instance,
  context: QuantityContext,
): Result | undefined {
  const current = fullLoadCurrent(motor, source, context);
  if (current?.kind !== 'known') return current;
  const word = (name: string, value: string): Derivation => deriveFact(name, value, { origin: 'stated' });
  return callFunction(calculation('motorProtection'), {
    current: current.derivation,
    motor: word('motor', motorOf(motor)!),
    device: word('device', motorDeviceOf(device)),
  });
}
