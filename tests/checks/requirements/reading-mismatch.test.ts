import { describe, expect, it } from 'vitest';
import { displayValue, numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'reading-mismatch';

/** An invented cabin: 16 cells between 44.8 V and 58.4 V, a charger of 60 A, a set of 230 V, a feed of 512 W. */
const cabin = (reading: string, more = '', basis = 'iec'): string => `design Cabin {
  basis: ${basis}
  ${more}
  site { altitude: 100 m   ambient: -5..30 degC }
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 10..20 mohm
    cellTemperature: 15..30 degC   protectionLow: 44.8 V   protectionHigh: 58.4 V }
  load Fan { power: 512 W   supply: dc }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 5 m }
  reading ${reading}
}
`;
const outcome = async (reading: string, more?: string, basis?: string): Promise<boolean | undefined> =>
  (await analyseText(cabin(reading, more, basis))).readings[0]!.holds;

describe(ID, () => {
  it('takes a current for a most, with 3 % for the meter', async () => {
    // 60 A · 1.03 = 61.8 A.
    expect(await outcome('Rect.dc.current = 61.7 A')).toBe(true);
    expect(await outcome('Rect.dc.current = 62 A')).toBe(false);
    expect(await outcome('Rect.dc.current = 5 A')).toBe(true);
  });

  it('says what was measured, when, and what was predicted', async () => {
    const [finding] = findingsOf(await analyseText(cabin('Rect.dc.current = 66 A on 2026-09-14 "bank at 40 %"')), ID);
    expect(finding?.severity).toBe('warning');
    expect(finding?.subject).toBe('Cabin.Rect');
    expect(
      lacking(finding?.told, /^Rect\.dc\.current was measured at 66 A on 2026-09-14; the design predicts at most 60 A/),
    ).toEqual([]);
  });

  it('takes a voltage of the bank for one between its lowest and highest, with 1 % for the meter', async () => {
    const [of] = (await analyseText(cabin('Bank.dc.voltage = 53.1 V'))).readings;
    expect(of?.holds).toBe(true);
    expect(numberIn(of!.high!, 'V')).toBeGreaterThanOrEqual(56);
    expect(await outcome('Bank.voltage = 40 V')).toBe(false);
    expect(await outcome('Bank.voltage = 60 V')).toBe(false);
  });

  it('lets the voltage at a load be lower by what its run loses', async () => {
    const [atBank] = (await analyseText(cabin('Bank.voltage = 50 V'))).readings;
    const [atLoad] = (await analyseText(cabin('Fan.voltage = 50 V'))).readings;
    expect(numberIn(atLoad!.low!, 'V')).toBeLessThan(numberIn(atBank!.low!, 'V'));
  });

  // EN 50160 ±10 %, ANSI C84.1 range A ±5 %, both from memory; 1 % for the meter on top of them.
  it.each([
    ['iec', 209, true],
    ['iec', 203, false],
    ['iec', 253, true],
    ['nec 2023', 216.5, true],
    ['nec 2023', 214, false],
  ])('under %s a supply of 230 V measured at %s V: %s', async (basis, volts, holds) => {
    expect(await outcome(`Genset.voltage = ${volts} V`, '', basis)).toBe(holds);
  });

  it('takes what the design states for the value itself, and offers to state what was measured', async () => {
    expect(await outcome('Bank.resistance = 15 mohm')).toBe(true);
    const text = cabin('Bank.resistance = 31 mohm on 2026-09-14');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(lacking(finding?.told, 'the design predicts 10 mohm to 20 mohm')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['State resistance of Bank as measured: 31 mohm']);
    expect((await afterFix(text, ID, finding!.fixes[0]!)).left).toEqual([]);
  });

  // IEC 60228 class 2: 6 mm² have at most 3.08 Ω a kilometre at 20 °C, so that 5 m have 15.4 mΩ; by 0.393 % a kelvin 13.9 mΩ at −5 °C and
  // 16.0 mΩ at 30 °C, the ambient; 18.7 mΩ at 75 °C, which no dead conductor has. 5 % for the meter on top.
  it.each([
    [15.4, true],
    [13.3, true],
    [12.8, false],
    [16.7, true],
    [18.7, false],
  ])(
    'predicts the resistance of a conductor as it is when it is measured dead: %s mΩ: %s',
    async (milliohms, holds) => {
      expect(await outcome(`Line.resistance = ${milliohms} mohm`)).toBe(holds);
    },
  );

  it('counts with the spread of the reading alone where it states one, and with the tolerance of the design', async () => {
    expect(await outcome('Rect.dc.current = 61 A ± 0.5 A')).toBe(false);
    expect(await outcome('Rect.dc.current = 61 A ± 2 A')).toBe(true);
    expect(await outcome('Rect.dc.current = 65 A', 'readingTolerance: 10 %')).toBe(true);
    expect(await outcome('Rect.dc.current = 61 A', 'readingTolerance: 1 %')).toBe(false);
  });

  it('shows discharge of a bank as less than nothing', async () => {
    expect(await outcome('Bank.current = -10 A')).toBe(true);
    expect(await outcome('Bank.current = -90 A')).toBe(false);
  });

  it('knows power, charge, temperature and computed quantities', async () => {
    expect(await outcome('Fan.power = 530 W')).toBe(true);
    expect(await outcome('Fan.power = 600 W')).toBe(false);
    expect(await outcome('Bank.soc = 55 %')).toBe(true);
    expect(await outcome('Bank.temperature = 32 degC')).toBe(true);
    expect(await outcome('Bank.temperature = 40 degC')).toBe(false);
    // 512 W at 44.8 V are 11.4 A at most.
    expect(await outcome('Line.current = 11 A')).toBe(true);
    expect(await outcome('Line.current = 14 A')).toBe(false);
    expect(await outcome('Line.length = 5.1 m')).toBe(true);
    expect(await outcome('Line.length = 8 m')).toBe(false);
  });

  it('takes the running time without other sources for a most, where the design has one', async () => {
    // 512 W day and night at 51.2 V are 240 Ah; 60 A less 10 A while it runs: 10 A · 24 h / 60 A = 4 h, computed by hand.
    expect(await outcome('Genset.dailyRunTime = 4 h')).toBe(true);
    expect(await outcome('Genset.dailyRunTime = 1 h')).toBe(false);
    expect(await outcome('Genset.dailyRunTime = 8 h')).toBe(false);
    const sun = `solar Roof { power: 400 W   openCircuitVoltage: 48 V   maximumPowerVoltage: 40 V   series: 2 }
  chargeController Tracker { currentLimit: 20 A   absorb: 56 V   float: 54 V }
  run RoofLine: Roof -> Tracker.solar { size: 6 mm2   length: 5 m }
  run SunFeed: Tracker.dc -> Bank { size: 10 mm2   length: 2 m }`;
    expect(await outcome('Genset.dailyRunTime = 1 h', sun)).toBe(true);
    expect(await outcome('Genset.dailyRunTime = 8 h', sun)).toBe(false);
  });

  it('asks for the terminal, and for facts that lack', async () => {
    expect(askedBy(await analyseText(cabin('Rect.voltage = 54 V')), ID)).toEqual([
      'the terminal at which Rect was measured, such as `Rect.ac.voltage`',
    ]);
    const bare = cabin('Line.current = 11 A').replace('power: 512 W', '');
    expect(askedBy(await analyseText(bare), ID)).toContain('power of Fan');
  });

  it('refuses to hold one dimension against another', async () => {
    const [of] = (await analyseText(cabin('Line.current = 11 V'))).readings;
    expect(of?.holds).toBeUndefined();
    expect(of?.undecided).toMatchObject({ kind: 'refused' });
  });

  it('is of the design as built: variants have no readings', async () => {
    const text = `${cabin('Rect.dc.current = 59 A')}variant Small of Cabin { Rect.currentLimit = 20 A }\n`;
    const analysis = await analyseText(text);
    expect(analysis.readings.map(({ design, measured }) => [design, displayValue(measured)])).toEqual([
      ['Cabin', '59 A'],
    ]);
    expect(findingsOf(analysis, ID)).toEqual([]);
  });
});
