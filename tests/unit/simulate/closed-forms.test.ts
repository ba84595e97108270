import { describe, expect, test } from 'vitest';
import type { Plan } from '../../../language/src/simulate/plan.js';
import { valueOf } from '../../helpers/quantities.js';
import { ideal, planOf, run, small } from './designs.js';

const HOUR = 3600;
const timesOf = (outcome: { events: readonly { time: number; what: string }[] }, what: string): number[] =>
  outcome.events.filter((event) => event.what === what).map(({ time }) => time / HOUR);

describe('a bank between two thresholds', () => {
  // 300 Ah at a constant 52 V, 1500 W of load through an efficiency of 0.92, 120 A of charge, started at 30 %, stopped at 90 %.
  const plan = async (scenario: string): Promise<Plan> => {
    const made = await planOf(small({ scenario }));
    const perWatt = 1 / 0.92 - 1;
    return {
      ...made,
      banks: [ideal(made.banks[0]!, 52)],
      inverters: [{ ...made.inverters[0]!, idle: 0, linear: perWatt, quadratic: 0, leads: 0 }],
      regulators: [{ ...made.regulators[0]!, droop: 1e-9 }],
    };
  };
  const load = 1500 / (0.92 * 52);
  const capacity = 300;
  const running = (capacity * 0.6) / (120 - load);
  const resting = (capacity * 0.6) / load;

  test('has the closed form of its cycle: C·ΔSOC over the net current', () => {
    // Values of the hand calculation with C = 300 Ah: 31.355 A, 2.0306 h, 5.7408 h, 3.0883 starts and 6.2709 h a day.
    expect(load).toBeCloseTo(31.355, 3);
    expect(running).toBeCloseTo(2.0306, 4);
    expect(resting).toBeCloseTo(5.7408, 4);
  });

  test('starts and stops at the times of the closed form, to the hundredth of a second over ten days', async () => {
    const outcome = run(await plan('duration: 10 d   soc(Bank): 90 %'));
    const starts = timesOf(outcome, 'start');
    const stops = timesOf(outcome, 'stop');
    expect(starts.length).toBe(31);
    starts.forEach((time, at) => expect(time).toBeCloseTo(resting + at * (resting + running), 5));
    stops.forEach((time, at) => expect(time).toBeCloseTo((at + 1) * (resting + running), 5));
    const whole = 30 * (resting + running) + resting;
    expect(outcome.runTime[0]! / HOUR).toBeCloseTo(30 * running + (240 - whole), 4);
  });

  test('burns what the straight line of its fuel curve says', async () => {
    const outcome = run(await plan('duration: 7.7714 h   soc(Bank): 90 %'));
    // 120 A at 52 V over 0.93 is 6.7097 kW of 12 kW; burn runs straight from 0.5 to 4.5 L/h.
    const power = (120 * 52) / 0.93;
    const litres = (0.5 + (4 * power) / 12_000) * running;
    expect(outcome.fuel[0]! * 1000).toBeCloseTo(litres, 3);
    expect(outcome.given[0]!).toBeCloseTo(power * running * HOUR, -2);
  });

  test('draws the capacity times the swing in each cycle', async () => {
    const outcome = run(await plan('duration: 5.7408 h   soc(Bank): 90 %'));
    expect(outcome.drawn[0]! / (capacity * HOUR)).toBeCloseTo(0.6, 4);
  });
});

describe('a year of days with nothing but the set', () => {
  test('needs the hours and the fuel of the closed form', async () => {
    const text = small({ scenario: 'duration: 365 d   soc(Bank): 60 %' });
    const hours = await valueOf(text, 'Set', 'dailyRunTime', 'h');
    const litres = await valueOf(text, 'Set', 'dailyFuel', 'L');
    const made = await planOf(text);
    const [bank, inverter, charger] = [made.banks[0]!, made.inverters[0]!, made.regulators[0]!];
    // As the closed form has it: currents at the nominal voltage, the charge efficiency of the chemistry.
    const plan: Plan = {
      ...made,
      banks: [{ ...ideal(bank, 51.2), efficiency: bank.efficiency, efficiencyFull: bank.efficiency }],
      inverters: [{ ...inverter, leads: 0 }],
      regulators: [{ ...charger, droop: 1e-9 }],
    };
    const outcome = run(plan);
    // What the first and the last cycle leave over is a cycle of about 400 at most.
    expect(outcome.runTime[0]! / HOUR / 365).toBeCloseTo(Number(hours), 1);
    expect(Math.abs(outcome.runTime[0]! / HOUR / 365 / Number(hours) - 1)).toBeLessThan(0.005);
    // The closed form takes the set at its most, 57.6 V; in the play the bank stays at 51.2 V, and the straight line of the fuel with it.
    const most = 0.5 + (4 * (120 * 57.6)) / 0.93 / 12_000;
    const here = 0.5 + (4 * (120 * 51.2)) / 0.93 / 12_000;
    expect(Math.abs((outcome.fuel[0]! * 1000) / 365 / (Number(litres) * (here / most)) - 1)).toBeLessThan(0.005);
  });
});

describe('constant current, then constant voltage', () => {
  /** One cell of 100 Ah by the published table, charged from 20 % to a tail of 5 A. */
  const charge = async (
    amperes: number,
    ohms: number,
  ): Promise<{ current: number; voltage: number; tail: number; soc: number }> => {
    const made = await planOf(
      small({
        bank: '',
        charger: 'float: 50 V',
        load: 'profile: { 00:00..01:00: 0 % }',
        rules: 'control Start of Set { start when soc(Bank) < 99 %   stop when soc(Bank) > 99.99 % }',
        scenario: 'duration: 20 h   soc(Bank): 20 %',
      }),
    );
    const [bank, rectifier] = [made.banks[0]!, made.regulators[0]!];
    const cells = 16;
    const plan: Plan = {
      ...made,
      banks: [
        {
          ...bank,
          capacity: 100 * HOUR,
          // A string of one cell.
          curve: {
            soc: bank.curve.soc,
            volts: bank.curve.volts.map((volts) => volts / cells),
            energy: bank.curve.energy.map((energy) => energy / cells),
          },
          resistance: ohms,
          leads: 0,
          efficiency: 1,
          efficiencyFull: 1,
          selfDischarge: 0,
          chargeLimit: Infinity,
          protectionLow: 0,
          protectionHigh: Infinity,
          tail: 5,
        },
      ],
      regulators: [
        { ...rectifier, currentLimit: amperes, absorb: 3.45, float: 3, tailTime: 0, rebulk: 0, droop: 1e-7 },
      ],
      busVolts: Float64Array.of(3.2),
      inverters: [{ ...made.inverters[0]!, cutOff: 0, reconnect: 0 }],
    };
    const outcome = run(plan);
    const { time } = outcome.recorder;
    const [soc, into, volts] = [outcome.of('soc(Bank)'), outcome.of('current(Bank)'), outcome.of('voltage(Bank)')];
    const held = into.findIndex((value, at) => at > 0 && value < amperes * (1 - 1e-9) && volts[at]! > 3.4499);
    const ended = into.findIndex((value, at) => at > held && value <= 5 + 1e-6);
    return {
      current: time[held - 1]! / HOUR,
      voltage: soc[held - 1]!,
      tail: (time[ended]! - time[held - 1]!) / 60,
      soc: soc[ended]!,
    };
  };

  /*
   * Hand calculation on the published table: the current stays until U(soc) + I·R is 3.45 V; then on each straight stretch of the table
   * the current falls with the time constant R/(dU/dq).
   */
  test.each([
    [20, 0.0005, 3.978, 0.9956, 0.1, 0.9958],
    [20, 0.003, 3.951, 0.9901, 2.4, 0.9955],
    [50, 0.003, 0.618, 0.5089, 73.5, 0.9955],
  ])(
    '%s A into %s ohm reach the voltage after %s h and the tail as worked out by hand',
    async (amperes, ohms, hours, at, minutes, end) => {
      const found = await charge(amperes, ohms);
      expect(found.current).toBeCloseTo(hours, 2);
      expect(found.voltage).toBeCloseTo(at, 3);
      expect(Math.abs(found.tail - minutes)).toBeLessThan(0.06);
      expect(found.soc).toBeCloseTo(end, 4);
    },
  );
});

describe('lead-acid', () => {
  const design = (bank: string, scenario: string): string =>
    small({
      bank: `chemistry: flooded   voltage: 12 V   cells: 6   series: 4   capacityTime: 20 h   ${bank}`,
      inverter: 'cutOff: 40 V',
      scenario,
      rules: '',
    });

  test('gives at a constant current what Peukert’s law says', async () => {
    const made = await planOf(design('peukert: 1.25', 'duration: 20 h   soc(Bank): 100 %'));
    for (const hours of [2, 5, 10]) {
      // t = H·(C/(I·H))^k solved for the current that lasts so long.
      const amperes = (300 / 20) * (20 / hours) ** (1 / 1.25);
      const bank = { ...ideal(made.banks[0]!, 48), peukert: 1.25, ratedCurrent: 15, soc: 1 };
      const watts = amperes * 48;
      const plan: Plan = {
        ...made,
        banks: [bank],
        inverters: [
          {
            ...made.inverters[0]!,
            idle: 0,
            linear: 0,
            quadratic: 0,
            leads: 0,
            limits: { watts: 1e9, voltAmperes: 1e9, legAmperes: 1e9 },
          },
        ],
        loads: [{ ...made.loads[0]!, watts }],
        duration: hours * HOUR,
      };
      const outcome = run(plan);
      expect(outcome.of('soc(Bank)').at(-1)!).toBeCloseTo(0, 6);
    }
  });

  test('gives its rated capacity and no more at its rated current and below', async () => {
    const made = await planOf(design('peukert: 1.25', 'duration: 10 h   soc(Bank): 100 %'));
    const bank = { ...ideal(made.banks[0]!, 48), peukert: 1.25, ratedCurrent: 15 };
    const plan: Plan = {
      ...made,
      banks: [bank],
      loads: [{ ...made.loads[0]!, watts: 7.5 * 48 }],
      inverters: [{ ...made.inverters[0]!, idle: 0, linear: 0, quadratic: 0 }],
    };
    expect(run(plan).of('soc(Bank)').at(-1)!).toBeCloseTo(1 - (7.5 * 10) / 300, 7);
  });

  test('takes less and less as it fills: the missing charge falls with the time constant of its acceptance', async () => {
    const made = await planOf(design('', 'duration: 3 h   soc(Bank): 85 %'));
    const bank = { ...ideal(made.banks[0]!, 48), acceptance: 1 / HOUR, soc: 0.85 };
    const plan: Plan = {
      ...made,
      banks: [bank],
      loads: [],
      sources: [{ ...made.sources[0]!, kind: 'supply' }],
      regulators: [{ ...made.regulators[0]!, absorb: 57.6, float: 57.6, currentLimit: 200, powerLimit: Infinity }],
      control: made.control,
      signals: made.signals.filter(({ among }) => among !== 'loads'),
    };
    const withoutLoads: Plan = {
      ...plan,
      configuration: (live) => ({ ...made.configuration(live), loadFeeder: new Int32Array(0) }),
    };
    const soc = run(withoutLoads).of('soc(Bank)').at(-1)!;
    expect(1 - soc).toBeCloseTo(0.15 * Math.exp(-3), 6);
  });
});
