import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'vehicle-outlet';

/** A charger of 100 % and power factor 1 at 56 V: 40 A are 2240 W. */
const camp = (vehicle: string, limit = '40 A', load = 'power: 500 W'): string => `design D {
  vehicle Truck { voltage: 230 V   neutralBond: bonded   ${vehicle} }
  charger Rect { input: 180..264 V   currentLimit: ${limit}   absorb: 56 V   efficiency: 100 %   powerFactor: 1 }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  bus Panel {}
  load Lights { ${load} }
  run Cord: Truck -> Panel
  run In: Panel -> Rect.ac
  run Line: Panel -> Lights
  run Feed: Rect.dc -> Bank
}
`;
const booster = (limit: string, rating: string): string => `design D {
  vehicle Truck { supply: dc   ${rating} }
  converter Booster { input: 11..15 V   output: 14.08 V   currentLimit: ${limit}   efficiency: 80 % }
  battery Bank : Lfp12V200Ah { cellTemperature: 15..30 degC }
  run Socket: Truck -> Booster.in
  run Out: Booster.out -> Bank
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('holds everything it feeds against its continuous power', async () => {
    // 2240 W and 500 W.
    expect(await findings(camp('rated: 2740 W'))).toEqual([]);
    const text = camp('rated: 2.4 kW');
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, '2.4 kW')).toEqual([]);
    expect(lacking(finding?.told, '2.74 kW')).toEqual([]);
    expect(lacking(finding?.told, 'Rect 2.24 kW, Lights 500 W')).toEqual([]);
    // (2400 − 500) W / 56 V = 33.9 A
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Limit Rect to 33 A']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('and against its continuous current', async () => {
    // 2740 W at 230 V are 11.91 A.
    expect(await findings(camp('rating: 12 A'))).toEqual([]);
    const text = camp('rating: 11 A');
    const [finding] = await findings(text);
    expect(lacking(finding?.told, '11 A')).toEqual([]);
    // (11 − 2.174) A · 230 V / 56 V = 36.2 A
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Limit Rect to 36 A']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    // A charger that is too much by itself is told by charger-input.
    const single = await analyseText(camp('rating: 9 A'));
    expect(findingsOf(single, ID)).toEqual([]);
    expect(findingsOf(single, 'charger-input')).toHaveLength(1);
  });

  it('counts what a converter takes of a direct-current outlet at its lowest voltage', async () => {
    // 10 A · 14.08 V / (11 V · 0.8) = 16 A.
    expect(await findings(booster('10 A', 'rating: 16 A'))).toEqual([]);
    const text = booster('10 A', 'rating: 15 A');
    const [finding] = await findings(text);
    expect(lacking(finding?.told, '16 A')).toEqual([]);
    // 10 A · 15/16 = 9.4 A
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Limit Booster to 9 A']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('asks what limits the current into a bank that is joined to it directly', async () => {
    const text = `design D {
  vehicle Truck { supply: dc   rating: 15 A }
  battery Bank : Lfp12V100Ah
  run Feed: Truck -> Bank
}
`;
    expect(askedBy(await analyseText(text), ID)).toEqual([
      'what limits the current from Truck to Bank (a DC-to-DC converter)',
    ]);
  });

  it('asks for what lacks', async () => {
    expect(askedBy(await analyseText(camp('')), ID)).toEqual(['rating or rated of Truck']);
    expect(askedBy(await analyseText(booster('10 A', '')), ID)).toEqual(['rating of Truck']);
    expect(askedBy(await analyseText(camp('rated: 3 kW').replace('efficiency: 100 %', '')), ID)).toEqual([
      'efficiency of Rect',
    ]);
  });
});
