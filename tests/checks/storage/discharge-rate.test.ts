import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'discharge-rate';

const van = (bank: string, watts: number, rest = ''): string => `design D {
  battery Bank ${bank}
  load Heater { power: ${watts} W   supply: dc }
  bus Dc {}
  run Feed: Bank -> Dc
  run HeaterFeed: Dc -> Heater
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

const inverter = (
  watts: number,
): string => `inverter Inv { rated: ${watts} W   voltage: 230 V   efficiency: 100 %   dcVoltage: 10..15 V   cutOff: 10 V   neutralBond: bonded }
  run InvFeed: Dc -> Inv.dc`;

describe(`${ID}: the limit of the data sheet`, () => {
  it('adds up everything that draws, at the lowest voltage, boundary included', async () => {
    // 1 kW at 10 V are 100 A.
    expect(await findings(van(': Lfp12V100Ah', 1000))).toEqual([]);
    const text = van(': Lfp12V100Ah', 1001);
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, '100.1 A')).toEqual([]);
    expect(lacking(finding?.told, 'gives 100 A by `maximumDischarge`')).toEqual([]);
    // Half of 100.1 A, and a quarter more: 62.6 A; alone one gives 100 A at most.
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Put 2 strings in parallel, each with a fuse of 100 A']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('leaves a single bank with an inverter to the check of that', async () => {
    const analysis = await analyseText(van(': Lfp12V100Ah', 300, inverter(800)));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(findingsOf(analysis, 'inverter-bank-current')).toHaveLength(1);
  });

  it('counts the limits of all banks on the bus, and speaks once', async () => {
    const second = 'battery Other : Lfp12V100Ah\n  run B: Other -> Dc';
    expect(await findings(van(': Lfp12V100Ah', 2000, second))).toEqual([]);
    const found = await findings(van(': Lfp12V100Ah', 2010, second));
    expect(found).toHaveLength(1);
    expect(lacking(found[0]?.told, 'Bank and Other can be asked for 201 A at once')).toEqual([]);
    expect(found[0]?.fixes).toEqual([]);
    // An inverter on the bus of both is counted with the rest, and named.
    const [both] = await findings(van(': Lfp12V100Ah', 1300, `${second}\n  ${inverter(800)}`));
    expect(lacking(both?.told, '210 A at once')).toEqual([]);
    expect(lacking(both?.told, /Inv 80 A/)).toEqual([]);
    expect(lacking(both?.told, /Heater 130 A/)).toEqual([]);
  });

  it('proposes no more strings than their maker or practice allows', async () => {
    expect((await findings(van(': Lfp12V100Ah', 4000)))[0]?.fixes).toHaveLength(1);
    expect((await findings(van(': Lfp12V100Ah', 4100)))[0]?.fixes).toEqual([]);
    expect((await findings(van(': Lfp12V100Ah { maximumParallel: 1 }', 1500)))[0]?.fixes).toEqual([]);
  });

  it('names the state that governs: an inverter that passes the grid on draws nothing', async () => {
    const text = van(
      ': Lfp12V100Ah',
      100,
      `battery Other : Lfp12V100Ah
  grid Mains { voltage: 230 V   rating: 16 A   neutralBond: bonded }
  inverter Inv { rated: 1950 W   voltage: 230 V   efficiency: 100 %   dcVoltage: 10..15 V   cutOff: 10 V   neutralBond: switched   passThrough: yes }
  run B: Other -> Dc
  run In: Mains -> Inv.input
  run InvFeed: Dc -> Inv.dc`,
    );
    const [finding] = await findings(text);
    expect(lacking(finding?.told, '205 A at once, with battery alone')).toEqual([]);
  });

  it('asks for the limit of lithium, and not of lead', async () => {
    const asked = async (bank: string) => askedBy(await analyseText(van(bank, 100)), ID);
    expect(await asked('{ chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 100 Ah }')).toEqual([
      'maximumDischarge of Bank',
    ]);
    expect(await asked(': Agm12V100Ah')).toEqual([]);
    // Where nothing draws there is nothing to ask.
    for (const chemistry of ['lfp', 'agm'])
      expect(
        askedBy(await analyseText(`design D { battery Bank { chemistry: ${chemistry}   voltage: 12 V } }`), ID),
      ).toEqual([]);
  });
});

describe(`${ID}: the rate effect of lead`, () => {
  // The exponent 1.3 and 100 Ah at 20 h: by a battery-monitor manual 100 A leave 41 %, 10 A leave 81 %, 16.7 A 69 % (p. 27).
  const lead = (amperes: number, facts = ''): string =>
    van(
      `{ chemistry: flooded   voltage: 12 V   cells: 6   capacity: 100 Ah   capacityTime: 20 h   peukert: 1.3   ${facts} }`,
      amperes * 12,
    );

  it('goes by the published table of capacity by current', async () => {
    expect(await findings(lead(10))).toEqual([]);
    const [finding, ...others] = await findings(lead(16.7));
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('warning');
    // 100·(16.7/5)^−0.3 = 69.6: the manual prints 69.
    expect(lacking(finding?.told, 'gives 69.6 Ah')).toEqual([]);
    expect(lacking((await findings(lead(100)))[0]?.told, '40.7 %')).toEqual([]);
  });

  it('can be set in the design, and is mended by the strings it names', async () => {
    const text = lead(16.7);
    expect(await findings(text.replace('design D {', 'design D {\n  rateShare: 65 %'))).toEqual([]);
    const [finding] = await findings(text);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Put 2 strings in parallel, each with a fuse of 20 A']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('counts the mean of the loads, not their peak', async () => {
    expect(await findings(lead(16.7).replace('supply: dc', 'supply: dc   duty: 50 %'))).toEqual([]);
  });

  it('has no say on lithium, and asks for the rate of lead', async () => {
    expect(await findings(van(': Lfp12V100Ah', 900))).toEqual([]);
    const asked = askedBy(await analyseText(lead(10).replace('capacityTime: 20 h', '')), ID);
    expect(asked).toEqual(['capacityTime of Bank']);
  });
});
