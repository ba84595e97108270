import { solarModel } from '../../reference/energy/index.js';
import { isLeap, monthOf } from './dates.js';
import type { SunPlan } from './plans.js';

const [CORRELATION, SPREAD, LEAST, MOST] = solarModel('day-to-day-clearness') as [number, number, number, number];

/** Random numbers of the normal distribution of mean 0 and deviation 1. */
export interface Normal {
  readonly normal: () => number;
}

/**
 * Clearness index of each day of a play: the stated mean of its month, varied from day to day by a first-order autoregression and brought
 * back so that the days of each month have its mean. Without `random` every day has the mean.
 */
export function dailyClearness(
  sun: SunPlan,
  year: number,
  dayOfYear: number,
  days: number,
  random?: Normal,
): Float64Array {
  const clearness = new Float64Array(days);
  const month = new Int32Array(days);
  let [on, at] = [year, dayOfYear];
  for (let day = 0; day < days; day += 1) {
    month[day] = monthOf(at, on) + 12 * on;
    clearness[day] = sun.clearness[month[day]! % 12]!;
    at += 1;
    if (at > (isLeap(on) ? 366 : 365)) [on, at] = [on + 1, 1];
  }
  if (!random) return clearness;
  let deviation = random.normal();
  for (let day = 0; day < days; day += 1) {
    const mean = clearness[day]!;
    const spread = SPREAD * mean * Math.max(0, 1 - mean / MOST);
    clearness[day] = mean + spread * deviation;
    deviation = CORRELATION * deviation + Math.sqrt(1 - CORRELATION ** 2) * random.normal();
  }
  for (let from = 0; from < days;) {
    let to = from;
    while (to < days && month[to] === month[from]) to += 1;
    centre(clearness.subarray(from, to), sun.clearness[month[from]! % 12]!);
    from = to;
  }
  return clearness;
}

/** Quantiles of the standard normal distribution at the middles of eleven equal parts. */
const LIKELY = [-1.691, -1.097, -0.748, -0.473, -0.23, 0, 0.23, 0.473, 0.748, 1.097, 1.691] as const;

/** Clearness of days of a month that are as likely as each other, with the month's mean: the spread with which a play varies its days. */
export function likelyClearness(mean: number): Float64Array {
  const spread = SPREAD * mean * Math.max(0, 1 - mean / MOST);
  const days = Float64Array.from(LIKELY, (deviation) => mean + spread * deviation);
  centre(days, mean);
  return days;
}

/** Shifts the days of a month within their bounds until their mean is the given one. */
function centre(days: Float64Array, mean: number): void {
  const [least, most] = [Math.min(LEAST, mean), Math.max(MOST, mean)];
  for (let round = 0; round < 50; round += 1) {
    let sum = 0;
    for (let at = 0; at < days.length; at += 1) {
      days[at] = Math.min(most, Math.max(least, days[at]!));
      sum += days[at]!;
    }
    const shift = mean - sum / days.length;
    if (Math.abs(shift) < 1e-12) return;
    for (let at = 0; at < days.length; at += 1) days[at]! += shift;
  }
}
