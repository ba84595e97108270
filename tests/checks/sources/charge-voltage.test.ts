import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

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
const messages = async (text: string): Promise<string[]> => (await findings(text)).map(({ told }) => told);
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
    expect(near).toContain('the BMS of Bank disconnects at 58 V');
    expect(near).toContain('57.2 V');
    await mends(hut('absorb: 57.5 V', bank));
  });

  it('takes the chemistry’s figure where the data sheet is silent: firm where published, a warning where from memory', async () => {
    // 16 · 3.65 V = 58.4 V, published charts.
    const [lithium] = await findings(hut('absorb: 58.8 V', own('chemistry: lfp   voltage: 51.2 V')));
    expect(lithium?.severity).toBe('error');
    expect(lacking(lithium?.told, '3.65 V · 16')).toEqual([]);
    const [gel] = await findings(hut('absorb: 60 V', own('chemistry: gel   voltage: 12 V   series: 4')));
    expect(gel?.severity).toBe('warning');
    expect(lacking(gel?.told, 'table from memory')).toEqual([]);
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
    expect(lacking(finding?.told, 'never charged fully')).toEqual([]);
    await mends(hut('absorb: 54 V'));
  });

  it('finds equalising of chemistries that are never equalised, and takes it out', async () => {
    const lithium = hut('absorb: 56 V   equalise: 57 V');
    expect((await messages(lithium))[0]).toContain('lithium iron phosphate, never equalised');
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
    expect(lacking(cold?.told, 'never full in the cold')).toEqual([]);
    expect(cold?.fixes.map(({ title }) => title)).toEqual(['Set temperatureCompensation of Rect to -96 mV/K']);
    await mends(text('-1..30 degC'));
    const [hot] = await messages(text('20..51 degC'));
    expect(hot).toContain('dry out in the heat');
    expect(await messages(text('-20..50 degC', 'absorb: 57.6 V   temperatureCompensation: -72 mV/K'))).toEqual([]);
    const open = own('chemistry: agm   voltage: 12 V   cells: 6   series: 4');
    expect(askedBy(await analyseText(hut('absorb: 57.6 V', open)), ID)).toEqual(['cellTemperature of Bank']);
  });

  describe('of several banks on one bus', () => {
    const pair = (charger: string, first: string, second: string): string => `design D {
  charger Rect { currentLimit: 20 A   efficiency: 93 %   ${charger} }
  ${first}
  ${second}
  bus Bar {}
  run Feed: Rect.dc -> Bar { size: 16 mm2   length: 1 m }
  run A: One -> Bar { size: 16 mm2   length: 1 m }
  run B: Two -> Bar { size: 16 mm2   length: 1 m }
}
`;
    const AGM =
      'battery One { chemistry: agm   voltage: 12 V   cells: 6   series: 4   chargeLimit: 14.7 V   cellTemperature: 20..25 degC }';
    const LITHIUM =
      'battery Two { chemistry: lfp   voltage: 51.2 V   cells: 16   chargeLimit: 57.6 V   cellTemperature: 20..25 degC }';

    it('proposes the set point that suits every bank', async () => {
      // AGM: 24 · 2.35 V = 56.4 V at least, 58.8 V at most; lithium: 16 · 3.55 V = 56.8 V as usual, 57.6 V at most.
      for (const absorb of ['59.6 V', '58.4 V', '56 V']) {
        const text = pair(`absorb: ${absorb}   float: 54 V`, AGM, LITHIUM);
        const titles = (await findings(text)).flatMap(({ fixes }) => fixes.map(({ title }) => title));
        expect(new Set(titles)).toEqual(new Set(['Set absorb of Rect to 56.8 V']));
        await mends(text);
      }
    });

    it('says so where none does, and proposes none', async () => {
      // 15 cells take 15 · 3.55 V = 53.2 V, below the 56.4 V that the AGM needs.
      const fifteen = LITHIUM.replace('51.2 V', '48 V').replace('cells: 16', 'cells: 15').replace('57.6 V', '54 V');
      const all = await findings(pair('absorb: 56 V', AGM, fifteen));
      expect(all.flatMap(({ fixes }) => fixes)).toEqual([]);
      expect(lacking(all[0]?.told, 'No one voltage suits One and Two')).toEqual([]);
    });

    it('proposes none where a fact lacks by which it could harm the other', async () => {
      const all = await findings(pair('absorb: 59.6 V', AGM, LITHIUM.replace('chemistry: lfp   ', '')));
      expect(all.length).toBeGreaterThan(0);
      expect(all.flatMap(({ fixes }) => fixes)).toEqual([]);
    });

    it('proposes no compensation that suits one of them only', async () => {
      const cold = AGM.replace('20..25 degC', '-10..25 degC');
      const uncompensated = await findings(pair('absorb: 56.8 V   float: 54 V', cold, LITHIUM));
      expect(uncompensated.map(({ told }) => told).join()).toContain('never full in the cold');
      expect(uncompensated.flatMap(({ fixes }) => fixes)).toEqual([]);
      const compensated = await findings(
        pair('absorb: 56.8 V   float: 54 V   temperatureCompensation: -96 mV/K', AGM, LITHIUM),
      );
      expect(compensated).toHaveLength(1);
      expect(compensated[0]?.fixes).toEqual([]);
    });
  });

  describe('of float', () => {
    const kept = (chemistry: string, cells: number, volts: number, points: string): string =>
      hut(
        points,
        own(`chemistry: ${chemistry}   voltage: ${volts} V   cells: ${cells}   cellTemperature: 20..25 degC`),
      );

    it('is an error above absorption', async () => {
      const text = kept('lfp', 4, 12.8, 'absorb: 14.2 V   float: 14.4 V');
      const [finding, ...others] = await findings(text);
      expect(others).toEqual([]);
      expect(finding?.severity).toBe('error');
      expect(lacking(finding?.told, 'above its absorption (14.2 V)')).toEqual([]);
      await mends(text);
    });

    it('is a warning above the usual figure of the chemistry, which is from memory', async () => {
      // Gel 2.28 V, AGM 2.28 V, flooded 2.25 V, lithium iron phosphate 3.40 V a cell, 0.02 V more allowed.
      for (const [chemistry, cells, volts, most] of [
        ['gel', 6, 12, 13.8],
        ['agm', 6, 12, 13.8],
        ['flooded', 6, 12, 13.62],
        ['lfp', 4, 12.8, 13.68],
      ] as const) {
        const absorb = chemistry === 'gel' ? '14.2 V' : chemistry === 'lfp' ? '14.1 V' : '14.4 V';
        expect(await messages(kept(chemistry, cells, volts, `absorb: ${absorb}   float: ${most} V`))).toEqual([]);
        const text = kept(chemistry, cells, volts, `absorb: ${absorb}   float: ${(most + 0.05).toFixed(2)} V`);
        const [finding, ...others] = await findings(text);
        expect(others).toEqual([]);
        expect(finding?.severity).toBe('warning');
        await mends(text);
      }
      expect((await findings(kept('gel', 6, 12, 'absorb: 14.1 V   float: 14.1 V')))[0]?.severity).toBe('warning');
    });

    it('is a warning at absorption voltage on lithium, whatever its sort', async () => {
      expect((await messages(kept('lfp', 4, 12.8, 'absorb: 14.2 V   float: 14.2 V')))[0]).toContain('they age');
      // Seven cells of 4.10 V; they are not floated as a rule, and no float voltage is proposed.
      const [finding] = await findings(kept('nmc', 7, 25.2, 'absorb: 28.7 V   float: 28.7 V'));
      expect(lacking(finding?.told, 'they age')).toEqual([]);
      expect(finding?.fixes).toEqual([]);
    });

    it('is a warning below the rest voltage of full lead cells', async () => {
      // AGM rests at 2.165 V a cell: 12.99 V.
      expect(await messages(kept('agm', 6, 12, 'absorb: 14.4 V   float: 13 V'))).toEqual([]);
      const text = kept('agm', 6, 12, 'absorb: 14.4 V   float: 12.9 V');
      expect((await messages(text))[0]).toContain('when full');
      await mends(text);
      expect(await messages(kept('lfp', 4, 12.8, 'absorb: 14.1 V   float: 13 V'))).toEqual([]);
    });
  });
});
