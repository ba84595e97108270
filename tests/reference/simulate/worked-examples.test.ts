import { describe, expect, test } from 'vitest';
import type { PointWeather } from '../../../language/src/quantities/weather/plans.js';
import type { Plan } from '../../../language/src/simulate/plan.js';
import { ideal, planOf, run, small } from '../../unit/simulate/designs.js';

/* Published examples on charge, fuel and sun, played over time instead of worked out in one formula. */

const HOUR = 3600;
const unlimited = { watts: Infinity, voltAmperes: Infinity, legAmperes: Infinity };

/** A bank of constant voltage that gives a constant current to its load, or takes one from a charger that is always there. */
async function constantCurrent(given: {
  readonly ampereHours: number;
  readonly hours: number;
  readonly soc: number;
  readonly out?: number;
  readonly into?: number;
  readonly peukert?: number;
  readonly rated?: number;
  readonly efficiency?: number;
}): Promise<Plan> {
  const made = await planOf(small({ rules: '', scenario: 'duration: 1 h   soc(Bank): 50 %' }));
  const volts = 48;
  const efficiency = given.efficiency ?? 1;
  return {
    ...made,
    duration: given.hours * HOUR,
    banks: [
      {
        ...ideal(made.banks[0]!, volts),
        capacity: given.ampereHours * HOUR,
        soc: given.soc,
        peukert: given.peukert ?? 1,
        ratedCurrent: given.rated ?? Infinity,
        efficiency,
        efficiencyFull: efficiency,
        protectionLow: 0,
        protectionHigh: Infinity,
        chargeLimit: Infinity,
      },
    ],
    sources: [{ ...made.sources[0]!, kind: 'supply', limits: unlimited }],
    regulators: [
      { ...made.regulators[0]!, currentLimit: given.into ?? 0, absorb: 60, float: 60, droop: 1e-9, link: -1 },
    ],
    inverters: [
      {
        ...made.inverters[0]!,
        limits: unlimited,
        idle: 0,
        linear: 0,
        quadratic: 0,
        leads: 0,
        cutOff: 0,
        reconnect: 0,
      },
    ],
    loads: [{ ...made.loads[0]!, watts: (given.out ?? 0) * volts }],
  };
}

/** Time (h) at which the bank is empty or full. */
function endOf(plan: Plan, name: 'empty' | 'full'): number {
  const outcome = run(plan);
  const soc = outcome.of('soc(Bank)');
  const row = soc.findIndex((value) => (name === 'empty' ? value <= 1e-9 : value >= 1 - 1e-9));
  return row < 0 ? NaN : outcome.recorder.time[row]! / HOUR;
}

describe('Peukert’s law, battery monitor manual p. 27', () => {
  /** Percent of 100 Ah (20 h rate) that are available at a current, by exponent. Some cells of the manual are truncated: ±0.75. */
  const amperes = [5, 10, 16.7, 25, 50, 75, 100, 150, 200, 250, 300, 400, 500];
  const published: readonly (readonly [exponent: number, percent: readonly number[]])[] = [
    [1.1, [100, 93, 88, 85, 79, 76, 74, 71, 69, 67, 66, 64, 63]],
    [1.2, [100, 87, 78, 72, 63, 58, 55, 51, 48, 46, 44, 42, 40]],
    [1.25, [100, 84, 74, 67, 56, 51, 47, 42, 40, 37, 36, 33, 32]],
    [1.3, [100, 81, 69, 62, 50, 44, 41, 36, 33, 31, 30, 27, 25]],
    [1.4, [100, 76, 61, 52, 40, 34, 30, 26, 23, 21, 20, 17, 16]],
    [1.5, [100, 71, 55, 45, 32, 26, 22, 18, 16, 14, 13, 11, 10]],
  ];

  test.each(published)(
    'a bank of exponent %s is empty after the published share of its capacity',
    async (peukert, row) => {
      for (const [at, percent] of row.entries()) {
        const out = amperes[at]!;
        const plan = await constantCurrent({ ampereHours: 100, hours: 21, soc: 1, out, peukert, rated: 5 });
        expect(Math.abs(endOf(plan, 'empty') * out - percent)).toBeLessThan(0.76);
      }
    },
  );

  test('example 1: 200 Ah at 50 A and an exponent of 1.25 give 67 %', async () => {
    const plan = await constantCurrent({ ampereHours: 200, hours: 21, soc: 1, out: 50, peukert: 1.25, rated: 10 });
    expect(((endOf(plan, 'empty') * 50) / 200) * 100).toBeCloseTo(67, 0);
  });

  test('example 2: 100 Ah at 100 A and an exponent of 1.3 give 41 %', async () => {
    const plan = await constantCurrent({ ampereHours: 100, hours: 21, soc: 1, out: 100, peukert: 1.3, rated: 5 });
    expect(endOf(plan, 'empty') * 100).toBeCloseTo(40.7, 1);
  });
});

describe('charging, the formula A = k·C/H + L of charger makers (IEEE 946 practice)', () => {
  test('37.5 A fill 200 Ah beside a load of 10 A in 8 h with a charge factor of 1.1', async () => {
    const plan = await constantCurrent({
      ampereHours: 200,
      hours: 9,
      soc: 0,
      into: 37.5,
      out: 10,
      efficiency: 1 / 1.1,
    });
    expect(endOf(plan, 'full')).toBeCloseTo(8, 3);
  });
});

describe('fuel', () => {
  const burning = async (generator: string, charger: string, hours: number): Promise<number> => {
    const made = await planOf(
      small({
        generator,
        charger,
        rules: 'control Start of Set { start when hour >= 0 h   stop when hour < 0 h }',
        scenario: `duration: ${hours} h   soc(Bank): 10 %`,
      }),
    );
    // A bank that takes all there is, at one voltage.
    const outcome = run({
      ...made,
      banks: [{ ...ideal(made.banks[0]!, 50), capacity: 1e9, soc: 0.1, chargeLimit: Infinity }],
    });
    return outcome.fuel[0]! * 1000;
  };

  test('a 20 kW diesel set at full load burns 6.06 L/h (dealer charts: 1.60 gal/h)', async () => {
    const litres = await burning(
      'rated: 20 kW   apparent: 20 kVA   burn: { 50 %: 3.41 L/h, 100 %: 6.06 L/h }',
      'currentLimit: 2000 A   maximumCurrent: 2000 A   powerFactor: 1',
      8,
    );
    expect(litres).toBeCloseTo(8 * 6.06, 2);
  });

  test('10 kW of diesel at 7 kW for 6.27 h burn 14.58 L by F = 0.045·P_r + 0.268·P', async () => {
    // Straight line through the published rows of 8 to 20 kW sets: 0.45 L/h without load and 3.13 L/h at full load of 10 kW.
    const litres = await burning(
      'rated: 10 kW   apparent: 10 kVA   burn: { 0 %: 0.45 L/h, 100 %: 3.13 L/h }',
      'currentLimit: 2000 A   maximumCurrent: 2000 A   maximumPower: 6510 W',
      6.27,
    );
    expect(litres).toBeCloseTo(14.58, 2);
  });
});

describe('sun', () => {
  test('160 W of modules under 3.20 kWh/m² in a day give 512 Wh, and 409 Wh behind 80 % (project note on NASA data)', async () => {
    const made = await planOf(
      small({
        rules: '',
        more: `
  solar Array {
    power: 160 W   shortCircuitCurrent: 5 A   tilt: 0 deg   azimuth: 180 deg   noct: 45 degC   powerCoefficient: -0.4 %/K
  }
  chargeController Tracker { currentLimit: 70 A   absorb: 56 V   efficiency: 80 % }
  run ArrayRun: Array -> Tracker.solar { }
  run SunRun: Tracker.dc -> Bar { }`,
        load: 'power: 0 W',
        scenario: 'duration: 1 d   soc(Bank): 50 %   sun: clear',
      }),
    );
    // 400 W/m² for eight hours are 3.2 kWh/m²; no losses, no warming, as the note reckons.
    const time = Float64Array.of(-1, 8 * HOUR - 1, 8 * HOUR, 16 * HOUR - 1, 16 * HOUR, 25 * HOUR);
    const weather: PointWeather = {
      kind: 'points',
      time,
      irradiance: Float64Array.of(0, 0, 400, 400, 0, 0),
      temperature: new Float64Array(6).fill(25),
    };
    const plan: Plan = {
      ...made,
      arrays: [{ ...made.arrays[0]!, watts: 160, powerCoefficient: 0 }],
      sun: { ...made.sun, mode: 'file', weather },
      inverters: [{ ...made.inverters[0]!, idle: 0 }],
    };
    const outcome = run(plan);
    expect(outcome.taken[0]! / HOUR).toBeCloseTo(512, 0);
    const amperes = outcome.of('current(Tracker)');
    const watts = outcome.of('power(Tracker)');
    const noon = outcome.recorder.time.findIndex((at) => at > 12 * HOUR);
    expect(watts[noon]! * 8).toBeCloseTo(409.6, 1);
    expect(amperes[noon]!).toBeGreaterThan(0);
  });
});
