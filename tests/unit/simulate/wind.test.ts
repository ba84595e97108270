import { describe, expect, test } from 'vitest';
import {
  type PowerCurve,
  energyPattern,
  gamma,
  meanPower,
  mostPower,
  turbinePower,
  weibullBelow,
  weibullScale,
} from '../../../language/src/equipment/wind-power.js';
import { DayWind, normalAbove } from '../../../language/src/quantities/weather/day-wind.js';
import type { TurbinePlan, WindPlan } from '../../../language/src/quantities/weather/plans.js';
import { Random } from '../../../language/src/simulate/random.js';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, findingsOf } from '../../helpers/analyse.js';
import { derivationOf } from '../../helpers/quantities.js';
import { playText, resultOf } from './designs.js';

/** A curve of 3 kW of usual shape, no product's. */
const WATTS = [0, 0, 0, 50, 150, 350, 650, 1050, 1500, 2000, 2450, 2800, ...new Array<number>(9).fill(3000)];
const curve = (more: Partial<PowerCurve> = {}): PowerCurve => ({
  speeds: Float64Array.from(WATTS, (_, speed) => speed),
  watts: Float64Array.from(WATTS),
  regulation: 'stall',
  most: Infinity,
  ...more,
});
const TABLE = `{ ${WATTS.map((watts, speed) => `${speed} m/s: ${watts} W`)
  .slice(2)
  .join(', ')} }`;

describe('the wind as a distribution', () => {
  test('has the published pattern of energy and scale', () => {
    // Mean of the cubes over the cube of the mean at k of 1.5, 2, 2.5 and 3 (6/π at k = 2), and c over the mean, by tables of the gamma function.
    for (const [shape, pattern] of [
      [1.5, 2.7185],
      [2, 6 / Math.PI],
      [2.5, 1.5774],
      [3, 1.4044],
    ] as const)
      expect(Math.abs(energyPattern(shape) - pattern)).toBeLessThan(5e-4);
    for (const [shape, scale] of [
      [1.5, 1.1077],
      [2, 1.1284],
      [3, 1.1198],
    ] as const) {
      expect(Math.abs(weibullScale(1, shape) - scale)).toBeLessThan(1e-4);
      // Errata of a wind textbook: c/mean ≈ (0.568 + 0.433/k)^(−1/k), within 0.1 %.
      expect(Math.abs(weibullScale(1, shape) / (0.568 + 0.433 / shape) ** (-1 / shape) - 1)).toBeLessThan(1.5e-3);
    }
    expect([1, 1.5, 2, 3, 4].map(gamma).map((value) => Number(value.toPrecision(10)))).toEqual([
      1, 0.8862269255, 1, 2, 6,
    ]);
  });

  test('leaves as many hours as Masters has below the cut-in, at rated power and above the cut-out', () => {
    // Chapter 6, from memory: Rayleigh, mean 7 m/s; below 4, from 14 to 25, above 25 m/s.
    const below = (speed: number): number => 8760 * weibullBelow(speed, weibullScale(7, 2), 2);
    expect(Math.abs(below(4) - 1981)).toBeLessThan(1.5);
    expect(Math.abs(below(25) - below(14) - 378)).toBeLessThan(1.5);
    expect(Math.abs(8760 - below(25) - 0.39)).toBeLessThan(0.01);
  });

  test('makes a turbine give in a year what the classes of speed sum up to', () => {
    // Worked out beside this program: Rayleigh means of 4 to 7 m/s, classes of 1 m/s, the power in the middle of each; to 1 kWh.
    for (const [mean, energy] of [
      [4, 2925.3],
      [5, 5309.5],
      [6, 7914.5],
      [7, 10387.5],
    ] as const) {
      expect(Math.abs((8760 * meanPower(curve(), mean, 2, 1.225, 1)) / 1000 - energy)).toBeLessThan(1);
      // Finer classes change it by little.
      expect(Math.abs((8760 * meanPower(curve(), mean, 2, 1.225)) / 1000 / energy - 1)).toBeLessThan(0.01);
    }
  });

  test('stands above values of a normal distribution as tables have it', () => {
    // Tables of the normal distribution: 0.5, 0.158655, 0.022750, 0.001350 above 0 to 3.
    for (const [value, share] of [
      [0, 0.5],
      [1, 0.158655],
      [2, 0.02275],
      [3, 0.00135],
    ] as const) {
      expect(Math.abs(normalAbove(value) - share)).toBeLessThan(1e-6);
      expect(Math.abs(normalAbove(-value) - (1 - share))).toBeLessThan(1e-6);
    }
  });
});

describe('a power curve', () => {
  test('runs straight between its points, and gives nothing beyond its ends', () => {
    expect([5, 5.5, 12, 20].map((speed) => turbinePower(curve(), speed, 1.225))).toEqual([350, 500, 3000, 3000]);
    expect([0, 2.5, 20.1, NaN].map((speed) => turbinePower(curve(), speed, 1.225))).toEqual([0, 25, 0, 0]);
    expect(turbinePower(curve({ most: 2200 }), 12, 1.225)).toBe(2200);
  });

  test('is lowered by thin air, or felt as less wind by what is turned or furled (IEC 61400-12-1)', () => {
    const [thin, ratio] = [0.98, 0.98 / 1.225];
    expect(turbinePower(curve(), 8, thin)).toBeCloseTo(1500 * ratio, 9);
    const pitch = curve({ regulation: 'pitch' });
    expect(turbinePower(pitch, 8, thin)).toBeCloseTo(turbinePower(pitch, 8 * Math.cbrt(ratio), 1.225), 9);
    expect(turbinePower(pitch, 15, thin)).toBe(3000);
    expect([mostPower(curve(), thin), mostPower(pitch, thin)]).toEqual([3000 * ratio, 3000]);
  });
});

describe('wind from hour to hour', () => {
  const months = Array.from({ length: 12 }, (_, month) => 4 + month / 4);
  const plan = (more: Partial<WindPlan> = {}): WindPlan => ({
    mode: 'months',
    speedByMonth: months,
    shape: 1.85,
    persistence: 0.8,
    swing: 0.135,
    yearSpread: 0.05,
    zoneHours: 0,
    ...more,
  });
  /** A turbine whose W are m/s. */
  const vane = (more: Partial<TurbinePlan> = {}): TurbinePlan => ({
    name: 'Vane',
    curve: { speeds: Float64Array.of(0, 500), watts: Float64Array.of(0, 500), regulation: 'stall', most: Infinity },
    hubFactor: 1,
    density: 1.225,
    meanByMonth: Float64Array.from(months),
    ...more,
  });
  /** Speeds of every hour of some years, by month. */
  function speedsOf(
    wind: WindPlan,
    years: number,
    seed = 5,
  ): { month: number; hour: number; speed: number; year: number }[] {
    const day = new DayWind(wind, [vane()], new Random(seed));
    const found = [];
    for (let year = 2001; year < 2001 + years; year += 1)
      for (let date = new Date(Date.UTC(year, 0, 1)), at = 1; date.getUTCFullYear() === year; at += 1) {
        day.fill(at, year, 0);
        for (let hour = 0; hour < 24; hour += 1)
          found.push({ month: date.getUTCMonth(), hour, speed: day.watts[0]![hour]!, year });
        date.setUTCDate(date.getUTCDate() + 1);
      }
    return found;
  }
  const meanOf = (values: readonly number[]): number => values.reduce((sum, each) => sum + each, 0) / values.length;
  const deviationOf = (values: readonly number[]): number => {
    const mean = meanOf(values);
    return Math.sqrt(meanOf(values.map((value) => (value - mean) ** 2)));
  };

  test('has the stated means, shape, persistence and swing over many years', () => {
    const hours = speedsOf(plan({ speedByMonth: new Array<number>(12).fill(4), yearSpread: 0 }), 20);
    const speeds = hours.map(({ speed }) => speed);
    expect(Math.abs(meanOf(speeds) / 4 - 1)).toBeLessThan(0.02);
    // Denver, public typical year: Weibull k of 1.852 by the moments of all hours, so a deviation of 0.567 of the mean; correlation of hours 0.694 to 0.929 at five stations.
    expect(Math.abs(deviationOf(speeds) / meanOf(speeds) / 0.56 - 1)).toBeLessThan(0.06);
    const mean = meanOf(speeds);
    const lag =
      meanOf(speeds.slice(1).map((speed, at) => (speed - mean) * (speeds[at]! - mean))) / deviationOf(speeds) ** 2;
    expect(lag).toBeGreaterThan(0.69);
    expect(lag).toBeLessThan(0.85);
    const byHour = Array.from({ length: 24 }, (_, hour) =>
      meanOf(hours.filter((each) => each.hour === hour).map(({ speed }) => speed)),
    );
    expect(byHour.indexOf(Math.max(...byHour))).toBeGreaterThanOrEqual(13);
    expect(byHour.indexOf(Math.max(...byHour))).toBeLessThanOrEqual(16);
    expect(Math.abs((Math.max(...byHour) - mean) / mean - 0.135)).toBeLessThan(0.03);
  });

  test('follows the months, and lets years differ', () => {
    const hours = speedsOf(plan(), 40);
    months.forEach((mean, month) => {
      const found = meanOf(hours.filter((each) => each.month === month).map(({ speed }) => speed));
      expect(Math.abs(found / mean - 1)).toBeLessThan(0.06);
    });
    const years = Array.from({ length: 40 }, (_, at) =>
      meanOf(hours.filter(({ year }) => year === 2001 + at).map(({ speed }) => speed)),
    );
    const spread = deviationOf(years) / meanOf(years);
    expect(spread).toBeGreaterThan(0.03);
    expect(spread).toBeLessThan(0.08);
  });

  test('is the same for the same seed, the mean without one, and nothing or all where the scenario says so', () => {
    expect(speedsOf(plan(), 1, 7)).toEqual(speedsOf(plan(), 1, 7));
    expect(speedsOf(plan(), 1, 7)).not.toEqual(speedsOf(plan(), 1, 8));
    const without = new DayWind(plan(), [vane()]);
    without.fill(40, 2027, 0);
    expect(new Set(without.watts[0])).toEqual(new Set([4.25]));
    for (const [mode, watts] of [
      ['none', 0],
      ['strong', 500],
    ] as const) {
      const day = new DayWind(plan({ mode }), [vane()], new Random(1));
      day.fill(40, 2027, 0);
      expect(new Set(day.watts[0])).toEqual(new Set([watts]));
    }
  });

  test('comes from a file, carried to the height of the hub', () => {
    const time = Float64Array.from({ length: 25 }, (_, hour) => hour * 3600);
    const zero = new Float64Array(25);
    const weather = {
      kind: 'points',
      time,
      irradiance: zero,
      temperature: zero,
      wind: time.map((at) => at / 3600),
    } as const;
    const day = new DayWind(plan({ mode: 'file', weather }), [vane({ hubFactor: 1.2 })], new Random(1));
    day.fill(40, 2027, 0);
    expect(day.watts[0]![6]).toBeCloseTo(1.2 * 6.5, 9);
  });
});

/** An invented hill with one turbine of 3 kW. */
const hill = (more = '', turbine = '', site = 'windSpeed: 5 m/s'): string => `design Hill {
  site { altitude: 0 m   ambient: 15 degC   latitude: 50 deg   longitude: 10 deg   ${site} }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 2000 Ah   resistance: 5 mohm   cellTemperature: 25 degC }
  wind Mill { rated: 3 kW   voltage: 57 V   currentLimit: 60 A   hubHeight: 10 m   powerCurve: ${TABLE}   heldBy: diversion   diversionPower: 4 kW   ${turbine} }
  load Lamp { power: 300 W   supply: dc   profile: always }
  run Line: Bank -> Lamp { size: 6 mm2   length: 2 m }
  run Mast: Mill -> Bank { size: 50 mm2   length: 4 m }
  ${more}
}
`;
const valueOf = async (
  ...[text, thing, name, unit]: readonly [...Parameters<typeof derivationOf>, string]
): Promise<number> => numberIn(await derivationOf(text, thing, name), unit);

describe('a wind turbine in a design', () => {
  test('gives in a year what its curve makes of the wind at its hub', async () => {
    expect((await valueOf(hill(), 'Mill', 'yearlyEnergy', 'kWh')) / 5309.5).toBeCloseTo(1, 1);
    const high = await valueOf(
      hill('', 'hubHeight: 30 m   shear: 0.2').replace('hubHeight: 10 m', ''),
      'Mill',
      'yearlyEnergy',
      'kWh',
    );
    // (30/10)^0.2 times the speed: 6.23 m/s.
    expect(high / ((8760 * meanPower(curve(), 5 * 3 ** 0.2, 2, 1.2254)) / 1000)).toBeCloseTo(1, 2);
    const poorest = hill(
      '',
      '',
      `windByMonth: { ${Array.from({ length: 12 }, (_, at) => `${at + 1}: ${at === 6 ? 3 : 5} m/s`).join(', ')} }`,
    );
    const day = await derivationOf(poorest, 'Mill', 'dailyEnergy');
    expect(numberIn(day, 'Wh')).toBe(numberIn(day.parts['month7']!, 'Wh'));
    expect(numberIn(day, 'Wh') / (24 * meanPower(curve(), 3, 2, 1.2254))).toBeCloseTo(1, 2);
  });

  test('gives most in a gale, which conductors are for, and nothing that can be counted on', async () => {
    expect(await valueOf(hill(), 'Mast', 'current', 'A')).toBe(60);
    const small = hill('', 'rated: 1500 W').replace('rated: 3 kW', '');
    // At the lowest voltage of the bank, 40 V.
    expect(await valueOf(small, 'Mill', 'outputCurrent', 'A')).toBeCloseTo(1500 / 40, 6);
    const asked = await analyseText(hill('require netChargeCurrent(Bank) >= 0 A'));
    expect(asked.requirements[0]!.undecided).toContain('the wind may be still at any one time');
  });

  test('is asked for what its wind rests on', async () => {
    const lacking = async (text: string): Promise<readonly string[]> => {
      const { context, system } = (await analyseText(text)).designs[0]!;
      const result = context.quantity(
        system.instances.find(({ name }) => name === 'Mill')!,
        'dailyEnergy',
      );
      return result.kind === 'missing' ? result.missing : [];
    };
    expect(await lacking(hill('', '', ''))).toEqual(['windSpeed of the site']);
    expect(await lacking(hill().replace('hubHeight: 10 m', ''))).toEqual(['hubHeight of Mill']);
    const bad = (await analyseText(hill().replace('4 m/s: 150 W', '4 m/s: -150 W'))).designs[0]!;
    const mill = bad.system.instances.find(({ name }) => name === 'Mill')!;
    expect(bad.context.quantity(mill, 'dailyEnergy')).toMatchObject({ kind: 'refused' });
    expect(await lacking(hill('', '', 'windByMonth: { 1: 5 m/s }'))).toContain('windByMonth of the site for month 2');
    expect(await lacking(hill().replace(/powerCurve: \{[^}]*\}/, ''))).toEqual(['what drives Mill']);
  });

  test('brings its mean into the balance of the months', async () => {
    const [brought, alone] = await Promise.all([
      derivationOf(hill(), 'Bank', 'yearlyBalance'),
      valueOf(hill(), 'Mill', 'yearlyEnergy', 'kWh'),
    ]);
    expect(numberIn(brought.parts['brought']!, 'kWh')).toBeCloseTo(alone, 6);
    const still = await analyseText(hill('', '', 'windSpeed: 2 m/s').replace('power: 300 W', 'power: 400 W'));
    expect(findingsOf(still, 'energy-deficit').map(({ headline }) => headline)).toHaveLength(1);
  });

  test('needs a diversion load for all that a gale makes it give', async () => {
    const short = findingsOf(
      await analyseText(hill().replace('diversionPower: 4 kW', 'diversionPower: 2 kW')),
      'diversion-load',
    );
    expect(short.map(({ headline }) => headline)).toEqual([
      'The diversion load of Mill accepts 2 kW; the turbine makes up to 3 kW',
    ]);
  });

  const scenario = (more: string): string => hill(`scenario Play { from: 2027-01-01   soc(Bank): 50 %   ${more} }`);

  test('is played with the wind of the months, each run its own, and its books close', async () => {
    const { totals } = await resultOf(scenario('duration: 60 d   wind: months   runs: 24   seed: 2'), {
      resolution: 3600,
    });
    const given = totals.map(({ energy, curtailed }) => (energy.get('Mill')! + curtailed.get('Mill')!) / 3.6e6);
    expect(new Set(given).size).toBe(24);
    const mean = given.reduce((sum, each) => sum + each, 0) / 24;
    // What the bank did not take stands in both: the diversion load is part of what the turbine gave. The mean of 60 days is 5309.5 · 60/365 = 873 kWh.
    const diverted = totals.reduce((sum, { balance }) => sum + balance.diverted, 0) / 24 / 3.6e6;
    expect(Math.abs((mean - diverted) / 873 - 1)).toBeLessThan(0.1);
  });

  test('gives nothing in still air, and its curve in a file', async () => {
    const calm = await resultOf(scenario('duration: 1 d   wind: none'));
    expect(calm.totals[0]!.energy.get('Mill')).toBe(0);
    const rows = Array.from(
      { length: 25 },
      (_, at) => `2027-01-0${at < 24 ? 1 : 2}T${String(at % 24).padStart(2, '0')}:00,0,5,6`,
    );
    const windy = await resultOf(scenario('duration: 1 d   weather: "hill.csv"'), {
      weatherText: () => ['time,irradiance,temperature,wind', ...rows].join('\n'),
    });
    expect(windy.totals[0]!.energy.get('Mill')! / 3.6e6).toBeCloseTo((24 * 650 * 1.2254) / 1.225 / 1000, 2);
    const lost = await resultOf(scenario('duration: 1 d   wind: strong   lost(Mill): 0 h .. 6 h'));
    expect(lost.totals[0]!.energy.get('Mill')! / 3.6e6).toBeCloseTo(18 * 3, 0);
  });

  test('is not played without a word on the wind', async () => {
    expect(await playText(scenario('duration: 1 d'))).toEqual({ kind: 'missing', missing: ['wind of Play'] });
    const text = scenario('duration: 1 d   wind: months').replace('windSpeed: 5 m/s', '');
    expect(await playText(text)).toEqual({ kind: 'missing', missing: ['windSpeed of the site'] });
  });
});
