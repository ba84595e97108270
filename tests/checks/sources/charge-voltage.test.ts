import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

const ID = 'charge-voltage';

const hut = (charger: string, bank = 'battery Bank : Lfp48V280Ah'): string => `design D {
  grid Mains { voltage: 230 V   rating: 16 A   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: 20 A   efficiency: 93 %   powerFactor: 0.98   ${charger} }
  ${bank} { cellTemperature: 20..30 degC }
  run In: Mains -> Rect.ac { size: 4 mm2   length: 5 m }
  run Feed: Rect.dc -> Bank { size: 16 mm2   length: 1 m }
}
`;
const own = (facts: string): string => `battery Bank { ${facts} }\n  //`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);
const messages = async (text: string): Promise<string[]> => (await findings(text)).map(({ message }) => message);
const mends = async (text: string): Promise<void> => {
  for (const finding of await findings(text))
    for (const fix of finding.fixes) expect(await afterFix(text, ID, fix)).toEqual({ left: [], fresh: [] });
};

describe(ID, () => {
  it('accepts set points up to what the data sheet says and 0.05 V a cell below the protection', async () => {
    // chargeLimit 57.6 V, protection 58.4 V − 16 · 0.05 V = 57.6 V.
    expect(await messages(hut('absorb: 57.6 V   float: 54 V'))).toEqual([]);
    const [over] = await messages(hut('absorb: 57.7 V   float: 54 V'));
    expect(over).toContain('57.7 V');
    expect(over).toContain('57.6 V');
    await mends(hut('absorb: 57.7 V   float: 54 V'));
  });

  it('keeps clear of the protection where the data sheet allows more', async () => {
    const bank = own('chemistry: lfp   voltage: 51.2 V   cells: 16   chargeLimit: 58.4 V   protectionHigh: 58 V');
    expect(await messages(hut('absorb: 57.2 V', bank))).toEqual([]);
    const [near] = await messages(hut('absorb: 57.5 V', bank));
    expect(near).toContain('protection of Bank opens at 58 V');
    expect(near).toContain('57.2 V');
    await mends(hut('absorb: 57.5 V', bank));
  });

  it('takes the chemistry’s figure where the data sheet is silent: firm where published, a warning where from memory', async () => {
    // 16 · 3.65 V = 58.4 V, published charts.
    const [lithium] = await findings(hut('absorb: 58.8 V', own('chemistry: lfp   voltage: 51.2 V')));
    expect(lithium?.severity).toBe('error');
    expect(lithium?.message).toContain('3.65 V · 16');
    const [gel] = await findings(hut('absorb: 60 V', own('chemistry: gel   voltage: 12 V   series: 4')));
    expect(gel?.severity).toBe('warning');
    expect(gel?.message).toContain('table from memory');
  });

  it('speaks of 15 cells only when it knows that there are 15', async () => {
    // 15 · 3.65 V = 54.75 V: 56 V would harm them, and is right for 16.
    expect(askedBy(await analyseText(hut('absorb: 56 V', own('chemistry: lfp   voltage: 48 V'))), ID)).toEqual([
      'cells of Bank',
    ]);
    expect(await messages(hut('absorb: 56 V', own('chemistry: lfp   voltage: 48 V   cells: 15')))).toHaveLength(1);
    expect(await messages(hut('absorb: 56 V', own('chemistry: lfp   voltage: 51.2 V   cells: 16')))).toEqual([]);
  });

  it('proposes a float voltage, too', async () => {
    const text = hut('absorb: 56 V   float: 58 V');
    const [finding] = await findings(text);
    // 16 · 3.4 V.
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Set float of Rect to 54.4 V']);
    await mends(text);
  });

  it('warns of an absorption voltage at which the bank is never full', async () => {
    // 16 · 3.40 V = 54.4 V.
    expect(await messages(hut('absorb: 54.4 V'))).toEqual([]);
    const [finding] = await findings(hut('absorb: 54 V'));
    expect(finding?.severity).toBe('warning');
    expect(finding?.message).toContain('never charged fully');
    await mends(hut('absorb: 54 V'));
  });

  it('finds equalising of chemistries that are never equalised, and takes it out', async () => {
    const lithium = hut('absorb: 56 V   equalise: 57 V');
    expect((await messages(lithium))[0]).toContain('lithium iron phosphate, which is never equalised');
    await mends(lithium);
    const gel = hut('absorb: 56.4 V   equalise: 57 V', 'battery Bank : Gel12V100Ah { series: 4 }\n  //');
    expect((await messages(gel))[0]).toContain('never equalised');
    const flooded = hut('absorb: 57.6 V   equalise: 62 V', own('chemistry: flooded   voltage: 12 V   series: 4'));
    expect(await messages(flooded)).toEqual([]);
  });

  it('finds temperature compensation of lithium, not of lead', async () => {
    const text = hut('absorb: 56 V   temperatureCompensation: -60 mV/K');
    expect((await messages(text))[0]).toContain('charged at the same voltage at every temperature');
    await mends(text);
    expect(await messages(hut('absorb: 56 V   temperatureCompensation: 0 mV/K'))).toEqual([]);
    expect(
      await messages(
        hut(
          'absorb: 57.6 V   temperatureCompensation: -120 mV/K',
          own('chemistry: flooded   voltage: 12 V   series: 4'),
        ),
      ),
    ).toEqual([]);
  });

  it('leaves set points of another bank voltage to bank-voltage', async () => {
    const analysis = await analyseText(hut('absorb: 28.4 V'));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(findingsOf(analysis, 'bank-voltage')).toHaveLength(1);
  });

  it('minds the regulator of an alternator and the output of a converter', async () => {
    const text = (volts: string): string => `design D {
  alternator Engine { currentLimit: 40 A   voltage: ${volts} }
  battery House : Lfp12V100Ah { cellTemperature: 20..30 degC }
  run Feed: Engine -> House { size: 16 mm2   length: 3 m }
}
`;
    expect(await messages(text('13.8..14.2 V'))).toEqual([]);
    expect((await messages(text('13.8..14.7 V')))[0]).toContain(
      'voltage of Engine is 14.7 V; House is charged at 14.4 V at most',
    );
    await mends(text('14.7 V'));
    const open = await analyseText(text('14 V').replace('voltage: 14 V', ''));
    expect(askedBy(open, ID)).toEqual(['voltage of Engine']);
  });

  it('judges a solar charge controller and a built-in charger like any charger', async () => {
    const text = `design D {
  solar Array { power: 400 W }
  chargeController Mppt { maximumCurrent: 20 A   absorb: 59 V }
  inverter Inv { rated: 3 kW   voltage: 230 V   passThrough: yes   currentLimit: 20 A   absorb: 59 V   neutralBond: switched }
  battery Bank : Lfp48V280Ah
  bus Dc {}
  run Line: Array -> Mppt.solar { size: 6 mm2   length: 5 m }
  run A: Mppt.dc -> Dc { size: 6 mm2   length: 1 m }
  run B: Inv.dc -> Dc { size: 70 mm2   length: 1 m }
  run C: Bank -> Dc { size: 70 mm2   length: 1 m }
}
`;
    expect((await findings(text)).map(({ subject }) => subject).sort()).toEqual(['D.Inv', 'D.Mppt']);
  });

  it('asks for the set points', async () => {
    expect(askedBy(await analyseText(hut('')), ID)).toEqual(['absorb of Rect']);
  });

  it('wants lead-acid set points compensated where the cells get far from 25 °C', async () => {
    // 4 mV/K and cell (from memory): 25 K are 0.1 V.
    const text = (cells: string, charger = 'absorb: 57.6 V'): string =>
      hut(charger, own(`chemistry: agm   voltage: 12 V   cells: 6   series: 4   cellTemperature: ${cells}`));
    expect(await messages(text('0..50 degC'))).toEqual([]);
    const [cold] = await findings(text('-1..30 degC'));
    expect(cold?.severity).toBe('warning');
    expect(cold?.message).toContain('never full in the cold');
    expect(cold?.fixes.map(({ title }) => title)).toEqual(['Set temperatureCompensation of Rect to -96 mV/K']);
    await mends(text('-1..30 degC'));
    const [hot] = await messages(text('20..51 degC'));
    expect(hot).toContain('dry out in the heat');
    expect(await messages(text('-20..50 degC', 'absorb: 57.6 V   temperatureCompensation: -72 mV/K'))).toEqual([]);
    const open = own('chemistry: agm   voltage: 12 V   cells: 6   series: 4');
    expect(askedBy(await analyseText(hut('absorb: 57.6 V', open)), ID)).toEqual(['cellTemperature of Bank']);
  });
});
