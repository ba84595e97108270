import { describe, expect, test } from 'vitest';
import { resultOf } from './designs.js';

/** IEC 60228, class 2: 6 mm² of copper, 3.08 mohm/m at 20 °C, warm at 75 °C 1.216 times as much; 10 m out and back. */
const OHMS = 20 * 3.08e-3 * 1.216;

/** An invented boat: a bank of 51.2 V charges one of 12.8 V over a converter of 20 A. */
const boat = (cable: string): string => `
design Boat {
  site { altitude: 0 m   ambient: 20 degC }
  battery House { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 200 Ah   resistance: 5 mohm   cellTemperature: 25 degC }
  battery Start { chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 100 Ah   resistance: 5 mohm   cellTemperature: 25 degC }
  converter Down { input: 40..60 V   output: 14 V   currentLimit: 20 A   efficiency: 90 % }
  run In: House -> Down.in ${cable}
  run Out: Down.out -> Start
  scenario Play { from: 2027-01-10   duration: 1 h   soc(House): 80 %   soc(Start): 30 % }
}
`;

describe('the cable before a converter that charges a bank', () => {
  test('loses R·I² of what the converter takes, which the bank before it gives', async () => {
    const [plain, cabled] = [await resultOf(boat('')), await resultOf(boat('{ size: 6 mm2   length: 10 m }'))];
    const column = (result: typeof plain, name: string): number =>
      result.series.columns.find((each) => each.name === name)!.values[0]!;
    const volts = column(cabled, 'voltage(House)');
    const watts = (column(cabled, 'voltage(Start)') * 20) / 0.9;
    // By hand: the smaller solution of P = (U − R·I)·I.
    const amperes = (volts - Math.sqrt(volts * volts - 4 * OHMS * watts)) / (2 * OHMS);
    expect(-column(cabled, 'current(House)')).toBeCloseTo(amperes, 2);
    expect(-column(plain, 'current(House)')).toBeCloseTo(
      (column(plain, 'voltage(Start)') * 20) / 0.9 / column(plain, 'voltage(House)'),
      2,
    );
    const more = (cabled.totals[0]!.balance.lost - plain.totals[0]!.balance.lost) / 3600;
    expect(more / (OHMS * amperes ** 2)).toBeGreaterThan(0.97);
    expect(more / (OHMS * amperes ** 2)).toBeLessThan(1.03);
  });
});
