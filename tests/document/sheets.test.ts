import { describe, expect, test } from 'vitest';
import { rowsOf, setOf } from './helpers/set-of.js';

/** Invented: split phase behind an inverter, measured on site. */
const SPLIT = (reading: string): string => `
design Split {
  basis: nec 2023
  battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 100 Ah }
  fuse Main { class: T   rating: 200 A }
  inverter Inv { rated: 4 kW   voltage: 120/240 V   efficiency: 90 % }
  load Lamp { power: 100 W   voltage: 120 V   legs: L1 }
  run Feed: Bank -> Main -> Inv.dc { size: 2/0 AWG   length: 1 m   torque: 15 Nm }
  run Line: Inv.ac -> Lamp { size: 12 AWG   length: 8 m }
  ${reading}
}
`;

describe('the commissioning sheet', () => {
  test('expects a voltage to neutral and one between lines, and nothing between the two', async () => {
    const row = async (reading: string) =>
      rowsOf(await setOf(SPLIT(reading)), 'steps4').find(({ measure }) => measure === 'voltage at its output')!;
    // 120 V and 240 V, each as far as ANSI C84.1 range A lets a service stray.
    expect((await row('')).expected).toMatch(/^114 V to 126 V to neutral, 228 V to 252 V between lines, ± /);
    expect((await row('')).measured).toBeUndefined();
    expect((await row('reading Inv.ac.voltage = 121 V')).measured).toBe('121 V PASS');
    expect((await row('reading Inv.ac.voltage = 242 V')).measured).toBe('242 V PASS');
    expect((await row('reading Inv.ac.voltage = 180 V')).measured).toBe('180 V FAIL');
  });

  test('has one row of tests a run, with boxes for what nobody has measured', async () => {
    const rows = rowsOf(await setOf(SPLIT('reading Feed.torque = 15 Nm')), 'runTests');
    expect(rows.map(({ run }) => run)).toEqual(['Feed', 'Line']);
    expect(rows[0]).toMatchObject({ torque: '15 N·m', tightened: '15 N·m PASS', polarity: undefined });
    expect(rows[1]).toMatchObject({ torque: undefined, tightened: undefined });
  });
});
