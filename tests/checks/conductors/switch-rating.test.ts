import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

const ID = 'switch-rating';
const barn = (gear: string): string => `design Barn {
  battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 300 Ah   protectionLow: 40 V }
  ${gear}
  load Mill { power: 4 kW   supply: dc }
  run Line: Bank -> Main -> Mill { size: 2/0 AWG   length: 2 m }
}
`;
const findings = async (gear: string) => findingsOf(await analyseText(barn(gear)), ID);

describe(ID, () => {
  it('passes at the current of its run and fails above it', async () => {
    // 4 kW at the lowest 40 V: 100 A.
    expect(await findings('switch Main { rating: 100 A }')).toEqual([]);
    const text = barn('switch Main { rating: 99 A }');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.severity).toBe('error');
    expect(finding?.message).toContain('100 A go through Main');
    expect(finding?.fixes[0]?.title).toBe('Take Main with a rating of 100 A');
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('judges shunts and transfer gear alike', async () => {
    expect(await findings('shunt Main { rating: 50 A }')).toHaveLength(1);
    expect(await findings('shunt Main { rating: 100 A }')).toEqual([]);
    const house = (rating: string): string => `design House {
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  generator Genset { rated: 9 kW   voltage: 230 V   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: ${rating} }
  load House { power: 6.9 kW }
  run FromMains: Mains -> Ats.normal { size: 10 mm2   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 10 mm2   length: 8 m }
  run Line: Ats.out -> House { size: 10 mm2   length: 3 m }
}
`;
    // 6.9 kW / 230 V = 30 A.
    expect(findingsOf(await analyseText(house('30 A')), ID)).toEqual([]);
    expect(findingsOf(await analyseText(house('29 A')), ID)[0]?.subject).toBe('House.Ats');
  });

  it('asks for a rating', async () => {
    expect(askedBy(await analyseText(barn('switch Main {}')), ID)).toEqual(['rating of Main']);
  });
});
