import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'shore-limit';

/** A charger of 100 % and power factor 1 at 28 V: 60 A are 1680 W, 14 A at 120 V. */
const van = (shore: string, heater: string, limit = '60 A', settings = ''): string => `design D {
  ${settings}
  grid Shore { voltage: 120 V   ${shore}   neutralBond: bonded }
  charger Rect { input: 90..132 V   currentLimit: ${limit}   absorb: 28 V   efficiency: 100 %   powerFactor: 1 }
  battery Bank : Lfp24V200Ah { cellTemperature: 15..30 degC }
  bus Panel {}
  load Heater { ${heater} }
  run Cord: Shore -> Panel { size: 8 AWG   length: 8 m }
  run In: Panel -> Rect.ac { size: 10 AWG   length: 2 m }
  run Line: Panel -> Heater { size: 10 AWG   length: 3 m }
  run Feed: Rect.dc -> Bank { size: 1/0 AWG   length: 1 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('adds chargers and loads, and passes exactly what the service gives', async () => {
    // 14 A and 1.92 kW of a load that runs for less than three hours: 16 A.
    const short = 'power: 1.92 kW   continuous: no';
    expect(await findings(van('rating: 30 A   outlet: TT-30', short))).toEqual([]);
    const text = van('rating: 30 A   outlet: TT-30', 'power: 2.16 kW   continuous: no');
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, '32 A')).toEqual([]);
    expect(lacking(finding?.told, 'Heater 18 A, Rect 14 A')).toEqual([]);
    // (30 − 18) A · 120 V / 28 V = 51.4 A
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Limit Rect to 51 A']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('lets 80 % of a service without an outlet run for hours, under nec and craft', async () => {
    // 24 A of 30 A: 14 A and 10 A.
    expect(await findings(van('rating: 30 A', 'power: 1.2 kW'))).toEqual([]);
    const [finding] = await findings(van('rating: 30 A', 'power: 1.32 kW'));
    expect(lacking(finding?.told, '24 A for hours on end')).toEqual([]);
    expect(lacking(finding?.told, '25 A')).toEqual([]);
    expect(await findings(van('rating: 30 A', 'power: 1.32 kW', '60 A', 'basis: craft'))).toHaveLength(1);
    expect(await findings(van('rating: 30 A', 'power: 1.32 kW', '60 A', 'basis: iec'))).toEqual([]);
    // What an outlet carries for hours is judged by plug-continuous, once.
    const outlet = await analyseText(van('rating: 30 A   outlet: TT-30', 'power: 1.32 kW'));
    expect(findingsOf(outlet, ID)).toEqual([]);
    expect(findingsOf(outlet, 'plug-continuous')).toHaveLength(1);
  });

  it('leaves a charger that is too much by itself to charger-input', async () => {
    // 140 A are 32.7 A at 120 V.
    const analysis = await analyseText(van('rating: 30 A   outlet: TT-30', 'power: 100 W', '140 A'));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(findingsOf(analysis, 'charger-input')).toHaveLength(1);
  });

  it('looks at the most loaded leg', async () => {
    const text = (legs: string): string => `design D {
  grid Shore { voltage: 120/240 V   rating: 20 A   neutralBond: bonded }
  bus Panel {}
  load One { power: 1.8 kW   voltage: 120 V   legs: L1   continuous: no }
  load Two { power: 1.8 kW   voltage: 120 V   legs: ${legs}   continuous: no }
  run Cord: Shore -> Panel { size: 8 AWG   length: 8 m }
  run Lines: Panel -> One, Two { size: 10 AWG   length: 3 m }
}
`;
    expect(await findings(text('L2'))).toEqual([]);
    const [finding] = await findings(text('L1'));
    expect(lacking(finding?.told, '30 A')).toEqual([]);
    expect(lacking(finding?.told, 'leg L1')).toEqual([]);
    expect(lacking(finding?.told, 'Run less at once')).toEqual([]);
  });

  it('sets the input limit of an inverter that passes the supply on', async () => {
    const text = (limit: string): string => `design D {
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30   neutralBond: bonded }
  inverter Inv : InverterCharger12V3000 { currentLimit: 150 A   absorb: 14.4 V   neutralBond: switched   ${limit} }
  battery Bank : Lfp12V300Ah { parallel: 2   cellTemperature: 15..30 degC }
  load Kettle { power: 1.2 kW   continuous: no }
  run Cord: Shore -> Inv.input { size: 8 AWG   length: 5 m }
  run Feed: Bank -> Inv.dc { size: 4/0 AWG   length: 1 m }
  run Line: Inv.ac -> Kettle { size: 12 AWG   length: 3 m }
}
`;
    // 150 A · 14.4 V / 0.88 / 0.97 / 120 V = 21.1 A, and 10 A of the kettle.
    const [finding] = await findings(text(''));
    expect(lacking(finding?.told, '31.1 A')).toEqual([]);
    const titles = finding!.fixes.map(({ title }) => title);
    expect(titles).toContain('Limit the input of Inv to 30 A');
    const fix = finding!.fixes.find(({ title }) => title.startsWith('Limit the input'))!;
    expect(await afterFix(text(''), ID, fix)).toEqual({ left: [], fresh: [] });
    expect(await findings(text('inputLimit: 30 A'))).toEqual([]);
  });

  it('asks for the rating, and says nothing of a service that feeds nothing', async () => {
    expect(askedBy(await analyseText(van('', 'power: 1 kW')), ID)).toEqual(['rating of Shore']);
    const idle = await analyseText('design D {\n  grid Spare { voltage: 230 V }\n}\n');
    expect(askedBy(idle, ID)).toEqual([]);
  });
});
