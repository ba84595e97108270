import { describe, expect, test } from 'vitest';
import { resultOf } from './designs.js';

/** An invented cabin: a 12 V bank, a lamp at the end of a long cable, and what else a test wants. */
const cabin = (cable: string, load: string, soc = '80 %', more = ''): string => `
design Cabin {
  site { altitude: 0 m   ambient: 20 degC }
  battery Bank { chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 200 Ah   resistance: 5 mohm   cellTemperature: 25 degC }
  load Lamp { ${load}   supply: dc   voltage: 12 V }
  bus Bar { rating: 200 A }
  run BankRun: Bank -> Bar { }
  run LampRun: Bar -> Lamp { ${cable} }
  ${more}
  scenario Play { from: 2027-01-10   duration: 1 h   soc(Bank): ${soc} }
}
`;

const LONG = 'size: 4 mm2   type: FineStranded90   length: 15 m';

describe('loads on direct current', () => {
  test('take from their bus what their cables lose, which follows from the voltage of the bus', async () => {
    const result = await resultOf(cabin(LONG, 'power: 120 W'));
    const { energy, balance } = result.totals[0]!;
    const column = (name: string): Float64Array => result.series.columns.find((each) => each.name === name)!.values;
    const [volts, amperes] = [column('voltage(Bank)')[0]!, -column('current(Bank)')[0]!];
    // By hand: 120 W = (U − I·R)·I; the resistance of the cable out and back follows from it and must be that of 30 m of 4 mm² of copper.
    const ohms = (volts - 120 / amperes) / amperes;
    // IEC 60228 class 5, 4 mm²: 4.95 mΩ/m at 20 °C; a conductor at its rated 90 °C has 1.275 times as much.
    expect(ohms).toBeGreaterThan(30 * 4.9e-3);
    expect(ohms).toBeLessThan(30 * 4.95e-3 * 1.28);
    expect(energy.get('Lamp')! / 3600).toBeCloseTo(120, 6);
    expect(balance.lost / 3600).toBeGreaterThan(amperes * amperes * ohms * 0.99);
  });

  test('lose nothing where the size or length of the cable is not stated, which is said', async () => {
    const result = await resultOf(cabin('', 'power: 120 W'));
    expect(result.assumptions.join('\n')).toContain('LampRun is taken without resistance');
  });

  test('drop out below the voltage that they need, and what they wanted is unserved', async () => {
    const works = await resultOf(cabin(LONG, 'power: 120 W   minimumVoltage: 10 V'));
    expect(works.totals[0]!.unserved.get('Lamp')).toBe(0);
    const fails = await resultOf(cabin(LONG, 'power: 120 W   minimumVoltage: 12 V'));
    expect(fails.totals[0]!.unserved.get('Lamp')! / 3600).toBeCloseTo(120, 3);
    expect(fails.totals[0]!.energy.get('Lamp')).toBeLessThan(1);
    expect(fails.events.map(({ what, of }) => `${what} ${of}`)).toContain('trip Lamp');
  });

  test('are not fed through a cable that cannot carry them at all', async () => {
    // U²/(4·R) of 13.2 V and 0.19 ohm is 230 W.
    const result = await resultOf(cabin(LONG, 'power: 400 W'));
    expect(result.totals[0]!.unserved.get('Lamp')! / 3600).toBeCloseTo(400, 2);
  });

  test('come back when the voltage has risen for a minute', async () => {
    const more = `
      grid Mains { voltage: 230 V   rating: 16 A }
      charger Rect { currentLimit: 80 A   absorb: 14.4 V   efficiency: 92 %   powerFactor: 1   input: 180..264 V }
      run RectRun: Rect.dc -> Bar { size: 25 mm2   type: FineStranded90   length: 2 m }
      run MainsRun: Mains -> Rect.ac { }`;
    const text = cabin(LONG, 'power: 60 W   minimumVoltage: 11.5 V', '4 %', more).replace(
      'soc(Bank)',
      'lost(Mains): 0 min .. 20 min   soc(Bank)',
    );
    const result = await resultOf(text);
    const events = result.events.filter(({ of }) => of === 'Lamp').map(({ what }) => what);
    expect(events).toEqual(['trip', 'restart']);
    const { unserved, energy } = result.totals[0]!;
    expect((unserved.get('Lamp')! + energy.get('Lamp')!) / 3600).toBeCloseTo(60, 6);
    expect(unserved.get('Lamp')!).toBeGreaterThan(0);
  });

  test('behind a converter lose in their cable at the voltage that it holds', async () => {
    const more = `
      converter Up { input: 9..16 V   output: 24 V   currentLimit: 10 A   efficiency: 90 % }
      load Radio { power: 48 W   supply: dc   voltage: 24 V }
      run UpRun: Bar -> Up.in { }
      run RadioRun: Up.out -> Radio { ${LONG} }`;
    const result = await resultOf(cabin('', 'power: 1 W', '80 %', more));
    const { balance, energy } = result.totals[0]!;
    expect(energy.get('Radio')! / 3600).toBeCloseTo(48, 6);
    // 48 W at 24 V over 0.15 to 0.19 ohm: some 2 A and 0.6 to 0.8 W, and a tenth of all that in the converter.
    const drawn = (result.totals[0]!.cycles.get('Bank')! * 200 * 13.2) / 1;
    expect(drawn).toBeGreaterThan(1 + 48.6 / 0.9 - 1);
    expect(balance.lost / 3600).toBeGreaterThan(48.6 / 0.9 - 48);
    expect(balance.lost / 3600).toBeLessThan(48.8 / 0.9 - 48 + 0.5);
  });

  test('end with the input range of the converter that feeds them', async () => {
    const played = (input: string) =>
      resultOf(`design Cabin {
  site { altitude: 0 m   ambient: 20 degC }
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   resistance: 5 mohm   series: 2   cellTemperature: 25 degC }
  converter Down { input: ${input}   output: 12.5 V   currentLimit: 40 A   efficiency: 90 % }
  load Lamp { power: 360 W   supply: dc   profile: always }
  run In: Bank -> Down.in
  run Out: Down.out -> Lamp
  scenario Play { from: 2027-01-10   duration: 8 h   soc(Bank): 100 % }
}
`);
    const [wide, narrow] = [await played('9..32 V'), await played('23..32 V')];
    const lowest = ({ series }: Awaited<ReturnType<typeof played>>): number =>
      Math.min(...series.columns.find(({ name }) => name === 'voltage(Bank)')!.values);
    expect(lowest(wide)).toBeLessThan(22);
    expect(lowest(narrow)).toBeGreaterThan(22.9);
    expect(narrow.events.map(({ what, of }) => `${what} ${of}`)).toContain('trip Lamp');
  });

  test('that lack only until a set starts at the same instant are no overload', async () => {
    const { events } = await resultOf(`design Cabin {
  site { altitude: 0 m   ambient: 20 degC }
  generator Set { rated: 3 kW   voltage: 230 V   fuel: diesel   burn: { 0 %: 0.1 L/h, 100 %: 1 L/h } }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 28.4 V   efficiency: 92 %   powerFactor: 1 }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 100 Ah   resistance: 5 mohm   cellTemperature: 25 degC }
  bus Panel { }
  load Kettle { power: 2 kW   profile: always   voltage: 230 V }
  run Cord: Set -> Panel
  run Line: Panel -> Rect.ac
  run Feed: Rect.dc -> Bank
  run Out: Panel -> Kettle
  control Start of Set { start when soc(Bank) < 50 %   stop when soc(Bank) >= 99 % }
  scenario Play { from: 2027-01-10   duration: 1 h   soc(Bank): 20 % }
}
`);
    expect(events.map(({ what }) => what)).not.toContain('overload');
  });
});
