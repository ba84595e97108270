import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'plug-neutral';
const camp = (outlet: string, load: string, voltage = '120/240 V', inlet = ''): string => `design Camp {
  generator Genset { rated: 7 kW   voltage: ${voltage}   outlet: ${outlet}   neutralBond: bonded }
  ${inlet ? `receptacle Inlet { plug: ${inlet} }` : ''}
  bus Panel { rating: 60 A }
  load Thing { power: 500 W   ${load} }
  run Cord: Genset -> ${inlet ? 'Inlet -> ' : ''}Panel { size: 10 AWG   type: SOOW   length: 10 m }
  run Line: Panel -> Thing { size: 12 AWG   length: 10 m }
}
`;
const findings = async (...texts: Parameters<typeof camp>) => findingsOf(await analyseText(camp(...texts)), ID);

describe(ID, () => {
  // NEMA WD 6: L6-30 has two lines and earth, L14-30 two lines, neutral and earth, TT-30 and L5-30 one line, neutral and earth.
  it('finds a 120 V load behind a plug without neutral, and names the matching plug', async () => {
    const text = camp('L6-30', 'voltage: 120 V   legs: L1');
    const [finding, ...others] = findingsOf(await analyseText(text), ID);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('error');
    expect(finding?.subject).toBe('Camp.Genset');
    expect(lacking(finding?.told, 'the L6-30 of Genset has no neutral')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe('Use L14-30 for Genset');
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('passes a 240 V load behind the same plug, and the 120 V load behind one with neutral', async () => {
    expect(await findings('L6-30', 'voltage: 240 V')).toEqual([]);
    expect(await findings('L14-30', 'voltage: 120 V   legs: L1')).toEqual([]);
  });

  it('finds a 240 V load behind a plug with one line', async () => {
    const [finding] = await findings('TT-30', 'voltage: 240 V');
    expect(lacking(finding?.told, 'needs 240 V between lines, and the TT-30 of Genset has one line')).toEqual([]);
    expect(await findings('TT-30', 'voltage: 120 V   legs: L1')).toEqual([]);
  });

  // NEMA WD 6: 10-30 has two lines and neutral without earth; new work takes 14-30.
  it('proposes no plug without an earth contact', async () => {
    const [finding] = await findings('NEMA-6-30', 'voltage: 120 V   legs: L1');
    expect(finding?.fixes[0]?.title).toBe('Use NEMA-14-30 for Genset');
  });

  // NEMA WD 6: 14-50 stands for 6-50 wherever it is used, ashore and afloat; the nearest rating and the same kind of blade come first.
  it.each([
    ['NEMA-6-15', 'NEMA-14-20'],
    ['NEMA-6-20', 'NEMA-14-20'],
    ['NEMA-6-50', 'NEMA-14-50'],
    ['L6-20', 'L14-20'],
  ])('proposes for %s the nearest of its kind, %s', async (plug, instead) => {
    const [finding] = await findings(plug, 'voltage: 120 V   legs: L1');
    expect(finding?.fixes[0]?.title).toBe(`Use ${instead} for Genset`);
  });

  it('proposes of two alike the one that locks where the other does', async () => {
    const plug = (name: string, facts: string): string =>
      `part plug ${name} { rating: 32 A   voltage: 250 V   earth: yes   basis: iec   ${facts} }\n`;
    const split = 'phases: split   neutral: yes';
    const text = (locking: string): string =>
      camp('Own', 'voltage: 120 V   legs: L1') +
      plug('Own', `phases: single   neutral: no   locking: ${locking}`) +
      plug('Alike', `${split}   locking: yes`) +
      plug('Plain', `${split}   locking: no`);
    const of = async (locking: string) => findingsOf(await analyseText(text(locking)), ID)[0]?.fixes[0]?.title;
    expect(await of('no')).toBe('Use Plain for Genset');
    expect(await of('yes')).toBe('Use Alike for Genset');
  });

  it('says nothing of a plug that does not say how many lines it has', async () => {
    const plug = (facts: string): string =>
      `${camp('Own', 'voltage: 120 V   legs: L1')}part plug Own { rating: 30 A   voltage: 250 V   earth: yes   neutral: no   ${facts} }\n`;
    expect(findingsOf(await analyseText(plug('phases: single')), ID)).toHaveLength(1);
    expect(findingsOf(await analyseText(plug('')), ID)).toEqual([]);
  });

  it('changes all plugs of the run together', async () => {
    const text = camp('L6-30', 'voltage: 120 V   legs: L1', '120/240 V', 'L6-30');
    const found = findingsOf(await analyseText(text), ID);
    expect(found.map(({ subject }) => subject)).toEqual(['Camp.Genset', 'Camp.Inlet']);
    expect(found[0]?.fixes[0]?.title).toBe('Use L14-30 for Genset and Inlet');
    expect(await afterFix(text, ID, found[0]!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  // NEMA WD 6: L15-30 has three lines and earth, L21-30 three lines, neutral and earth.
  it('names a plug of three lines where the supply has three', async () => {
    const text = camp('L15-30', 'voltage: 120 V   legs: L1', 'three 208 V');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.fixes[0]?.title).toBe('Use L21-30 for Genset');
    expect((await afterFix(text, ID, finding!.fixes[0]!)).left).toEqual([]);
  });

  it('needs no neutral where the supply has one voltage', async () => {
    expect(await findings('NEMA-6-20', '', '230 V')).toEqual([]);
  });

  it('judges the plug of a charger by that charger alone', async () => {
    const text = `design Camp {
  generator Genset { rated: 7 kW   voltage: 120/240 V   outlet: L14-30   neutralBond: bonded }
  receptacle Point { plug: L6-30 }
  bus Panel { rating: 60 A }
  charger Rect { plug: L6-30   input: 180..264 V   currentLimit: 40 A   absorb: 56 V }
  load Lights { power: 500 W   voltage: 120 V   legs: L1 }
  run Cord: Genset -> Panel { size: 10 AWG   type: SOOW   length: 10 m }
  run Line: Panel -> Lights { size: 12 AWG   length: 10 m }
  run ToRect: Panel -> Point -> Rect.ac { size: 10 AWG   type: SOOW   length: 3 m }
}
`;
    expect(findingsOf(await analyseText(text), ID)).toEqual([]);
    const narrow = text.replace('input: 180..264 V', 'input: 90..132 V');
    const found = findingsOf(await analyseText(narrow), ID);
    expect(found.map(({ subject }) => subject)).toEqual(['Camp.Point', 'Camp.Rect']);
    // The plug of a charger is what it is, and its receptacle has to mate with it.
    expect(found.flatMap(({ fixes }) => fixes)).toEqual([]);
  });

  it('finds loads on legs that a source does not have connected', async () => {
    const shore = (legs: string): string => `design Dock {
  grid Shore { voltage: 120/240 V   rating: 50 A   legs: ${legs}   neutralBond: bonded }
  load Stove { power: 3 kW   voltage: 240 V }
  load Lights { power: 300 W   voltage: 120 V   legs: L1 }
  run Line: Shore -> Stove { size: 8 AWG   length: 10 m }
  run Other: Shore -> Lights { size: 12 AWG   length: 10 m }
}
`;
    const [finding, ...others] = findingsOf(await analyseText(shore('L1')), ID);
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('Dock.Stove');
    expect(lacking(finding?.told, 'only L1 of Shore is connected')).toEqual([]);
    expect(findingsOf(await analyseText(shore('L1, L2')), ID)).toEqual([]);
  });

  it('names the state in which the plug is used', async () => {
    const text = `design House {
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  generator Genset { rated: 7 kW   voltage: 120/240 V   outlet: L6-30   neutralBond: floating }
  transfer Ats { switches: phases   rating: 100 A }
  load Lights { power: 500 W   voltage: 120 V   legs: L1 }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 8 AWG   length: 8 m }
  run Line: Ats.out -> Lights { size: 12 AWG   length: 10 m }
}
`;
    const [finding, ...others] = findingsOf(await analyseText(text), ID);
    expect(others).toEqual([]);
    expect(lacking(finding?.told, 'With Genset running')).toEqual([]);
  });
});
