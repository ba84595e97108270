import { describe, expect, test } from 'vitest';
import { callFunction, findFunction, derive, numberIn, type Derivation } from '../../../language/src/index.js';
import { extraterrestrialDay } from '../../../language/src/calculate/sun/geometry.js';
import type { ArrayPlan, SunPlan } from '../../../language/src/simulate/plan.js';
import { Random } from '../../../language/src/simulate/random.js';
import { between } from '../../../language/src/quantities/weather/between.js';
import { dailyClearness } from '../../../language/src/quantities/weather/clearness.js';
import { monthOf } from '../../../language/src/quantities/weather/dates.js';
import { DaySun } from '../../../language/src/quantities/weather/day-sun.js';

const sun = (more: Partial<SunPlan> = {}): SunPlan => ({
  mode: 'months',
  latitude: 42.075,
  longitude: 0,
  zoneHours: 0,
  air: 25,
  albedo: 0.2,
  clearness: new Array<number>(12).fill(0.5),
  ...more,
});
/** An array whose W are W/m² on its surface. */
const flat = (more: Partial<ArrayPlan> = {}): ArrayPlan => ({
  name: 'Array',
  watts: 1000,
  amperes: 10,
  powerCoefficient: 0,
  warming: 0,
  tilt: 0,
  azimuth: 180,
  ...more,
});
/** Wh/m² of a day on an array. */
function dayOn(array: ArrayPlan, plan: SunPlan, dayOfYear: number, clearness: number, resolution = 60): number {
  const day = new DaySun(plan, [array], resolution);
  day.fill(dayOfYear, clearness, 0);
  return (day.watts[0]!.reduce((sum, watts) => sum + watts, 0) * day.slot) / 3600;
}

describe('a clear sky', () => {
  test('gives what Haurwitz says at zenith angles of 0, 30, 60 and 75 degrees', () => {
    // Haurwitz 1945, 1098·cos z·exp(−0.057/cos z), values recomputed: 1037, 890, 490, 228 W/m².
    const day = new DaySun(sun({ mode: 'clear', latitude: 0 }), [flat()], 60);
    // On the equator at the equinox (Cooper: day 81) the sun passes all zenith angles, 15° an hour.
    day.fill(81, 0, 0);
    const noon = day.watts[0]!.indexOf(Math.max(...day.watts[0]!));
    expect(day.watts[0]![noon]).toBeCloseTo(1037, 0);
    for (const [zenith, expected] of [
      [30, 890],
      [60, 490],
      [75, 228],
    ] as const) {
      const slot = noon + (zenith / 15) * 60;
      expect(Math.abs(day.watts[0]![slot]! - expected)).toBeLessThan(3);
    }
  });

  test('has its noon where the longitude and the equation of time put it', () => {
    const noonAt = (plan: Partial<SunPlan>, dayOfYear: number): number => {
      const day = new DaySun(sun({ mode: 'clear', ...plan }), [flat()], 60);
      day.fill(dayOfYear, 0, 0);
      return (day.watts[0]!.indexOf(Math.max(...day.watts[0]!)) * day.slot) / 3600;
    };
    // 9.8° east in the zone of 15°: 20.8 min late; the equation of time of mid February is −14.2 min (almanac, from memory).
    expect(Math.abs(noonAt({ longitude: 9.8, zoneHours: 1 }, 43) - (12 + (20.8 + 14.2) / 60))).toBeLessThan(0.03);
  });
});

describe('days of known clearness', () => {
  test('bring the clearness times the radiation outside the air on the horizontal', () => {
    for (const [day, clearness] of [
      [17, 0.45],
      [105, 0.55],
      [198, 0.62],
      [344, 0.4],
    ] as const)
      expect(dayOn(flat(), sun(), day, clearness)).toBeCloseTo(clearness * extraterrestrialDay(42.075, day), 6);
  });

  test('agree on a tilted surface over many days with the monthly means of NASA within 7 %', () => {
    // NASA Surface Meteorology and Solar Energy, 22-year means at 42.075° N: January 1.81 → 3.20, March 3.92 → 4.84 kWh/m² at 42°.
    // A mean is made of dull days, which gain nothing by the tilt, and clear ones: one day of mean clearness would gain more.
    const off = [
      [1, 17, 1810, 3200],
      [60, 75, 3920, 4840],
    ].map(([first, day, horizontal, tilted]) => {
      const clearness = horizontal! / extraterrestrialDay(42.075, day!);
      const plan = sun({ clearness: new Array<number>(12).fill(clearness) });
      let sum = 0;
      for (let seed = 0; seed < 20; seed += 1)
        for (const each of dailyClearness(plan, 2027, first!, 31, new Random(seed)))
          sum += dayOn(flat({ tilt: 42 }), plan, day!, each, 600);
      return sum / (20 * 31) / tilted! - 1;
    });
    for (const each of off) expect(Math.abs(each)).toBeLessThan(0.07);
  });

  test('agree on a tilted surface with the function of the language, which works by whole days, within 6 %', () => {
    const tilted = findFunction('tilted')!;
    for (const tilt of [20, 42, 60]) {
      const given: Record<string, Derivation> = {
        horizontal: derive('H', 3500, 'Wh/m2'),
        latitude: derive('latitude', 42.075, 'deg'),
        day: derive('day', 75, ''),
        tilt: derive('tilt', tilt, 'deg'),
      };
      const result = callFunction(tilted, given);
      if (result.kind !== 'known') expect.fail('no value');
      const clearness = 3500 / extraterrestrialDay(42.075, 75);
      const found = dayOn(flat({ tilt }), sun(), 75, clearness);
      expect(Math.abs(found / numberIn(result.derivation, 'Wh/m2') - 1)).toBeLessThan(0.06);
    }
  });

  test('give an array facing east its sun before noon', () => {
    const day = new DaySun(sun(), [flat({ tilt: 60, azimuth: 90 })], 60);
    day.fill(172, 0.6, 0);
    const half = day.slots / 2;
    const sum = (from: number, to: number): number => day.watts[0]!.slice(from, to).reduce((a, b) => a + b, 0);
    expect(sum(0, half)).toBeGreaterThan(1.5 * sum(half, day.slots));
  });

  test('give nothing in the polar night', () => {
    expect(dayOn(flat(), sun({ latitude: 80 }), 355, 0.5)).toBe(0);
  });

  test('lose power as the cells grow warm', () => {
    // 1000 W/m² would warm by 31.25 K at a NOCT of 45 °C; cells at 25 °C + rise lose 0.4 % for each kelvin.
    const cold = new DaySun(sun({ mode: 'clear' }), [flat()], 60);
    const warm = new DaySun(sun({ mode: 'clear' }), [flat({ powerCoefficient: -0.004, warming: 25 / 800 })], 60);
    cold.fill(172, 0, 0);
    warm.fill(172, 0, 0);
    const slot = 720;
    const irradiance = cold.watts[0]![slot]!;
    expect(warm.watts[0]![slot]!).toBeCloseTo(irradiance * (1 - 0.004 * (25 / 800) * irradiance), 9);
  });

  test('hardly depend on how finely the day is parted', () => {
    const fine = dayOn(flat({ tilt: 42 }), sun({ mode: 'clear' }), 100, 0, 10);
    const coarse = dayOn(flat({ tilt: 42 }), sun({ mode: 'clear' }), 100, 0, 900);
    expect(Math.abs(coarse / fine - 1)).toBeLessThan(1e-3);
  });
});

describe('clearness from day to day', () => {
  const monthly = [0.4, 0.42, 0.45, 0.48, 0.5, 0.55, 0.6, 0.58, 0.52, 0.46, 0.4, 0.36];
  const plan = sun({ clearness: monthly });

  test('has the mean of its month in every whole month', () => {
    const days = dailyClearness(plan, 2027, 1, 365, new Random(7));
    const sums = new Array<number>(12).fill(0);
    const counts = new Array<number>(12).fill(0);
    days.forEach((value, day) => {
      sums[monthOf(day + 1, 2027)]! += value;
      counts[monthOf(day + 1, 2027)]! += 1;
    });
    monthly.forEach((mean, month) => expect(sums[month]! / counts[month]!).toBeCloseTo(mean, 9));
  });

  test('varies, within what the sky allows, and one day follows the other', () => {
    const days = dailyClearness(sun(), 2027, 1, 3650, new Random(8));
    expect(Math.min(...days)).toBeGreaterThanOrEqual(0.05 - 1e-9);
    expect(Math.max(...days)).toBeLessThanOrEqual(0.8 + 1e-9);
    const mean = 0.5;
    const variance = days.reduce((sum, value) => sum + (value - mean) ** 2, 0) / days.length;
    expect(Math.sqrt(variance)).toBeGreaterThan(0.1);
    let product = 0;
    for (let day = 1; day < days.length; day += 1) product += (days[day]! - mean) * (days[day - 1]! - mean);
    const correlation = product / (days.length - 1) / variance;
    expect(correlation).toBeGreaterThan(0.2);
    expect(correlation).toBeLessThan(0.38);
  });

  test('is the mean itself without random numbers, and the same for the same seed', () => {
    expect([...dailyClearness(plan, 2027, 31, 2)]).toEqual([0.4, 0.42]);
    expect(dailyClearness(plan, 2027, 1, 40, new Random(9))).toEqual(dailyClearness(plan, 2027, 1, 40, new Random(9)));
  });
});

describe('dates', () => {
  test('fall into their months, leap years counted', () => {
    expect(monthOf(59, 2027)).toBe(1);
    expect(monthOf(60, 2027)).toBe(2);
    expect(monthOf(60, 2028)).toBe(1);
    expect(monthOf(366, 2028)).toBe(11);
  });

  test('between points runs a straight line, and the ends are held', () => {
    const [xs, ys] = [Float64Array.of(0, 10, 20), Float64Array.of(0, 5, 1)];
    expect(between(xs, ys, 5)).toBe(2.5);
    expect(between(xs, ys, 15)).toBe(3);
    expect(between(xs, ys, -1)).toBe(0);
    expect(between(xs, ys, 99)).toBe(1);
  });
});
