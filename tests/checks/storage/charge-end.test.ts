import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

const site = (charger: string, bank = '', rest = ''): string => `design D {
  charger Rect { absorb: 56 V   ${charger} }
  battery Bank : Lfp48V280Ah { ${bank} }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  ${rest}
}
`;
const LINK = 'link BmsLink: Bank -> Rect { medium: can }';
const SENDS = 'chargeBySoc: { 90 %: 140 A, 100 %: 0 A }';

const told = async (text: string): Promise<string[]> => {
  const found = findingsOf(await analyseText(text), 'charge-end');
  return found.map(({ severity, headline, why }) => `${severity} ${headline}: ${why ?? ''}`);
};

describe('charge-end', () => {
  it('accuses no charger with set points of its own', async () => {
    expect(await told(site(''))).toEqual([]);
    expect(await told(site('endOfCharge: setPoints'))).toEqual([]);
  });

  it('tells of a charge that only the BMS ends, and not where a rule does', async () => {
    expect((await told(site('endOfCharge: disconnect'))).join()).toMatch(/^warning Only the disconnect/);
    const rule = `${LINK}\n  control Stop of Rect { off when soc(Bank) > 95 %   on when soc(Bank) < 85 % }`;
    expect(await told(site('endOfCharge: disconnect', '', rule))).toEqual([]);
  });

  it('lets limits over a link end the charge where something ends it without the link', async () => {
    expect((await told(site('endOfCharge: limits   lostLink: stop', SENDS))).join()).toMatch(
      /^error .*no link carries/,
    );
    expect(await told(site('endOfCharge: limits   lostLink: stop', SENDS, LINK))).toEqual([]);
    expect(await told(site('endOfCharge: limits   lostLink: defaults', SENDS, LINK))).toEqual([]);
    expect((await told(site('endOfCharge: limits   lostLink: hold', SENDS, LINK))).join()).toMatch(
      /last limits it heard/,
    );
    const low = 'protectionHigh: 55.8 V';
    expect((await told(site('endOfCharge: limits   lostLink: defaults', `${SENDS}   ${low}`, LINK))).join()).toMatch(
      /its own set point of 56 V does not end it before 55.8 V/,
    );
  });

  it('asks what the bank sends, and tells of a limit that never ends', async () => {
    const open = await analyseText(site('endOfCharge: limits   lostLink: stop', '', LINK));
    expect(askedBy(open, 'charge-end')).toEqual(['chargeBySoc of Bank']);
    const on = 'chargeBySoc: { 90 %: 140 A, 100 %: 20 A }';
    expect((await told(site('endOfCharge: limits   lostLink: stop', on, LINK))).join()).toMatch(
      /still allow 20 A at 100 %/,
    );
  });

  it('tells of an array wired to a bank that can disconnect', async () => {
    const array = `design D {
  solar Array { power: 100 W   openCircuitVoltage: 22 V   shortCircuitCurrent: 6 A   maximumPowerVoltage: 18 V   maximumPowerCurrent: 5.6 A }
  battery Bank : Lfp12V100Ah
  run Feed: Array -> Bank { size: 4 mm2   length: 3 m }
}
`;
    expect((await told(array)).join()).toMatch(/ends the charge by Array/);
  });
});
