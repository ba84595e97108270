import { describe, expect, test } from 'vitest';
import { callFunction, findFunction, derive, numberIn, type Derivation } from '../../../language/src/index.js';
import { extraterrestrialDay } from '../../../language/src/calculate/sun/geometry.js';
import type { ArrayPlan, SunPlan } from '../../../language/src/simulate/plan.js';
import { Random } from '../../../language/src/simulate/random.js';
import { between } from '../../../language/src/quantities/weather/between.js';
import { chainOf, dailyClearness, likelyClearness } from '../../../language/src/quantities/weather/clearness.js';
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
  sky: 'hayDavies',
  ...more,
});
/** An array whose W are W/m² on its surface. */
const flat = ({
  tilt = 0,
  azimuth = 180,
  ...more
}: Partial<ArrayPlan> & { readonly tilt?: number; readonly azimuth?: number } = {}): ArrayPlan => ({
  name: 'Array',
  watts: 1000,
  amperes: 10,
  powerCoefficient: 0,
  warming: 0,
  mounts: [{ moves: 'not', tilt, azimuth }],
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

  /** Days of one month of 30 years or so, year after year. */
  const daysOf = (mean: number, seed: number, more: Partial<SunPlan> = {}): Float64Array =>
    dailyClearness(
      sun({ clearness: new Array<number>(12).fill(mean), yearSpread: 0, ...more }),
      2001,
      1,
      9000,
      new Random(seed),
    );
  const meanOf = (values: ArrayLike<number>): number => {
    let sum = 0;
    for (let at = 0; at < values.length; at += 1) sum += values[at]!;
    return sum / values.length;
  };
  const deviationOf = (values: ArrayLike<number>): number => {
    const mean = meanOf(values);
    return Math.sqrt(meanOf(Array.from(values, (value) => (value - mean) ** 2)));
  };

  // Stationary mean, deviation and correlation from day to day of the ten matrices of Aguiar and others, worked out beside this program; the
  // bounds are those of the paper's states. Mean within 0.02 of what is stated after 300 months, deviation within 15 % of the table.
  test.each([
    [0.241, 0.156, 0.385, 0.031, 0.705],
    [0.374, 0.166, 0.283, 0.051, 0.753],
    [0.429, 0.167, 0.308, 0.052, 0.753],
    [0.477, 0.167, 0.317, 0.028, 0.807],
    [0.526, 0.157, 0.31, 0.053, 0.856],
    [0.575, 0.153, 0.226, 0.044, 0.818],
    [0.62, 0.136, 0.237, 0.085, 0.846],
    [0.668, 0.119, 0.196, 0.01, 0.842],
    [0.728, 0.073, 0.252, 0.319, 0.865],
  ])('has the days of the published chain at a mean of %s', (mean, deviation, lag, least, most) => {
    const days = daysOf(mean, 8);
    expect(Math.abs(meanOf(days) - mean)).toBeLessThan(0.02);
    const found = deviationOf(days);
    expect(Math.abs(found / deviation - 1)).toBeLessThan(0.15);
    let product = 0;
    for (let day = 1; day < days.length; day += 1)
      product += (days[day]! - meanOf(days)) * (days[day - 1]! - meanOf(days));
    expect(Math.abs(product / (days.length - 1) / found ** 2 - lag)).toBeLessThan(0.08);
    expect(Math.min(...days)).toBeGreaterThanOrEqual(least);
    expect(Math.max(...days)).toBeLessThanOrEqual(most);
  });

  test('keeps the stated mean of a month as an expectation between the classes of the chain too', () => {
    for (const mean of [0.12, 0.29, 0.31, 0.36, 0.5, 0.64, 0.78])
      expect(Math.abs(meanOf(daysOf(mean, 3)) - mean)).toBeLessThan(0.012);
  });

  test('lets the means of months differ as days that follow each other do', () => {
    // Deviation of a mean of 30 days: SD·√((1 + r)/(1 − r)/30), worked out from the matrices: 0.0423 at a clearness of 0.48, 0.0316 at 0.62; within 25 %.
    for (const [mean, expected] of [
      [0.477, 0.0423],
      [0.62, 0.0316],
    ] as const) {
      const days = daysOf(mean, 5);
      const months = Array.from({ length: 300 }, (_, month) => meanOf(days.slice(30 * month, 30 * month + 30)));
      expect(Math.abs(deviationOf(months) / expected - 1)).toBeLessThan(0.25);
    }
  });

  test('lets five days differ as far as their spread says, and years by 3 to 5 %', () => {
    // Five days of a mean of 0.45: the matrix has SD 0.167 and r 0.31, so that their mean deviates by 0.167·√((5 + 2·(4r + 3r² + 2r³ + r⁴))/25) = 0.095.
    const fives: number[] = [];
    const years: number[] = [];
    for (let seed = 0; seed < 400; seed += 1) {
      const days = dailyClearness(
        sun({ clearness: new Array<number>(12).fill(0.45), yearSpread: 0.025 }),
        2027,
        1,
        365,
        new Random(seed),
      );
      fives.push(meanOf(days.slice(9, 14)));
      years.push(meanOf(days));
    }
    expect(Math.abs(deviationOf(fives) / 0.095 - 1)).toBeLessThan(0.15);
    // Annual coefficient of variation of the sun on the horizontal: 2 to 5 % (from memory).
    const annual = deviationOf(years) / meanOf(years);
    expect(annual).toBeGreaterThan(0.028);
    expect(annual).toBeLessThan(0.045);
    expect(Math.abs(meanOf(years) / 0.45 - 1)).toBeLessThan(0.01);
  });

  test('takes the spread of a station where it is stated', () => {
    // July in Denver: mean clearness 0.593, deviation of the days 0.136; Santiago in January: 0.703 and 0.025 (public typical years).
    for (const [mean, spread] of [
      [0.593, 0.136],
      [0.703, 0.025],
    ] as const) {
      const days = daysOf(mean, 4, { daySpread: new Array<number>(12).fill(spread) });
      expect(Math.abs(deviationOf(days) / spread - 1)).toBeLessThan(0.15);
      expect(Math.abs(meanOf(days) - mean)).toBeLessThan(0.012);
    }
  });

  test('is at real stations about what the chain has', () => {
    // Means and deviations of the clearness of days of five stations (typical years of Denver, Atlanta, Santiago, Barrow, Delhi), months pooled by class.
    const [denver, atlanta] = [
      [0.152, 0.168, 0.162, 0.221, 0.138, 0.095, 0.136, 0.122, 0.121, 0.202, 0.169, 0.156],
      [0.17, 0.217, 0.157, 0.158, 0.124, 0.109, 0.122, 0.096, 0.174, 0.188, 0.163, 0.17],
    ];
    const means = [
      [0.584, 0.557, 0.602, 0.499, 0.575, 0.627, 0.593, 0.586, 0.605, 0.567, 0.53, 0.537],
      [0.519, 0.496, 0.552, 0.571, 0.57, 0.585, 0.557, 0.554, 0.478, 0.516, 0.514, 0.511],
    ];
    const ratios = [denver, atlanta].flatMap((station, which) =>
      station!.map((deviation, month) => deviationOf(daysOf(means[which]![month]!, 6)) / deviation),
    );
    expect(Math.abs(meanOf(ratios) - 1)).toBeLessThan(0.15);
  });

  test('has the same mean where it is reckoned without playing', () => {
    for (const mean of [0.2, 0.35, 0.48, 0.6, 0.72]) {
      const likely = likelyClearness(mean);
      expect(meanOf(likely)).toBeCloseTo(mean, 3);
      const chain = chainOf(mean);
      expect(Math.abs(deviationOf(likely) / chain.deviation - 1)).toBeLessThan(0.05);
      expect([...likely].sort((a, b) => a - b)).toEqual([...likely]);
    }
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
