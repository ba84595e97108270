import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'switch-rating';
const barn = (gear: string): string => `design Barn {
  battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 300 Ah   protectionLow: 40 V }
  ${gear}
  load Mill { power: 4 kW   supply: dc   minimumVoltage: 40 V }
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
    expect(lacking(finding?.told, '100 A go through Main')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe('Choose Main with a rating of 100 A');
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

  it('holds the transfer relay of an inverter against the loads behind it, in the states in which it passes a supply', async () => {
    const camp = (relay: string, passes = 'yes'): string => `design Camp {
  generator Genset { rated: 9 kW   voltage: 230 V   neutralBond: bonded }
  inverter Inv { rated: 9 kW   voltage: 230 V   passThrough: ${passes}   ${relay}   neutralBond: switched   currentLimit: 40 A   absorb: 56 V }
  battery Bank : Lfp48V280Ah
  bus Panel { rating: 63 A }
  load Oven { power: 4.6 kW }
  load Pump { power: 2.3 kW }
  run Cord: Genset -> Inv.input { size: 10 mm2   length: 10 m }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run Out: Inv.ac -> Panel { size: 10 mm2   length: 2 m }
  run LineA: Panel -> Oven { size: 4 mm2   length: 10 m }
  run LineB: Panel -> Pump { size: 2.5 mm2   length: 10 m }
}
`;
    const found = async (text: string) => findingsOf(await analyseText(text), ID);
    // 4.6 kW and 2.3 kW at 230 V are 30 A; what its charger takes does not pass the relay.
    expect(await found(camp('transferRating: 30 A'))).toEqual([]);
    const text = camp('transferRating: 29 A');
    const [finding] = await found(text);
    expect(finding?.subject).toBe('Camp.Inv');
    expect(lacking(finding?.told, '30 A go through the transfer relay of Inv')).toEqual([]);
    expect(finding?.fixes[0]?.title).toContain('with a transfer rating of 30 A');
    expect((await afterFix(text, ID, finding!.fixes[0]!)).left).toEqual([]);
    expect(await found(camp('transferRating: 29 A', 'no'))).toEqual([]);
    expect(askedBy(await analyseText(camp('')), ID)).toEqual(['transferRating of Inv']);
  });
});
