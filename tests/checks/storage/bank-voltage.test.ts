import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'bank-voltage';

const hut = (bank: string, window: string, rest = ''): string => `design D {
  battery Bank ${bank}
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   cutOff: 44.8 V   neutralBond: bonded   ${window} }
  bus Dc {}
  run Feed: Bank -> Dc { size: 70 mm2   length: 1 m }
  run InvFeed: Dc -> Inv.dc { size: 70 mm2   length: 1 m }
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('holds nominal voltage against the window of an inverter, ends included', async () => {
    const bank = ': Agm12V200Ah { series: 4 }';
    expect(await findings(hut(bank, 'dcVoltage: 48..62 V'))).toEqual([]);
    expect(await findings(hut(bank, 'dcVoltage: 40..48 V'))).toEqual([]);
    expect(await findings(hut(bank, 'dcVoltage: 48.1..62 V'))).toHaveLength(1);
    expect(await findings(hut(bank, 'dcVoltage: 40..47.9 V'))).toHaveLength(1);
  });

  it('finds the series count that suits the bus, and writes it', async () => {
    const text = hut(': Agm12V200Ah { series: 2 }', 'dcVoltage: 42..62 V');
    const [finding] = await findings(text);
    expect(
      lacking(finding?.told, 'Bank makes 24 V (2 of 12 V in series), but Inv runs at 42..62 V. 4 in series make 48 V.'),
    ).toEqual([]);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('says when no count suits', async () => {
    const [finding] = await findings(hut(': Lfp24V200Ah', 'dcVoltage: 30..45 V'));
    expect(lacking(finding?.told, 'No number of 25.6 V units in series suits everything on this bus')).toEqual([]);
    expect(finding?.fixes).toEqual([]);
  });

  const charger = (facts: string): string => `grid Mains { voltage: 230 V   rating: 32 A   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: 20 A   efficiency: 93 %   powerFactor: 0.98   ${facts} }
  run In: Mains -> Rect.ac { size: 4 mm2   length: 3 m }
  run Out: Rect.dc -> Dc { size: 6 mm2   length: 1 m }`;

  it('blames the one thing that is set for another bank, once', async () => {
    const analysis = await analyseText(hut(': Lfp48V100Ah', 'dcVoltage: 42..60 V', charger('absorb: 28.4 V')));
    const [finding, ...others] = findingsOf(analysis, ID);
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('D.Rect');
    expect(lacking(finding?.told, 'Rect charges at 28.4 V, but Bank makes 51.2 V, which suits Inv')).toEqual([]);
    // Neither the charge voltage nor the series count says it again.
    expect(findingsOf(analysis, 'charge-voltage')).toEqual([]);
  });

  it('blames the bank where everything else agrees against it', async () => {
    const [finding, ...others] = await findings(hut(': Lfp24V200Ah', 'dcVoltage: 42..60 V', charger('absorb: 56 V')));
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('D.Bank');
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Put 2 in series']);
  });

  it('minds the range a charger can be set to', async () => {
    expect(await findings(hut(': Lfp48V100Ah', '', charger('output: 42..60 V')))).toEqual([]);
    expect(await findings(hut(': Lfp48V100Ah', '', charger('output: 21..30 V')))).toHaveLength(1);
  });

  it('finds an inverter that the end of charge drives out of its window', async () => {
    const text = (high: string): string =>
      hut(': Agm12V200Ah { series: 4 }', `dcVoltage: 42..${high}`, charger('absorb: 57.6 V   float: 54.4 V'));
    expect(await findings(text('57.6 V'))).toEqual([]);
    const [finding] = await findings(text('57 V'));
    expect(finding?.subject).toBe('D.Inv');
    expect(lacking(finding?.told, 'Bank is charged up to 57.6 V, and Inv runs up to 57 V')).toEqual([]);
    expect(lacking(finding?.told, 'absorb')).toEqual([]);
  });

  it('tells two banks of unlike voltage on one bus once, of the one that does not suit the rest', async () => {
    const other = 'battery Second : Lfp24V100Ah\n  run SecondFeed: Second -> Dc { size: 70 mm2   length: 1 m }';
    const [finding, ...others] = await findings(hut(': Lfp48V100Ah', 'dcVoltage: 42..60 V', other));
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('D.Second');
    const alone = `design D {
  battery One : Lfp48V100Ah
  battery Two : Lfp24V100Ah
  bus Dc {}
  run A: One -> Dc { size: 70 mm2   length: 1 m }
  run B: Two -> Dc { size: 70 mm2   length: 1 m }
}
`;
    const [pair, ...more] = await findings(alone);
    expect(more).toEqual([]);
    expect(pair?.subject).toBe('D.Two');
    expect(lacking(pair?.told, 'One makes 51.2 V')).toEqual([]);
    expect(pair?.fixes[0]?.title).toBe('Put 2 in series');
  });

  it('lets two banks of one voltage stand together, and keeps banks apart that are not joined', async () => {
    const same = 'battery Second : Lfp48V280Ah\n  run SecondFeed: Second -> Dc { size: 70 mm2   length: 1 m }';
    expect(await findings(hut(': Lfp48V100Ah', 'dcVoltage: 42..60 V', same))).toEqual([]);
    const apart =
      'battery Start : Lfp12V100Ah\n  bus StartBus {}\n  run S: Start -> StartBus { size: 16 mm2   length: 1 m }';
    expect(await findings(hut(': Lfp48V100Ah', 'dcVoltage: 42..60 V', apart))).toEqual([]);
  });

  it('finds a unit whose voltage does not follow from its cells, and nothing else of it', async () => {
    const text = hut('{ chemistry: lfp   voltage: 51.2 V   cells: 8 }', 'dcVoltage: 42..60 V');
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(lacking(finding?.told, '8 cells of lithium iron phosphate, which make 25.6 V')).toEqual([]);
    // 25.6 V would not suit the inverter.
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Set cells of Bank to 16']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    // The trade’s names of voltages are no mistake: 12 V for 12.8 V, 48 V for 51.2 V.
    expect(
      await findings(hut('{ chemistry: lfp   voltage: 12 V   cells: 4   series: 4 }', 'dcVoltage: 42..60 V')),
    ).toEqual([]);
    expect(await findings(hut('{ chemistry: lfp   voltage: 48 V   cells: 16 }', 'dcVoltage: 42..60 V'))).toEqual([]);
  });

  it('minds DC loads and the input of converters', async () => {
    const load = (volts: string): string =>
      `load Fan { power: 50 W   supply: dc   voltage: ${volts} }\n  run FanFeed: Dc -> Fan { size: 4 mm2   length: 2 m }`;
    expect(await findings(hut(': Lfp48V100Ah', 'dcVoltage: 42..60 V', load('48 V')))).toEqual([]);
    const [fan, ...others] = await findings(hut(': Lfp48V100Ah', 'dcVoltage: 42..60 V', load('24 V')));
    expect(others).toEqual([]);
    expect(fan?.subject).toBe('D.Fan');
    expect(lacking(fan?.told, 'Fan runs on 24 V, but Bank makes 51.2 V')).toEqual([]);
    const converter = (
      window: string,
    ): string => `converter Down { input: ${window}   output: 12 V   currentLimit: 20 A   efficiency: 90 % }
  load Fan { power: 50 W   supply: dc   voltage: 12 V }
  run DownFeed: Dc -> Down.in { size: 6 mm2   length: 1 m }
  run FanFeed: Down.out -> Fan { size: 4 mm2   length: 2 m }`;
    expect(await findings(hut(': Lfp48V100Ah', 'dcVoltage: 42..60 V', converter('40..60 V')))).toEqual([]);
    const [down] = await findings(hut(': Lfp48V100Ah', 'dcVoltage: 42..60 V', converter('20..30 V')));
    expect(lacking(down?.told, 'Down takes 20..30 V')).toEqual([]);
  });

  it('asks for the voltage of the units', async () => {
    expect(askedBy(await analyseText(hut('{ chemistry: lfp }', 'dcVoltage: 42..60 V')), ID)).toEqual([
      'voltage of Bank',
    ]);
  });

  it('warns of a unit that no whole number of cells makes, though none is stated', async () => {
    const told = async (facts: string): Promise<string[]> =>
      (await findings(`design D {\n  battery Bank { ${facts} }\n}\n`)).map(({ severity }) => severity);
    expect(await told('chemistry: flooded   voltage: 3 V')).toEqual(['warning']);
    expect(await told('chemistry: lfp   voltage: 8 V')).toEqual(['warning']);
    for (const volts of [2, 6, 12, 24]) expect(await told(`chemistry: agm   voltage: ${volts} V`)).toEqual([]);
    for (const volts of [3.2, 12, 12.8, 24, 25.6, 36, 48, 51.2])
      expect(await told(`chemistry: lfp   voltage: ${volts} V`)).toEqual([]);
  });
});
