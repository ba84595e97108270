import { describe, expect, test } from 'vitest';
import { finished } from '../../../language/src/simulate/finished.js';
import { sampled } from '../../../language/src/simulate/series.js';
import { resultOf, sunny } from './designs.js';

/** Ten days under such weather. */
const runsOf = (runs: number): string => sunny(`duration: 10 d   soc(Bank): 60 %   runs: ${runs}   seed: 7`);

describe('where the runs of a scenario lie', () => {
  test('with two runs follows from the first of them and the middle of both', async () => {
    const result = await resultOf(runsOf(2));
    const spread = finished(result.spread!());
    const charge = spread.columns.find(({ signal }) => signal === 'soc')!;
    const own = result.series.columns.find(({ name }) => name === charge.name)!;
    const first = sampled(result.series, own.values, spread.time[1]!, result.duration);
    let widest = 0;
    for (const [at, one] of first.entries()) {
      const other = 2 * charge.middle[at]! - one;
      const [low, high] = [Math.min(one, other), Math.max(one, other)];
      // Quantiles by straight line between two values (Hyndman and Fan 1996, type 7).
      expect(charge.low[at]).toBeCloseTo(low + 0.05 * (high - low), 9);
      expect(charge.high[at]).toBeCloseTo(high - 0.05 * (high - low), 9);
      widest = Math.max(widest, high - low);
    }
    expect(spread.runs).toBe(2);
    expect(widest).toBeGreaterThan(0.02);
  });

  test('keeps within what any run reaches, the middle between the edges', async () => {
    const result = await resultOf(runsOf(25));
    const { time, columns } = finished(result.spread!());
    const charge = columns.find(({ signal }) => signal === 'soc')!;
    expect(time[0]).toBe(0);
    expect(time.at(-1)).toBeCloseTo(result.duration, 6);
    for (const at of time.keys()) {
      expect(charge.low[at]!).toBeLessThanOrEqual(charge.middle[at]!);
      expect(charge.middle[at]!).toBeLessThanOrEqual(charge.high[at]!);
      expect(charge.low[at]!).toBeGreaterThanOrEqual(0);
      expect(charge.high[at]!).toBeLessThanOrEqual(1);
    }
    // All begin with the same charge.
    expect(charge.low[0]).toBeCloseTo(0.6, 9);
    expect(charge.high[0]).toBeCloseTo(0.6, 9);
  });

  test('is worked out once, and not at all where there is one run', async () => {
    const result = await resultOf(runsOf(3));
    const first = finished(result.spread!());
    const again = result.spread!().next();
    expect(again.done).toBe(true);
    expect(again.value).toBe(first);
    expect((await resultOf(runsOf(1))).spread).toBeUndefined();
  });
});
