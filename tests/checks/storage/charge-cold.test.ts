import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'charge-cold';

const hut = (bank: string, rest = '', site = 'ambient: -18..28 degC', sun = ''): string => `design D {
  site { ${site} }
  solar Array { power: 400 W   shortCircuitCurrent: 10 A }
  chargeController Sun { currentLimit: 30 A   maximumCurrent: 30 A   absorb: 56 V   ${sun} }
  battery Bank ${bank}
  run Line: Array -> Sun.solar { size: 6 mm2   length: 10 m }
  run Feed: Bank -> Sun.dc { size: 16 mm2   length: 1 m }
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('finds cells that can be charged below what their data sheet allows, to the degree', async () => {
    expect(await findings(hut(': Lfp48V100Ah { cellTemperature: 0..30 degC }'))).toEqual([]);
    const text = hut(': Lfp48V100Ah { cellTemperature: -1..30 degC }');
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('error');
    expect(
      lacking(finding?.told, 'Sun can charge Bank with Array charging at cell temperatures down to -1 degC'),
    ).toEqual([]);
    expect(lacking(finding?.told, 'charged from 0 degC up')).toEqual([]);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('goes by the data sheet where it differs from the chemistry', async () => {
    const cells = (from: number): string =>
      hut(`: Lfp48V100Ah { chargeTemperature: ${from}..50 degC   cellTemperature: 3..30 degC }`);
    expect(await findings(cells(3))).toEqual([]);
    expect(await findings(cells(5))).toHaveLength(1);
  });

  it('takes 0 °C for lithium without a data sheet; a figure from memory makes a warning', async () => {
    const cells = (chemistry: string, cold: number): string =>
      hut(
        `{ chemistry: ${chemistry}   voltage: 51.2 V   cells: 16   capacity: 100 Ah   cellTemperature: ${cold}..30 degC }`,
      );
    expect(await findings(cells('lfp', 0))).toEqual([]);
    expect((await findings(cells('lfp', -1)))[0]?.severity).toBe('error');
    expect((await findings(cells('nmc', -1)))[0]?.severity).toBe('warning');
    expect(await findings(cells('agm', -1))).toEqual([]);
  });

  it('takes the site where that is warm enough, else asks for the cells', async () => {
    const warm = await analyseText(hut(': Lfp48V100Ah', '', 'ambient: 0..40 degC'));
    expect(findingsOf(warm, ID)).toEqual([]);
    expect(askedBy(warm, ID)).toEqual([]);
    const cold = await analyseText(hut(': Lfp48V100Ah', '', 'ambient: -1..40 degC'));
    expect(findingsOf(cold, ID)).toEqual([]);
    expect(askedBy(cold, ID)).toEqual(['cellTemperature of Bank']);
  });

  it('says as information that a bank which locks itself is not charged in the cold', async () => {
    const [finding] = await findings(hut(': Lfp48V100Ah { cellTemperature: -10..30 degC   coldLock: yes }'));
    expect(finding?.severity).toBe('info');
    expect(lacking(finding?.told, 'Bank refuses charge below 0 degC, and its cells get as cold as -10 degC')).toEqual(
      [],
    );
    expect(await findings(hut(': Lfp48V100Ah { cellTemperature: -10..30 degC   coldLock: no }'))).toHaveLength(1);
  });

  it('counts a rule that switches the charger off, when it acts at every temperature below', async () => {
    const rule = (limit: string): string =>
      `control Cold of Sun { off when temperature(Bank) < ${limit}   on when temperature(Bank) > 8 degC }`;
    const cells = ': Lfp48V100Ah { cellTemperature: -10..30 degC }';
    expect((await findings(hut(cells, rule('2 degC'))))[0]?.severity).toBe('info');
    expect((await findings(hut(cells, rule('0 degC'))))[0]?.severity).toBe('info');
    expect((await findings(hut(cells, rule('-2 degC'))))[0]?.severity).toBe('error');
    const other = 'control Cold of Sun { off when soc(Bank) > 95 %   on when soc(Bank) < 80 % }';
    expect((await findings(hut(cells, other)))[0]?.severity).toBe('error');
  });

  it('trusts a link only as far as the charger stops without it', async () => {
    const link = 'link L: Bank -> Sun { medium: can }';
    const cells = ': Lfp48V100Ah { cellTemperature: -10..30 degC }';
    const [finding] = await findings(hut(cells, link));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'Only the link keeps Sun from charging Bank at -10 degC, 10 K below')).toEqual([]);
    expect((await findings(hut(cells, link, undefined, 'lostLink: defaults')))[0]?.severity).toBe('warning');
    expect((await findings(hut(cells, link, undefined, 'lostLink: stop')))[0]?.severity).toBe('info');
  });

  it('needs every charger kept off', async () => {
    const second = `grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  run In: Mains -> Rect.ac { size: 2.5 mm2   length: 3 m }
  run Out: Bank -> Rect.dc { size: 10 mm2   length: 1 m }
  control Cold of Sun { off when temperature(Bank) < 2 degC   on when temperature(Bank) > 8 degC }`;
    const [finding] = await findings(hut(': Lfp48V100Ah { cellTemperature: -10..30 degC }', second));
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, 'Rect can charge Bank with Mains connected')).toEqual([]);
    // Of the states the first in which both work.
    const [both] = await findings(
      hut(': Lfp48V100Ah { cellTemperature: -10..30 degC }', second.replace(/control .*/, '')),
    );
    expect(lacking(both?.told, 'Sun and Rect can charge Bank with Mains connected, Array charging')).toEqual([]);
  });

  it('warns of lead below its data sheet', async () => {
    const lead = (cold: number): string => hut(`: Agm12V100Ah { series: 4   cellTemperature: ${cold}..30 degC }`);
    expect(await findings(lead(-10))).toEqual([]);
    const [finding] = await findings(lead(-11));
    expect(finding?.severity).toBe('warning');
    expect(finding?.told).not.toContain('Lithium');
  });

  it('has nothing to say where nothing charges', async () => {
    const analysis = await analyseText('design D { battery Bank : Lfp48V100Ah { cellTemperature: -20..0 degC } }');
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID)).toEqual([]);
  });
});
