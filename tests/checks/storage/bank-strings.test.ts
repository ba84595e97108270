import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'bank-strings';

const bank = (facts: string, rest = '', settings = ''): string => `design D {
  ${settings}
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   resistance: 4 mohm   ${facts} }
  bus Dc {}
  run Feed: Bank -> Dc { size: 70 mm2   length: 1 m }
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(`${ID}: the number of strings`, () => {
  it('keeps to four unless the design says otherwise', async () => {
    expect(await findings(bank('parallel: 4   takeOff: busbar'))).toEqual([]);
    const [finding, ...others] = await findings(bank('parallel: 5   takeOff: busbar'));
    expect(others).toEqual([]);
    expect(lacking(finding?.told, '5 strings stand in parallel in Bank, and practice keeps to 4')).toEqual([]);
    expect(finding?.severity).toBe('warning');
    expect(await findings(bank('parallel: 5   takeOff: busbar', '', 'mostStrings: 5'))).toEqual([]);
  });

  it('goes by the maker’s number where there is one, up and down', async () => {
    expect(await findings(bank('parallel: 8   maximumParallel: 8   takeOff: busbar'))).toEqual([]);
    const [finding] = await findings(bank('parallel: 3   maximumParallel: 2   takeOff: busbar'));
    expect(lacking(finding?.told, 'its maker allows 2')).toEqual([]);
  });

  it('counts the strings of all banks on the bus once', async () => {
    const other = (parallel: number): string =>
      `battery Other { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   resistance: 4 mohm   parallel: ${parallel}   takeOff: busbar }
  run B: Other -> Dc { size: 70 mm2   length: 1 m }`;
    expect(await findings(bank('parallel: 2   takeOff: busbar', other(2)))).toEqual([]);
    const [finding, ...others] = await findings(bank('parallel: 2   takeOff: busbar', other(3)));
    expect(others).toEqual([]);
    expect(lacking(finding?.told, '5 strings stand in parallel on the bus of Bank and Other')).toEqual([]);
  });
});

describe(`${ID}: strings in a row`, () => {
  it('works out the split, names it, and proposes a take-off that evens it out', async () => {
    const text = bank('parallel: 4   takeOff: end   jumper: 0.3 mohm');
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    // Hand calculation: a = 0.3/4; I4 = 1, I3 = 1 + 0.15·1 = 1.15, I2 = 1.15 + 0.15·2.15 = 1.4725, I1 = 1.4725 + 0.15·3.6225 = 2.0159;
    // 2.0159 of 5.6384 is 35.75 %, 1.43 times a quarter.
    expect(lacking(finding?.told, '1.43 times its fair share')).toEqual([]);
    expect(lacking(finding?.told, '35.8 %, 26.1 %, 20.4 %, 17.7 %')).toEqual([]);
    expect(lacking(finding?.told, 'at most 1.1 times')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Take the main cables off at opposite ends (takeOff: diagonal)',
      'Give each string leads of equal length (takeOff: busbar)',
    ]);
    for (const fix of finding!.fixes) expect(await afterFix(text, ID, fix)).toEqual({ left: [], fresh: [] });
  });

  it('goes by the excess that the design allows', async () => {
    // Two strings, a = j/4 mΩ: the near one carries (1 + 2a)/(1 + a) times its share, 1.1 at a = 1/9.
    const two = (jumper: string, settings = ''): string =>
      bank(`parallel: 2   takeOff: end   jumper: ${jumper}`, '', settings);
    expect(await findings(two('0.444 mohm'))).toEqual([]);
    expect(await findings(two('0.446 mohm'))).toHaveLength(1);
    expect(await findings(two('0.446 mohm', 'stringExcess: 15 %'))).toEqual([]);
  });

  it('takes the lowest resistance of the strings, which shares least evenly', async () => {
    const text = (ohms: string): string =>
      bank('parallel: 2   takeOff: end   jumper: 0.5 mohm').replace('resistance: 4 mohm', `resistance: ${ohms}`);
    expect(await findings(text('8 mohm'))).toEqual([]);
    expect(await findings(text('4..8 mohm'))).toHaveLength(1);
  });

  it('is an error where the busiest string is asked for more than one unit gives', async () => {
    const load =
      'load Pump { power: 1.68 kW   supply: dc   minimumVoltage: 10.5 V }\n  run L: Dc -> Pump { size: 70 mm2   length: 1 m }';
    // 1.68 kW at 10.5 V (6 · 1.75 V) are 160 A, 80 A a string; 1.43/1.2 times more than 90 A in the near one.
    const text = (limit: number): string =>
      bank(`parallel: 2   takeOff: end   jumper: 1 mohm   maximumDischarge: ${limit} A`, load);
    const [finding] = await findings(text(90));
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, 'gives 96 A, and one unit takes 90 A')).toEqual([]);
    expect((await findings(text(97)))[0]?.severity).toBe('warning');
  });

  it('asks for the take-off, and for the links where they count', async () => {
    expect(askedBy(await analyseText(bank('parallel: 2')), ID)).toEqual(['takeOff of Bank']);
    expect(askedBy(await analyseText(bank('parallel: 2   takeOff: end')), ID)).toEqual(['jumper of Bank']);
    expect(askedBy(await analyseText(bank('parallel: 2   takeOff: busbar')), ID)).toEqual([]);
    expect(askedBy(await analyseText(bank('')), ID)).toEqual([]);
  });
});

describe(`${ID}: several banks on one bus`, () => {
  const banks = (lengths: readonly [string, string], rest = ''): string => `design D {
  battery One : Lfp48V100Ah { resistance: 10 mohm }
  battery Two : Lfp48V100Ah { resistance: 10 mohm }
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46 V   neutralBond: bonded }
  bus Dc {}
  run A: One -> Dc { size: 35 mm2   ${lengths[0]} }
  run B: Two -> Dc { size: 35 mm2   ${lengths[1]} }
  run InvFeed: Dc -> Inv.dc { size: 35 mm2   length: 1 m }
  ${rest}
}
`;

  it('shares by the cables: equal ones are even, unequal ones are found with the currents', async () => {
    expect(await findings(banks(['length: 1 m', 'length: 1 m']))).toEqual([]);
    const [finding, ...others] = await findings(banks(['length: 1 m', 'length: 6 m']));
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('D.One');
    expect(lacking(finding?.told, /One carries 1\.\d+ times its share by capacity .* with battery alone/)).toEqual([]);
    expect(lacking(finding?.told, /One \d+(\.\d+)? A, Two \d+(\.\d+)? A/)).toEqual([]);
  });

  it('goes by capacity, not by number', async () => {
    // Half the resistance, twice the capacity: shares are fair though currents differ.
    const text = banks(['length: 0.01 m', 'length: 0.01 m']).replace(
      'battery Two : Lfp48V100Ah { resistance: 10 mohm }',
      'battery Two : Lfp48V100Ah { resistance: 5 mohm   capacity: 200 Ah }',
    );
    expect(await findings(text)).toEqual([]);
    expect(await findings(text.replace('capacity: 200 Ah', 'capacity: 100 Ah'))).toHaveLength(1);
  });

  it('asks for lengths that lack', async () => {
    const asked = askedBy(await analyseText(banks(['length: 1 m', ''])), ID);
    expect(asked).toContain('length of B');
  });
});
