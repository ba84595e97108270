import { describe, expect, test } from 'vitest';
import type { ScenarioResult } from '../../../language/src/index.js';
import { playText, resultOf, small } from './designs.js';

const HOUR = 3600;
const column = (result: ScenarioResult, name: string): Float64Array =>
  result.series.columns.find((each) => each.name === name)!.values;
/** Value of a column at a time, from the row before. */
function valueAt(result: ScenarioResult, name: string, time: number): number {
  const { time: times } = result.series;
  let row = 0;
  while (row + 1 < times.length && times[row + 1]! <= time) row += 1;
  return column(result, name)[row]!;
}

/** A house on shore power through an inverter that passes it on and charges with what is left. */
const shore = (inverter: string, scenario: string, mains = 'rating: 16 A'): string => `
design Shore {
  site { altitude: 0 m   ambient: 20 degC   latitude: 45 deg   longitude: 15 deg }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 200 Ah   resistance: 12 mohm   cellTemperature: 25 degC }
  grid Mains { voltage: 230 V   ${mains} }
  inverter Inv {
    rated: 5 kW   apparent: 5 kVA   surge: 10 kW   voltage: 230 V   efficiency: 93 %   idle: 30 W   cutOff: 46 V   reconnect: 51 V
    passThrough: yes   currentLimit: 70 A   absorb: 56 V   float: 54 V   chargeEfficiency: 90 %   powerFactor: 1   input: 180..264 V
    ${inverter}
  }
  load House { power: 2 kW   voltage: 230 V   profile: always }
  bus Bar { rating: 400 A }
  run BankRun: Bank -> Bar { }
  run InvRun: Bar -> Inv.dc { }
  run MainsRun: Mains -> Inv.input { }
  run HouseRun: Inv.ac -> House { }
  scenario Play { from: 2027-01-10   ${scenario} }
}
`;

describe('a set that stands in for the grid', () => {
  const standby = (start: string, stop: string): string => `
design Standby {
  site { altitude: 0 m   ambient: 20 degC   latitude: 45 deg   longitude: 15 deg }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 200 Ah   resistance: 12 mohm   cellTemperature: 25 degC }
  grid Mains { voltage: 120/240 V   rating: 30 A }
  generator Set { rated: 6 kW   apparent: 6 kVA   voltage: 120/240 V   fuel: diesel   powerFactor: 1 }
  transfer Ats { }
  charger Rect { currentLimit: 40 A   maximumCurrent: 40 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 1   input: 180..264 V }
  load Fan { power: 500 W   supply: dc   profile: always }
  run MainsRun: Mains -> Ats.normal { }
  run SetRun: Set -> Ats.standby { }
  run Out: Ats.out -> Rect.ac { }
  run Feed: Rect.dc -> Bank { }
  run Line: Bank -> Fan { }
  control Standby of Set { start when ${start}   stop when ${stop} }
  scenario Play { from: 2027-01-10   duration: 2 d   soc(Bank): 80 %   lost(Mains): 6 h .. 30 h }
}
`;

  test.each([
    ['lost(Mains) for 30 s', 'not lost(Mains) for 5 min'],
    ['voltage(Mains) < 200 V for 30 s', 'voltage(Mains) > 200 V for 5 min'],
  ])('starts by `%s` and stops by `%s`, on the second', async (start, stop) => {
    const { events, assumptions } = await resultOf(standby(start, stop));
    const own = events.filter(({ of }) => of === 'Set').map(({ what, time }) => [what, time]);
    expect(own).toEqual([
      ['start', 6 * HOUR + 30],
      ['loaded', 6 * HOUR + 30],
      ['stop', 30 * HOUR + 300],
    ]);
    expect(assumptions).toContain('voltage(Mains) is its nominal voltage while it is there, else 0 V');
  });

  test('makes voltage as soon as it turns, before it is loaded', async () => {
    const text = standby('lost(Mains)', 'not lost(Mains)').replace(
      'control Standby of Set {',
      'control Warm of Fan { off when voltage(Set) > 200 V   on when voltage(Set) < 200 V }\n  control Standby of Set { warmUp: 2 min  ',
    );
    const { events } = await resultOf(text);
    const at = (what: string, of: string): number[] =>
      events.filter((each) => each.what === what && each.of === of).map(({ time }) => time);
    expect(at('shed', 'Fan')).toEqual(at('start', 'Set'));
    expect(at('loaded', 'Set')[0]! - at('start', 'Set')[0]!).toBe(120);
  });

  test('cannot be played by a voltage that is not stated, or where there is none', async () => {
    const unknown = standby('voltage(Mains) < 200 V', 'voltage(Mains) > 200 V').replace(
      'voltage: 120/240 V   rating',
      'rating',
    );
    expect(await playText(unknown)).toMatchObject({ kind: 'missing' });
    const board = standby('voltage(Ats) < 200 V', 'voltage(Ats) > 220 V');
    expect(await playText(board)).toMatchObject({
      kind: 'refused',
      reason: expect.stringContaining(
        'voltage(Ats) is not simulated: banks, direct-current buses and supplies have one',
      ),
    });
  });
});

describe('a grid', () => {
  test('carries the loads and charges with what its current leaves', async () => {
    const result = await resultOf(shore('', 'duration: 6 h   soc(Bank): 50 %'));
    // 16 A at 230 V are 3680 W: 2000 W for the house, 30 W for the inverter itself, the rest for charging.
    expect(valueAt(result, 'power(Mains)', HOUR)).toBeLessThanOrEqual(3680);
    expect(valueAt(result, 'power(Mains)', HOUR)).toBeGreaterThan(3670);
    expect(valueAt(result, 'current(Inv)', HOUR) * valueAt(result, 'voltage(Bank)', HOUR)).toBeCloseTo(1650 * 0.9, 0);
    expect(valueAt(result, 'power(Inv)', HOUR)).toBe(0);
  });

  test('is taken no further than the input limit of the inverter that passes it on', async () => {
    const result = await resultOf(shore('inputLimit: 10 A', 'duration: 6 h   soc(Bank): 50 %'));
    expect(valueAt(result, 'current(Inv)', HOUR) * valueAt(result, 'voltage(Bank)', HOUR)).toBeCloseTo(270 * 0.9, 0);
    const tight = await resultOf(shore('inputLimit: 8 A', 'duration: 6 h   soc(Bank): 50 %'));
    // 8 A are 1840 W: less than the house takes, which then stands still, and charging gets all of it.
    expect(tight.totals[0]!.unserved.get('House')).toBeCloseTo(2000 * 6 * HOUR, 3);
  });

  test('that fails hands the loads to the bank, and takes them back', async () => {
    const result = await resultOf(shore('', 'duration: 12 h   soc(Bank): 90 %   lost(Mains): 2 h .. 5 h'));
    expect(result.totals[0]!.unserved.get('House')).toBe(0);
    expect(valueAt(result, 'power(Mains)', 3 * HOUR)).toBe(0);
    expect(valueAt(result, 'power(Inv)', 3 * HOUR)).toBe(2000);
    // 2000 W, their loss and 30 W of idle power: 2150.5 W at full load would be 376 W of loss, parted by the usual curve.
    expect(valueAt(result, 'current(Bank)', 3 * HOUR)).toBeLessThan(-39);
    expect(valueAt(result, 'power(Inv)', 6 * HOUR)).toBe(0);
    expect(result.events.filter(({ of }) => of === 'Mains').map(({ what, time }) => [what, time / HOUR])).toEqual([
      ['lost', 2],
      ['back', 5],
    ]);
  });

  test('fails at random as often and as long as it says, the same for the same seed', async () => {
    const mains = 'rating: 16 A   betweenOutages: 4 d   outageTime: 6 h';
    const scenario = 'duration: 365 d   soc(Bank): 90 %   seed: 5';
    const first = await resultOf(shore('', scenario, mains), { resolution: 3600 });
    const outages = first.events.filter(({ what, of }) => what === 'lost' && of === 'Mains');
    // A mean of 365/4.25 = 86 with a deviation near its root.
    expect(outages.length).toBeGreaterThan(86 - 3 * 9.3);
    expect(outages.length).toBeLessThan(86 + 3 * 9.3);
    const again = await resultOf(shore('', scenario, mains), { resolution: 3600 });
    expect(again.events).toEqual(first.events);
    const other = await resultOf(shore('', scenario.replace('seed: 5', 'seed: 6'), mains), { resolution: 3600 });
    expect(other.events).not.toEqual(first.events);
  });

  test('without a rating is a missing fact', async () => {
    expect(await playText(shore('', 'duration: 6 h   soc(Bank): 50 %', ''))).toEqual({
      kind: 'missing',
      missing: ['rating of Mains'],
    });
  });
});

describe('a generator', () => {
  test('gives chargers no more than it has at its height and temperature', async () => {
    const high = small({
      charger: 'currentLimit: 300 A   maximumCurrent: 300 A   powerFactor: 1',
      generator: 'altitudeDerate: 3.5 %   temperatureDerate: 1 %',
      rules: 'control Start of Set { start when hour >= 0 h   stop when hour < 0 h }',
      scenario: 'duration: 1 h   soc(Bank): 40 %',
    });
    const low = await resultOf(high);
    const up = await resultOf(high.replace('altitude: 0 m', 'altitude: 1525 m'));
    expect(valueAt(low, 'power(Set)', HOUR / 2)).toBeCloseTo(12_000, 0);
    // 3.5 % for each 305 m: five steps are 17.5 %.
    expect(valueAt(up, 'power(Set)', HOUR / 2)).toBeCloseTo(12_000 * 0.825, 0);
  });

  test('gives chargers that need a clean wave no more than leaves it clean, loads first', async () => {
    const text = (charger: string, more = ''): string =>
      small({
        charger: `currentLimit: 300 A   maximumCurrent: 300 A   powerFactor: 1   ${charger}`,
        generator: 'waveform: conventional   thd: 9 %',
        rules: 'control Start of Set { start when hour >= 0 h   stop when hour < 0 h }',
        scenario: 'duration: 1 h   soc(Bank): 40 %',
        more,
      });
    // 60 % of 12 kW by common practice; all of it for a charger that takes any wave.
    const sensitive = await resultOf(text('accepts: sine'));
    expect(valueAt(sensitive, 'power(Set)', HOUR / 2)).toBeCloseTo(0.6 * 12_000, 0);
    expect(sensitive.assumptions.filter((each) => each.includes('up to which its wave is clean'))).toHaveLength(1);
    const tolerant = await resultOf(text('accepts: any'));
    expect(valueAt(tolerant, 'power(Set)', HOUR / 2)).toBeCloseTo(12_000, 0);
    expect(tolerant.assumptions.filter((each) => each.includes('wave'))).toEqual([]);
  });

  test('feeds a charger of poor power factor by its apparent power and its breaker', async () => {
    const given = async (charger: string, generator = ''): Promise<number> =>
      valueAt(
        await resultOf(
          small({
            charger: `currentLimit: 300 A   maximumCurrent: 300 A   ${charger}`,
            generator,
            rules: 'control Start of Set { start when hour >= 0 h   stop when hour < 0 h }',
            scenario: 'duration: 1 h   soc(Bank): 40 %',
          }),
        ),
        'power(Set)',
        HOUR / 2,
      );
    expect(await given('powerFactor: 0.65')).toBeCloseTo(12_000 * 0.65, 0);
    expect(await given('powerFactor: 0.65', 'breaker: 30 A')).toBeCloseTo(30 * 230 * 0.65, 0);
    expect(await given('inputLimit: 20 A')).toBeCloseTo(20 * 230 * 0.98, 0);
  });

  test('draws as the hand calculation says: 120 A at 54.4 V are 7019 W with correction and 7503 W without', async () => {
    // Charger formula of IEEE 946 practice, I_in = V·I/(V_in·η·pf): OWN figures 7019.4 W and 7503.4 W.
    for (const [efficiency, watts] of [
      ['93 %', 7019.4],
      ['87 %', 7503.4],
    ] as const) {
      const result = await resultOf(
        small({
          bank: 'resistance: 0.1 mohm',
          charger: `efficiency: ${efficiency}`,
          rules: 'control Start of Set { start when hour >= 0 h   stop when hour < 0 h }',
          scenario: 'duration: 4 h   soc(Bank): 60 %',
        }),
      );
      const volts = valueAt(result, 'voltage(Bank)', HOUR);
      expect((valueAt(result, 'power(Set)', HOUR) * 54.4) / volts).toBeCloseTo(watts, 0);
    }
  });

  test('without a control stays off, which is said', async () => {
    const result = await resultOf(small({ rules: '', scenario: 'duration: 3 h   soc(Bank): 90 %' }));
    expect(result.totals[0]!.starts.get('Set')).toBe(0);
    expect(result.assumptions.join(' ')).toContain('Set stays off: no control starts it');
  });
});

describe('an array', () => {
  const sunny = (controller: string, array: string, scenario: string, bank = ''): string =>
    small({
      bank,
      load: 'power: 100 W',
      rules: '',
      more: `
  solar Array {
    power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   maximumPowerVoltage: 31 V   series: 4   parallel: 2
    tilt: 45 deg   azimuth: 180 deg   powerCoefficient: -0.35 %/K   noct: 45 degC   ${array}
  }
  chargeController Tracker { currentLimit: 70 A   absorb: 56 V   float: 54 V   efficiency: 97 %   ${controller} }
  run ArrayRun: Array -> Tracker.solar { }
  run SunRun: Tracker.dc -> Bar { }`,
      scenario,
    });

  test('charges by day, and what the bank does not take is curtailed', async () => {
    const result = await resultOf(sunny('', '', 'duration: 3 d   soc(Bank): 95 %   sun: clear', 'capacity: 100 Ah'));
    const { energy, curtailed } = result.totals[0]!;
    expect(energy.get('Array')!).toBeGreaterThan(0);
    expect(curtailed.get('Array')!).toBeGreaterThan(0);
    expect(Math.max(...column(result, 'voltage(Bank)'))).toBeLessThanOrEqual(56.001);
    expect(valueAt(result, 'power(Array)', 2 * HOUR)).toBe(0);
  });

  test('behind a switching controller gives its current into the voltage of the bank', async () => {
    const result = await resultOf(
      sunny('tracking: pwm', 'series: 1', 'duration: 1 d   soc(Bank): 50 %   sun: clear').replace(
        'series: 4   parallel: 2',
        'parallel: 2',
      ),
    );
    const noon = column(result, 'current(Tracker)').indexOf(Math.max(...column(result, 'current(Tracker)')));
    const amperes = column(result, 'current(Tracker)')[noon]!;
    // A single module of 31 V cannot lift a bank of 52 V: its current into the bank is bounded by its power.
    expect(amperes * column(result, 'voltage(Bank)')[noon]!).toBeLessThanOrEqual(800 * 1.1);
    expect(amperes).toBeGreaterThan(0);
  });

  test('in the dark gives nothing', async () => {
    const result = await resultOf(sunny('', '', 'duration: 1 d   soc(Bank): 95 %   sun: none'));
    expect(result.totals[0]!.energy.get('Array')).toBe(0);
  });

  test('follows a weather file', async () => {
    const rows = ['time,irradiance,temperature'];
    for (let hour = 0; hour <= 24; hour += 1)
      rows.push(
        `2027-01-1${hour === 24 ? 1 : 0}T${String(hour % 24).padStart(2, '0')}:00,${hour > 9 && hour < 15 ? 400 : 0},5`,
      );
    const text = sunny('', 'tilt: 0 deg', 'duration: 1 d   soc(Bank): 50 %   weather: "sun.csv"').replace(
      'tilt: 45 deg',
      '',
    );
    const result = await resultOf(text, { weatherText: (path) => (path === 'sun.csv' ? rows.join('\n') : undefined) });
    // 400 W/m² on flat modules of 3.2 kW, 88 % kept, cells at 5 °C + 31.25 K/1000·400.
    const cells = 5 + (25 / 800) * 400;
    expect(valueAt(result, 'power(Array)', 12 * HOUR)).toBeCloseTo(3200 * 0.88 * 0.4 * (1 - 0.0035 * (cells - 25)), -1);
    expect(await playText(text)).toEqual({ kind: 'missing', missing: ['the weather file sun.csv'] });
    const short = await playText(text, { weatherText: () => rows.slice(0, 5).join('\n') });
    expect(short).toEqual({ kind: 'refused', reason: 'the weather file sun.csv does not cover the whole of Play' });
  });

  test('converges at least with the square of the interval at which the sun is taken', async () => {
    // A bank so large that it never fills, and a sun that rises and sinks smoothly from 08:00 to 16:00, on a flat array.
    const text = sunny(
      '',
      'tilt: 0 deg',
      'duration: 1 d   soc(Bank): 40 %   weather: "sun.csv"',
      'capacity: 1500 Ah',
    ).replace('tilt: 45 deg', '');
    const rows = ['time,irradiance,temperature'];
    for (let minute = 0; minute <= 1440; minute += 1) {
      const share = (minute - 480) / 480;
      const irradiance = share > 0 && share < 1 ? 800 * Math.sin(Math.PI * share) ** 2 : 0;
      const clock = new Date(Date.UTC(2027, 0, 10, 0, minute)).toISOString().slice(0, 16);
      rows.push(`${clock},${irradiance},5`);
    }
    const end = async (resolution: number): Promise<number> => {
      const result = await resultOf(text, { resolution, weatherText: () => rows.join('\n') });
      return column(result, 'soc(Bank)').at(-1)!;
    };
    const exact = await end(60);
    const errors = [await end(3600), await end(1800), await end(900)].map((value) => Math.abs(value - exact));
    expect(errors[0]!).toBeGreaterThan(errors[1]! * 3.5);
    expect(errors[1]!).toBeGreaterThan(errors[2]! * 3.5);
    expect(errors[2]!).toBeLessThan(1e-5);
  });

  test('with monthly clearness needs the clearness of the site, and says so', async () => {
    expect(await playText(sunny('', '', 'duration: 1 d   soc(Bank): 50 %   sun: months'))).toEqual({
      kind: 'missing',
      missing: ['clearness of the site'],
    });
    expect(await playText(sunny('', '', 'duration: 1 d   soc(Bank): 50 %'))).toEqual({
      kind: 'missing',
      missing: ['sun or weather of Play'],
    });
  });
});

describe('several buses', () => {
  const two = (scenario: string): string =>
    small({
      more: `
  battery House12 { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   capacityTime: 20 h   resistance: 5 mohm   cellTemperature: 25 degC }
  converter Down { input: 40..60 V   output: 13.8 V   currentLimit: 30 A   efficiency: 90 % }
  load Fridge { power: 60 W   supply: dc   profile: always }
  run DownRun: Bar -> Down.in { }
  run UpRun: Down.out -> House12 { }
  run FridgeRun: House12 -> Fridge { }
  converter Lamp24 { input: 40..60 V   output: 24 V   currentLimit: 10 A   efficiency: 80 % }
  load Lamps { power: 48 W   supply: dc   profile: always }
  run LampFeed: Bar -> Lamp24.in { }
  run LampRun: Lamp24.out -> Lamps { }`,
      load: 'power: 300 W',
      scenario,
    });

  test('a converter charges one bank from the other, and loads behind one draw their loss too', async () => {
    const result = await resultOf(two('duration: 1 d   soc(Bank): 80 %   soc(House12): 70 %'));
    expect(result.totals[0]!.energy.get('Fridge')).toBeCloseTo(60 * 86400, 3);
    expect(result.totals[0]!.energy.get('Lamps')).toBeCloseTo(48 * 86400, 3);
    expect(column(result, 'soc(House12)').at(-1)!).toBeGreaterThan(0.9);
    // House 300 W through the inverter, lamps 60 W, and the converter for the fridge and the second bank.
    expect(valueAt(result, 'current(Bank)', 20 * HOUR) * valueAt(result, 'voltage(Bank)', 20 * HOUR)).toBeLessThan(
      -(300 + 60 + 60),
    );
    const { balance } = result.totals[0]!;
    expect(Math.abs(balance.residual) / balance.toLoads).toBeLessThan(1e-6);
  });

  test('need the charge of each bank at the start', async () => {
    expect(await playText(two('duration: 1 d   soc(Bank): 80 %'))).toEqual({
      kind: 'missing',
      missing: ['soc(House12) of Play'],
    });
  });
});

describe('two outlets of one machine', () => {
  const machine = (of: string, stove: string, charger = 'currentLimit: 20 A'): string => `
design Camp {
  site { altitude: 0 m   ambient: 20 degC   latitude: 45 deg   longitude: 15 deg }
  generator Big { rated: 3 kW   apparent: 3 kVA   voltage: 120 V   fuel: petrol   machine: "frame" }
  generator Small { rated: 3 kW   apparent: 3 kVA   voltage: 120 V   fuel: petrol   machine: "${of}" }
  load Stove { power: ${stove}   voltage: 120 V   powerFactor: 1   profile: always }
  charger Rect { input: 90..135 V   absorb: 56.8 V   float: 54 V   powerFactor: 1   efficiency: 90 %   ${charger} }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 10 mohm   cellTemperature: 20 degC }
  run A: Big -> Stove { }
  run B: Small -> Rect.ac { }
  run C: Rect.dc -> Bank { }
  control Run of Big { start when soc(Bank) < 90 %   stop when soc(Bank) > 95 % }
  ${of === 'frame' ? '' : 'control Also of Small { start when soc(Bank) < 90 %   stop when soc(Bank) > 95 % }'}
  scenario Play { from: 2027-01-10   duration: 1 h   soc(Bank): 20 % }
}
`;
  const given = async (text: string): Promise<{ stove: number; charge: number }> => {
    const { energy, unserved } = (await resultOf(text)).totals[0]!;
    return { stove: unserved.get('Stove')! > 0 ? 0 : energy.get('Stove')! / HOUR, charge: energy.get('Small')! / HOUR };
  };

  test('give together what the machine gives: its loads first, the charger what they leave', async () => {
    // 20 A at 51 to 54 V and 90 % are some 1.2 kW: 0.5 kW are left of 3 kW beside the stove.
    const { stove, charge } = await given(machine('frame', '2.5 kW'));
    expect(stove).toBeCloseTo(2500, 3);
    expect(charge).toBeCloseTo(500, 0);
    expect((await given(machine('other', '2.5 kW'))).charge).toBeGreaterThan(1100);
    expect((await given(machine('frame', '1 kW'))).charge).toBeGreaterThan(1100);
  });
});
