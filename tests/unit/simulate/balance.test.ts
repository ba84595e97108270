import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BALANCE_TOLERANCE } from '../../../language/src/simulate/engine-types.js';
import { playText } from './designs.js';

const number = (min: number, max: number): fc.Arbitrary<number> =>
  fc.double({ min, max, noNaN: true }).map((value) => Number(value.toFixed(4)));

/** Small designs of every kind of gear, with facts from all over their range. */
const design = fc
  .record({
    chemistry: fc.constantFrom('lfp', 'nmc', 'agm', 'flooded'),
    capacity: number(40, 800),
    resistance: number(0.2, 60),
    soc: number(1, 100),
    temperature: number(-25, 50),
    load: number(10, 6000),
    second: number(10, 3000),
    charger: number(5, 200),
    set: number(2, 12),
    absorb: number(50, 60),
    float: number(46, 56),
    sun: fc.constantFrom('none', 'clear', 'months'),
    tracking: fc.constantFrom('mppt', 'pwm'),
    start: number(5, 60),
    window: number(1, 39),
    reset: fc.constantFrom('automatic', 'manual'),
    duration: number(6, 60),
    passes: fc.boolean(),
    hours: number(1, 20),
    lead: number(0.5, 40),
  })
  .map(
    (d) => `
design Any {
  site {
    altitude: 300 m   ambient: -10..30 degC   latitude: 47 deg   longitude: 9 deg
    clearness: { 1: 0.4, 2: 0.4, 3: 0.45, 4: 0.45, 5: 0.5, 6: 0.5, 7: 0.55, 8: 0.5, 9: 0.5, 10: 0.45, 11: 0.4, 12: 0.4 }
  }
  battery Bank {
    chemistry: ${d.chemistry}   voltage: 48 V   cells: ${{ lfp: 16, nmc: 14, agm: 24, flooded: 24 }[d.chemistry]}
    capacity: ${d.capacity} Ah   capacityTime: 20 h   peukert: 1.15   resistance: ${d.resistance} mohm
    cellTemperature: ${d.temperature} degC   reset: ${d.reset}   maximumCharge: 120 A
  }
  battery Small { chemistry: agm   voltage: 12 V   cells: 6   capacity: 80 Ah   resistance: 8 mohm   cellTemperature: 20 degC }
  inverter Inv {
    rated: 5 kW   apparent: 5 kVA   surge: 9 kW   voltage: 230 V   efficiency: 92 %   idle: 25 W   cutOff: 42 V   reconnect: 49 V
    ${d.passes ? 'passThrough: yes   currentLimit: 40 A   absorb: 55 V   float: 53 V   chargeEfficiency: 88 %   powerFactor: 0.97   input: 180..264 V' : ''}
  }
  generator Set { rated: ${d.set} kW   voltage: 230 V   fuel: petrol   waveform: conventional   tank: 10 L }
  grid Mains { voltage: 230 V   rating: 16 A   betweenOutages: 12 h   outageTime: 3 h }
  transfer Gear { interlock: yes }
  charger Rect {
    currentLimit: ${d.charger} A   maximumCurrent: ${d.charger} A   absorb: ${d.absorb} V   float: ${d.float} V
    efficiency: 91 %   powerFactor: 0.7   input: 180..264 V   ramp: 20 s
  }
  solar Array {
    power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   maximumPowerVoltage: 31 V   series: 3   parallel: 2
    tilt: 40 deg   azimuth: 170 deg
  }
  chargeController Tracker { tracking: ${d.tracking}   currentLimit: 60 A   absorb: 55.5 V   float: 53 V   efficiency: 97 % }
  converter Down { input: 40..60 V   output: 13.7 V   currentLimit: 20 A   efficiency: 88 % }
  alternator Engine { currentLimit: 60 A   voltage: 14.2 V }
  load House { power: ${d.load} W   voltage: 230 V   startFactor: 2   profile: { 00:00..09:00: 40 %, 09:00..13:00: 100 %, 18:00..24:00: 80 % }   priority: 2 }
  load Other { power: ${d.second} W   voltage: 230 V   powerFactor: 0.8   profile: { 06:15..06:45: 100 %, 12:00..20:00: 50 % } }
  load Lamp { power: 40 W   supply: dc   profile: { 17:00..23:00: 100 % } }
  bus Bar { rating: 400 A }
  run BankRun: Bank -> Bar { size: 25 mm2   type: FineStranded90   length: ${d.lead} m }
  run InvRun: Bar -> Inv.dc { size: 35 mm2   type: FineStranded90   length: 2 m }
  run RectRun: Rect.dc -> Bar { size: 25 mm2   type: FineStranded90   length: 4 m }
  run SunRun: Tracker.dc -> Bar { }
  run ArrayRun: Array -> Tracker.solar { }
  run DownRun: Bar -> Down.in { }
  run SmallRun: Down.out -> Small { }
  run LampRun: Small -> Lamp { }
  run EngineRun: Engine -> Small { }
  run MainsRun: Mains -> Gear.normal { }
  run SetRun: Set -> Gear.standby { }
  run GearRun: Gear.out -> Rect.ac${d.passes ? ', Inv.input' : ''} { }
  run HouseRun: Inv.ac -> House, Other { }
  control Start of Set {
    start when soc(Bank) < ${d.start} % or voltage(Bank) < 47 V for 1 min
    stop when soc(Bank) > ${d.start + d.window} %
    warmUp: 2 min   coolDown: 1 min   minimumRun: 10 min   quiet: 22:00..05:30 unless soc(Bank) < 5 %
  }
  control Shed of Other { off when soc(Bank) < 20 %   on when soc(Bank) > 30 % }
  scenario Play {
    from: 2027-05-10   at: 07:30   duration: ${d.duration} h   soc(Bank): ${d.soc} %   soc(Small): 60 %   sun: ${d.sun}   seed: 3
    lost(Engine): 0 h .. ${d.hours} h
  }
}
`,
  );

describe('the books of energy', () => {
  test('close to a millionth in every run, whatever the design', async () => {
    let played = 0;
    await fc.assert(
      fc.asyncProperty(design, async (text) => {
        const outcome = await playText(text);
        // The engine refuses results whose books stay open; nothing else may be refused here.
        if (outcome.kind !== 'played') expect.fail(`${JSON.stringify(outcome)}\n${text}`);
        played += 1;
        const { balance, steps } = outcome.result.totals[0]!;
        const through = balance.fromSources + balance.toLoads + balance.lost + Math.abs(balance.stored);
        expect(Math.abs(balance.residual)).toBeLessThanOrEqual(BALANCE_TOLERANCE * through + 1e-6);
        expect(steps).toBeLessThan(60_000);
        for (const column of outcome.result.series.columns)
          expect(column.values.every((value) => Number.isFinite(value))).toBe(true);
        const { values } = outcome.result.series.columns.find(({ name }) => name === 'soc(Bank)')!;
        expect(values.every((value) => value >= 0 && value <= 1)).toBe(true);
      }),
      { numRuns: 60, seed: 11 },
    );
    expect(played).toBeGreaterThanOrEqual(60);
  });
});
