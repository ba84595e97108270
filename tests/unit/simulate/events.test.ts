import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Plan } from '../../../language/src/simulate/plan.js';
import { ideal, planOf, run, resultOf, small } from './designs.js';

const HOUR = 3600;
const at = (events: readonly { time: number; what: string; of: string }[], what: string, of?: string): number[] =>
  events.filter((event) => event.what === what && (of === undefined || event.of === of)).map(({ time }) => time);

/** A bank of 52 V without loss that loses 1500 W through an inverter without loss. */
async function plain(parts: Parameters<typeof small>[0], volts = 52): Promise<Plan> {
  const made = await planOf(small(parts));
  return {
    ...made,
    banks: [ideal(made.banks[0]!, volts)],
    regulators: made.regulators.map((regulator) => ({ ...regulator, droop: 1e-9 })),
    inverters: [{ ...made.inverters[0]!, idle: 0, linear: 0, quadratic: 0, leads: 0 }],
  };
}

describe('steps', () => {
  test('are never without length, also where a threshold is crossed at the very end of one', async () => {
    // 52 V and 300 Ah: 1040 W take 20 A, from 60 % to 50 % in exactly 1.5 h, where the profile also changes.
    const plan = await plain({
      load: 'power: 1040 W   profile: { 00:00..01:30: 100 %, 01:30..06:00: 50 % }',
      rules: 'control Start of Set { start when soc(Bank) < 50 %   stop when soc(Bank) > 80 % }',
      scenario: 'duration: 4 h   soc(Bank): 60 %',
    });
    const outcome = run(plan);
    const { time } = outcome.recorder;
    for (let row = 1; row < time.length; row += 1) {
      const step = time[row]! - time[row - 1]!;
      // Rows at one time show a jump; every other step has a length that counts.
      expect(step === 0 || step > 9e-7).toBe(true);
    }
    expect(at(outcome.events, 'start')).toHaveLength(1);
    expect(at(outcome.events, 'start')[0]! / HOUR).toBeCloseTo(1.5, 4);
  });

  test('lose no dip that comes and goes within the longest step', async () => {
    // The pump runs a minute: voltage dips by R·I and comes back long before the next quarter of an hour.
    const design = (threshold: string): string =>
      small({
        bank: 'resistance: 40 mohm',
        load: 'power: 4 kW   profile: { 12:07..12:08: 100 % }',
        rules: `control Start of Set { start when voltage(Bank) < ${threshold}   stop when soc(Bank) > 99 % }`,
        scenario: 'duration: 1 d   soc(Bank): 60 %',
      });
    const seen = await resultOf(design('51 V'), { resolution: 900 });
    expect(at(seen.events, 'start')[0]! / HOUR).toBeCloseTo(12 + 7 / 60, 9);
    const unseen = await resultOf(design('40 V'), { resolution: 900 });
    expect(at(unseen.events, 'start')).toEqual([]);
  });

  test('find a crossing at the same time whatever the longest step', async () => {
    const design = small({
      rules:
        'control Start of Set { start when voltage(Bank) < 51.5 V for 3 min   stop when voltage(Bank) > 54.5 V for 20 min }',
      scenario: 'duration: 3 d   soc(Bank): 90 %',
    });
    const times = await Promise.all(
      [10, 60, 900].map(async (resolution) => at((await resultOf(design, { resolution })).events, 'start')),
    );
    expect(times[0]!.length).toBeGreaterThan(3);
    for (const other of times.slice(1)) {
      expect(other.length).toBe(times[0]!.length);
      other.forEach((time, index) => expect(Math.abs(time - times[0]![index]!)).toBeLessThan(0.05));
    }
  });

  test('bring the same events at the same times however long they may be', async () => {
    const number = (min: number, max: number): fc.Arbitrary<number> =>
      fc.double({ min, max, noNaN: true }).map((value) => Number(value.toPrecision(3)));
    const design = fc
      .record({
        resistance: number(2, 60),
        load: number(200, 4000),
        share: number(10, 100),
        charger: number(30, 200),
        start: number(20, 50),
        window: number(10, 40),
        volts: number(50, 52),
        soc: number(30, 95),
      })
      .map((d) =>
        small({
          bank: `resistance: ${d.resistance} mohm   capacity: 150 Ah`,
          charger: `currentLimit: ${d.charger} A   maximumCurrent: 200 A   absorb: 56 V   float: 54 V`,
          inverter: 'cutOff: 47 V   reconnect: 51 V',
          load: `power: ${d.load} W   profile: { 00:00..06:00: ${d.share} %, 07:30..12:00: 100 %, 17:10..23:00: ${d.share} % }`,
          rules: `control Start of Set {
            start when soc(Bank) < ${d.start} % or voltage(Bank) < ${d.volts} V for 2 min
            stop when soc(Bank) > ${d.start + d.window} %
            warmUp: 1 min   coolDown: 2 min   minimumRun: 20 min   quiet: 22:00..06:30 unless soc(Bank) < 15 %
          }`,
          scenario: `duration: 3 d   soc(Bank): ${d.soc} %`,
        }),
      );
    let seen = 0;
    await fc.assert(
      fc.asyncProperty(design, async (text) => {
        const plan = await planOf(text);
        const [long, short] = [900, 17].map((longestStep) => run(plan, { longestStep }));
        seen += long!.events.length;
        expect(long!.events.map(({ what, of }) => `${what} ${of}`)).toEqual(
          short!.events.map(({ what, of }) => `${what} ${of}`),
        );
        long!.events.forEach(({ time }, row) => expect(Math.abs(time - short!.events[row]!.time)).toBeLessThan(0.05));
      }),
      { numRuns: 25, seed: 5 },
    );
    expect(seen).toBeGreaterThan(200);
  });

  test('count no event twice where a threshold is touched and left again', async () => {
    const outcome = run(
      await plain({
        load: 'power: 1040 W   profile: { 00:00..03:00: 100 % }',
        rules: 'control Start of Set { start when soc(Bank) <= 40 %   stop when soc(Bank) >= 40.01 % }',
        scenario: 'duration: 12 h   soc(Bank): 60 %',
      }),
    );
    // 20 A for 3 h take exactly 20 %: the bank touches 40 %.
    expect(at(outcome.events, 'start').length).toBeLessThanOrEqual(1);
  });
});

describe('rules over time', () => {
  test('wait their dwell, warm up, run at least their least time and cool down', async () => {
    const outcome = run(
      await plain({
        rules: `control Start of Set {
          start when soc(Bank) < 50 % for 2 min   stop when soc(Bank) > 50.5 %
          warmUp: 3 min   coolDown: 5 min   minimumRun: 45 min   minimumRest: 30 min
        }`,
        scenario: 'duration: 6 h   soc(Bank): 51 %',
      }),
    );
    const crossed = (0.01 * 300 * HOUR) / (1500 / 52);
    expect(at(outcome.events, 'start')[0]!).toBeCloseTo(crossed + 120, 1);
    expect(at(outcome.events, 'loaded')[0]! - at(outcome.events, 'start')[0]!).toBeCloseTo(180, 6);
    // 45 minutes from the start, then five of cooling.
    expect(at(outcome.events, 'stop')[0]! - at(outcome.events, 'start')[0]!).toBeCloseTo(45 * 60 + 300, 6);
  });

  test('keep quiet hours, and break them for their exception', async () => {
    const design = (unless: string): string =>
      small({
        rules: `control Start of Set { start when soc(Bank) < 50 %   stop when soc(Bank) > 60 %   quiet: 22:00..06:30 ${unless} }`,
        scenario: 'at: 20:00   duration: 12 h   soc(Bank): 75 %',
      });
    const kept = await resultOf(design(''));
    expect(at(kept.events, 'start')[0]! / HOUR).toBeCloseTo(10.5, 9);
    const broken = await resultOf(design('unless soc(Bank) < 45 %'));
    expect(at(broken.events, 'start')[0]! / HOUR).toBeLessThan(6);
    expect(at(broken.events, 'start')[0]! / HOUR).toBeGreaterThan(2);
  });

  test('go by their fallback while a link is lost, after its time-out', async () => {
    const result = await resultOf(
      small({
        bank: 'protocol: "invented"',
        more: 'link Line: Bank -> Rect { medium: rs485   timeOut: 10 min }',
        rules: `control Start of Set {
          start when soc(Bank) < 10 %   stop when soc(Bank) > 90 %
          without Line { start when voltage(Bank) < 60 V   stop when voltage(Bank) > 61 V }
        }`,
        scenario: 'duration: 6 h   soc(Bank): 60 %   lost(Line): 1 h .. 2 h',
      }),
    );
    expect(at(result.events, 'lost', 'Line')).toEqual([HOUR]);
    expect(at(result.events, 'back', 'Line')).toEqual([2 * HOUR]);
    expect(at(result.events, 'start')[0]).toBeCloseTo(HOUR + 600, 4);
  });

  test('shed a load and give it back, and count what it missed as shed and not as unserved', async () => {
    const result = await resultOf(
      small({
        load: 'power: 3 kW   profile: always',
        rules: `control Start of Set { start when soc(Bank) < 40 %   stop when soc(Bank) > 60 % }
          control Save of House { off when soc(Bank) < 45 %   on when soc(Bank) > 55 % }`,
        scenario: 'duration: 2 d   soc(Bank): 70 %',
      }),
    );
    expect(at(result.events, 'shed', 'House').length).toBeGreaterThan(0);
    const { shed, unserved, energy } = result.totals[0]!;
    expect(unserved.get('House')).toBe(0);
    expect(shed.get('House')! + energy.get('House')!).toBeCloseTo(3000 * 2 * 86400, 3);
    // The bank only rests once the load is off: nothing starts the set, and the load stays off.
    expect(at(result.events, 'start')).toEqual([]);
  });

  test('by the clock act at their hour on every day', async () => {
    const result = await resultOf(
      small({
        rules: 'control Start of Set { start when hour > 8 h and hour < 9 h   stop when hour >= 9 h }',
        scenario: 'at: 05:00   duration: 3 d   soc(Bank): 60 %',
      }),
    );
    expect(at(result.events, 'start').map((time) => time / HOUR)).toEqual(
      [3, 27, 51].map((hour) => expect.closeTo(hour, 6)),
    );
    expect(at(result.events, 'stop').map((time) => time / HOUR)).toEqual(
      [4, 28, 52].map((hour) => expect.closeTo(hour, 6)),
    );
  });
});

describe('gear', () => {
  test('an inverter cuts off after its delay and starts again once the bank has come back', async () => {
    const result = await resultOf(
      small({
        inverter: 'cutOff: 49 V   reconnect: 52.4 V',
        rules: 'control Start of Set { start when hour > 18 h   stop when hour < 18 h }',
        scenario: 'duration: 1 d   soc(Bank): 30 %',
      }),
    );
    const [trip] = at(result.events, 'trip', 'Inv');
    const [restart] = at(result.events, 'restart', 'Inv');
    expect(trip! / HOUR).toBeGreaterThan(1);
    expect(trip! / HOUR).toBeLessThan(18);
    // Unloaded, the bank rests above its cut-off but below 52.4 V until it is charged.
    expect(restart! / HOUR).toBeGreaterThan(18);
    expect(result.totals[0]!.unserved.get('House')!).toBeCloseTo(1500 * (restart! - trip!), 0);
  });

  test('a bank whose protection has opened gives nothing until it is charged; one that needs a person never again', async () => {
    const design = (reset: string): string =>
      small({
        bank: `protectionLow: 48 V   reset: ${reset}`,
        inverter: 'cutOff: 40 V   reconnect: 51 V',
        rules: 'control Start of Set { start when hour > 18 h   stop when hour < 18 h }',
        scenario: 'duration: 1 d   soc(Bank): 30 %',
      });
    const automatic = await resultOf(design('automatic'));
    expect(at(automatic.events, 'open', 'Bank').length).toBe(1);
    expect(at(automatic.events, 'close', 'Bank').length).toBe(1);
    const manual = await resultOf(design('manual'));
    expect(at(manual.events, 'close', 'Bank')).toEqual([]);
    const column = manual.series.columns.find(({ name }) => name === 'soc(Bank)')!.values;
    const open = at(manual.events, 'open', 'Bank')[0]!;
    const there = column[manual.series.time.findIndex((time) => time > open)]!;
    // Only self-discharge moves it any more.
    expect(column.at(-1)!).toBeLessThanOrEqual(there);
    expect(there - column.at(-1)!).toBeLessThan(0.001);
    const current = manual.series.columns.find(({ name }) => name === 'current(Bank)')!.values;
    expect(manual.series.time.every((time, row) => time <= open || current[row] === 0)).toBe(true);
  });

  test('cells below their charging temperature take nothing, unless they are warmed', async () => {
    const design = (more: string): string =>
      small({
        bank: `cellTemperature: -5 degC   chargeTemperature: 0..50 degC   ${more}`,
        scenario: 'duration: 1 d   soc(Bank): 35 %',
      });
    const cold = await resultOf(design(''));
    const into = cold.series.columns.find(({ name }) => name === 'current(Bank)')!.values;
    expect(Math.max(...into)).toBeLessThanOrEqual(0);
    expect(cold.assumptions.join(' ')).toContain('accepts no charge');
    const warmed = await resultOf(design('heater: yes'));
    expect(Math.max(...warmed.series.columns.find(({ name }) => name === 'current(Bank)')!.values)).toBeGreaterThan(50);
  });

  test('a load whose start its inverter cannot carry stands still until it is tried again', async () => {
    const design = (surge: string): string =>
      small({
        inverter: `surge: ${surge}`,
        load: 'power: 1 kW   startFactor: 5   profile: { 08:00..09:00: 100 %, 20:00..21:00: 100 % }',
        scenario: 'duration: 1 d   soc(Bank): 80 %',
      });
    const strong = await resultOf(design('5.1 kW'));
    expect(at(strong.events, 'stalled')).toEqual([]);
    const weak = await resultOf(design('4.9 kW'));
    expect(at(weak.events, 'stalled').map((time) => time / HOUR)).toEqual([8, 20]);
    expect(weak.totals[0]!.unserved.get('House')!).toBeCloseTo(1000 * 2 * HOUR, 3);
  });

  test('loads beyond the rating of their inverter are left out by priority, each as a whole', async () => {
    const result = await resultOf(
      small({
        inverter: 'rated: 2 kW   apparent: 2 kVA',
        load: 'power: 1.5 kW   priority: 2',
        more: `load Lamp { power: 600 W   voltage: 230 V   profile: always   priority: 1 }
          load Radio { power: 300 W   voltage: 230 V   profile: always   priority: 3 }
          run LampRun: Inv.ac -> Lamp { }
          run RadioRun: Inv.ac -> Radio { }`,
        scenario: 'duration: 1 h   soc(Bank): 80 %',
      }),
    );
    const { energy, unserved } = result.totals[0]!;
    expect(energy.get('Lamp')).toBeCloseTo(600 * HOUR, 6);
    expect(energy.get('House')).toBe(0);
    expect(energy.get('Radio')).toBeCloseTo(300 * HOUR, 6);
    expect(unserved.get('House')).toBeCloseTo(1500 * HOUR, 6);
    expect(result.events.filter(({ what }) => what === 'overload')).toEqual([
      { time: 0, what: 'overload', of: 'House' },
    ]);
  });

  test('a charger that stops without its link gives nothing while it is lost; others go on', async () => {
    const charged = async (lostLink: string): Promise<number> => {
      const result = await resultOf(
        small({
          bank: 'protocol: "invented"',
          charger: `lostLink: ${lostLink}`,
          more: 'link Line: Bank -> Rect { medium: rs485   timeOut: 0 s }',
          rules: 'control Start of Set { start when hour >= 0 h   stop when hour < 0 h }',
          scenario: 'duration: 2 h   soc(Bank): 40 %   lost(Line): 0 h .. 1 h',
        }),
      );
      const rect = result.series.columns.find(({ name }) => name === 'current(Rect)')!.values;
      const early = result.series.time.findIndex((time) => time > HOUR / 2);
      return rect[early]!;
    };
    expect(await charged('stop')).toBe(0);
    expect(await charged('defaults')).toBeCloseTo(120, 9);
  });

  test('the tank is filled again whenever it is empty, and each time is noted', async () => {
    const result = await resultOf(small({ generator: 'tank: 5 L', scenario: 'duration: 3 d   soc(Bank): 90 %' }));
    const litres = result.totals[0]!.fuel.get('Set')! * 1000;
    expect(at(result.events, 'out of fuel').length).toBe(Math.floor(litres / 5));
    expect(result.assumptions.join(' ')).toContain('filled again');
  });
});
