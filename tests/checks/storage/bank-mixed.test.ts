import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'bank-mixed';

const pair = (one: string, other: string, rest = ''): string => `design D {
  battery One ${one}
  battery Two ${other}
  bus Dc {}
  run A: One -> Dc { size: 70 mm2   length: 1 m }
  run B: Two -> Dc { size: 70 mm2   length: 1 m }
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('finds another chemistry on the bus, with the charge voltages of both', async () => {
    const [finding, ...others] = await findings(pair(': Lfp48V100Ah', ': Agm12V100Ah { series: 4 }'));
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('D.Two');
    expect(finding?.severity).toBe('warning');
    // 16 cells of 3.45 to 3.55 V, 24 of 2.38 to 2.45 V.
    expect(lacking(finding?.told, 'One 55.2 to 56.8 V')).toEqual([]);
    expect(lacking(finding?.told, 'Two 57.1 to 58.8 V')).toEqual([]);
    expect(finding?.sources.some(({ provenance }) => provenance === 'from memory')).toBe(true);
  });

  it('finds unlike units of one chemistry, and lets alike ones stand', async () => {
    const [finding] = await findings(pair(': Lfp48V100Ah', ': Lfp48V280Ah'));
    expect(lacking(finding?.told, 'Two (units of 280 Ah) stands in parallel with One (units of 100 Ah)')).toEqual([]);
    expect(await findings(pair(': Lfp48V100Ah', ': Lfp48V100Ah { parallel: 2 }'))).toEqual([]);
    // Data sheets round: 280 and 285 Ah are alike, 280 and 290 Ah are not.
    const units = (capacity: string): string => `{ chemistry: lfp   voltage: 51.2 V   capacity: ${capacity} }`;
    expect(await findings(pair(units('280 Ah'), units('285 Ah')))).toEqual([]);
    expect(await findings(pair(units('280 Ah'), units('290 Ah')))).toHaveLength(1);
  });

  it('finds strings of other units that make the same voltage', async () => {
    const [finding] = await findings(
      pair(': Agm12V200Ah { series: 2 }', '{ chemistry: agm   voltage: 6 V   capacity: 200 Ah   series: 4 }'),
    );
    expect(lacking(finding?.told, 'units of 6 V')).toEqual([]);
  });

  it('tells each odd bank of three once, against the first', async () => {
    const third = 'battery Three : Gel12V200Ah { series: 4 }\n  run C: Three -> Dc { size: 70 mm2   length: 1 m }';
    const found = await findings(pair(': Lfp48V100Ah', ': Lfp48V100Ah', third));
    expect(found.map(({ subject }) => subject)).toEqual(['D.Three']);
  });

  it('keeps apart what a converter or nothing joins', async () => {
    const text = `design D {
  battery One : Lfp12V100Ah
  battery Two : Agm12V100Ah
  converter Between { input: 11..16 V   output: 14.1 V   currentLimit: 30 A   efficiency: 90 % }
  run A: Two -> Between.in { size: 10 mm2   length: 1 m }
  run B: Between.out -> One { size: 10 mm2   length: 1 m }
}
`;
    expect(await findings(text)).toEqual([]);
  });

  it('asks for what the units are', async () => {
    const asked = askedBy(await analyseText(pair(': Lfp48V100Ah', '{ voltage: 51.2 V }')), ID);
    expect(asked).toEqual(['chemistry of Two', 'capacity of Two']);
  });
});
