import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'charger-input';

const coach = (charger: string, gear = 'rating: 20 A', basis = 'basis: iec'): string => `design D {
  ${basis}
  grid Shore { voltage: 120 V   rating: 30 A   neutralBond: bonded }
  breaker Main { ${gear} }
  charger Rect { input: 90..132 V   absorb: 28 V   efficiency: 90 %   powerFactor: 1   ${charger} }
  battery Bank : Lfp24V200Ah { cellTemperature: 15..30 degC }
  run Cord: Shore -> Main -> Rect.ac { size: 10 mm2   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 35 mm2   length: 1 m }
}
`;
const found = async (text: string): Promise<string[]> =>
  findingsOf(await analyseText(text), ID).map(({ told }) => told);

describe(ID, () => {
  // 73 A · 28 V / 0.9 / 114 V = 19.92 A; 74 A give 20.19 A.
  it('stands at the smallest rating in the path, at the lowest supply voltage', async () => {
    expect(await found(coach('currentLimit: 73 A'))).toEqual([]);
    const [message] = await found(coach('currentLimit: 74 A'));
    expect(lacking(message, '20.2 A')).toEqual([]);
    expect(lacking(message, 'breaker Main carries 20 A')).toEqual([]);
    expect(lacking(message, '74 A at 28 V, efficiency 90 %, power factor 1, supply down to 114 V')).toEqual([]);
  });

  it('offers an output limit and an input limit, each of which ends the finding', async () => {
    const text = coach('currentLimit: 100 A');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Limit Rect to 73 A', 'Limit the input of Rect to 20 A']);
    for (const fix of finding!.fixes) expect((await afterFix(text, ID, fix)).left).toEqual([]);
  });

  it('leaves room for the 80 % that hold for hours outside IEC practice', async () => {
    const text = coach('currentLimit: 100 A', 'rating: 20 A', 'basis: nec 2023');
    const [finding] = findingsOf(await analyseText(text), ID);
    // 16 A · 114 V · 0.9 / 28 V = 58.6 A.
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Limit Rect to 58 A',
      'Limit the input of Rect to 16 A (needs the marking of its terminals)',
    ]);
    for (const fix of finding!.fixes) {
      const after = await afterFix(text, ID, fix);
      expect(after.left).toEqual([]);
      expect(after.fresh.filter((each) => each.startsWith('plug-continuous'))).toEqual([]);
    }
  });

  it('leaves all of the rating of a device that is listed for it, and 80 % of the next', async () => {
    const text = coach('currentLimit: 100 A', 'rating: 20 A   fullRating: yes', 'basis: nec 2023');
    const [finding] = findingsOf(await analyseText(text), ID);
    // 20 A by the breaker, 24 A by the service of 30 A.
    expect(finding?.fixes.map(({ title }) => title)).toContain('Limit Rect to 73 A');
    // A service of 22 A takes 17.6 A of it for hours.
    const [less] = findingsOf(await analyseText(text.replace('rating: 30 A', 'rating: 22 A')), ID);
    expect(less?.fixes.map(({ title }) => title)).toContain('Limit Rect to 64 A');
  });

  it('turns a charger down by what its power limit really gives', async () => {
    // 2 kW / 0.9 / 114 V = 19.5 A on 15 A: 15 A · 114 V · 0.9 / 28 V = 54.9 A.
    const text = coach('currentLimit: 100 A   maximumPower: 2 kW', 'rating: 15 A');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.fixes[0]?.title).toBe('Limit Rect to 54 A');
    expect((await afterFix(text, ID, finding!.fixes[0]!)).left).toEqual([]);
  });

  it('judges each supply by the path from it alone', async () => {
    // Shore over a breaker of 16 A, the set over one of 32 A; the charger draws 21.5 A.
    const text = (first: string, second: string): string => `design D {
  basis: iec
  grid Shore { voltage: 230 V   rating: 32 A   neutralBond: bonded }
  generator Genset { rated: 8 kW   voltage: 230 V   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 40 A }
  breaker One { rating: ${first} }
  breaker Two { rating: ${second} }
  charger Rect { input: 180..264 V   currentLimit: 80 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  run A: Shore -> One -> Ats.normal { size: 10 mm2   length: 5 m }
  run B: Genset -> Two -> Ats.standby { size: 10 mm2   length: 5 m }
  run C: Ats.out -> Rect.ac { size: 10 mm2   length: 5 m }
  run Feed: Rect.dc -> Bank { size: 35 mm2   length: 1 m }
}
`;
    expect(await found(text('25 A', '32 A'))).toEqual([]);
    const [shore] = await found(text('16 A', '32 A'));
    expect(shore).toContain('from Shore');
    expect(shore).toContain('breaker One carries 16 A');
    const [set] = await found(text('32 A', '16 A'));
    expect(set).toContain('from Genset');
    expect(set).toContain('breaker Two carries 16 A');
    // Both too small is one mistake of the charger, told once.
    expect(await found(text('16 A', '16 A'))).toHaveLength(1);
  });

  it('proposes both legs of a split-phase supply where the charger accepts them', async () => {
    const text = (input: string): string => `design D {
  grid Shore { voltage: 120/240 V   rating: 30 A   neutralBond: bonded }
  charger Rect { input: ${input}   legs: L1   currentLimit: 140 A   absorb: 28 V   efficiency: 90 %   powerFactor: 1 }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 400 Ah   cellTemperature: 15..30 degC }
  run Cord: Shore -> Rect.ac { size: 6 AWG   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 2/0 AWG   length: 1 m }
}
`;
    const [universal] = await found(text('90..264 V'));
    expect(universal).toContain('Across both legs (240 V) it draws half the current.');
    const [single] = await found(text('90..132 V'));
    expect(single).not.toContain('Across both legs');
    expect(await found(text('90..264 V').replace('legs: L1', 'legs: L1, L2'))).toEqual([]);
  });

  it('minds the plug of the charger and the outlet and breaker of a set', async () => {
    const text = (set: string, charger: string): string => `design D {
  basis: iec
  generator Genset { rated: 6 kW   voltage: 120 V   neutralBond: bonded   ${set} }
  charger Rect { input: 90..132 V   currentLimit: 100 A   absorb: 28 V   efficiency: 90 %   powerFactor: 1   ${charger} }
  battery Bank : Lfp24V200Ah { cellTemperature: 15..30 degC }
  run Cord: Genset -> Rect.ac { size: 10 mm2   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 35 mm2   length: 1 m }
}
`;
    // 27.3 A.
    expect(await found(text('outlet: TT-30', ''))).toEqual([]);
    expect((await found(text('outlet: TT-30', 'plug: NEMA-5-15')))[0]).toContain(
      'the NEMA-5-15 plug of Rect carries 15 A',
    );
    expect((await found(text('outlet: TT-30   breaker: 20 A', '')))[0]).toContain('the breaker of Genset carries 20 A');
    expect((await found(text('outlet: NEMA-5-20', '')))[0]).toContain('the NEMA-5-20 outlet of Genset carries 20 A');
    expect(askedBy(await analyseText(text('', '')), ID)).toEqual(['a breaker, plug or rating between Genset and Rect']);
  });

  it('asks for what lacks, and is silent without a supply', async () => {
    const facts = await analyseText(coach('currentLimit: 100 A').replace('efficiency: 90 %   powerFactor: 1', ''));
    expect(askedBy(facts, ID)).toEqual(['efficiency of Rect', 'powerFactor of Rect']);
    const dead = await analyseText(`design D {
  charger Rect { currentLimit: 100 A }
  battery Bank : Lfp24V200Ah
  run Feed: Rect.dc -> Bank { size: 35 mm2   length: 1 m }
}
`);
    expect(askedBy(dead, ID)).toEqual([]);
  });
});
