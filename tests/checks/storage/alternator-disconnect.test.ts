import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'alternator-disconnect';

const van = (alternator: string, bank = ': Lfp12V200Ah', rest = ''): string => `design D {
  alternator Engine { currentLimit: 90 A   voltage: 14.2 V   ${alternator} }
  battery House ${bank}
  bus Dc {}
  run Feed: House -> Dc { size: 35 mm2   length: 3 m }
  run Line: Dc -> Engine { size: 35 mm2   length: 3 m }
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('finds a bank with protection as the only one on the bus of an alternator', async () => {
    const [finding, ...others] = await findings(van('surgeProtected: no'));
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('D.Engine');
    expect(lacking(finding?.told, 'House can open while Engine charges')).toEqual([]);
    expect(await findings(van('surgeProtected: yes'))).toEqual([]);
  });

  it('is content with a bank that cannot open beside it', async () => {
    const lead = 'battery Lead : Agm12V100Ah\n  run B: Lead -> Dc { size: 35 mm2   length: 1 m }';
    expect(await findings(van('surgeProtected: no', undefined, lead))).toEqual([]);
    expect(await findings(van('surgeProtected: no', ': Agm12V100Ah'))).toEqual([]);
    // Lead with electronics that open is like lithium.
    expect(await findings(van('surgeProtected: no', ': Agm12V100Ah { protectionHigh: 15 V }'))).toHaveLength(1);
  });

  it('is content with a link that stops the regulator first, from every bank', async () => {
    const link = 'link Warn: House -> Engine { medium: contact }';
    expect(await findings(van('surgeProtected: no', undefined, link))).toEqual([]);
    const second = `${link}
  battery Other : Lfp12V200Ah
  run B: Other -> Dc { size: 35 mm2   length: 1 m }`;
    expect(await findings(van('surgeProtected: no', undefined, second))).toHaveLength(1);
  });

  it('asks for what it does not know', async () => {
    expect(askedBy(await analyseText(van('')), ID)).toEqual(['surgeProtected of Engine']);
    const unknown = await analyseText(van('surgeProtected: no', '{ voltage: 12 V   capacity: 100 Ah }'));
    expect(askedBy(unknown, ID)).toEqual(['chemistry of House']);
    expect(findingsOf(unknown, ID)).toEqual([]);
  });
});
