import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'load-cutoff';
const findings = async (text: string) => findingsOf(await analyseText(text), ID);
const asked = async (text: string): Promise<string[]> => askedBy(await analyseText(text), ID);

/** Twelve cells of lead: 1.75 V each, 21 V (the lowest usual cut-off of the chemistry). */
const boat = (facts: string, more = '', out = 'load Radio { power: 60 W   supply: dc }', end = 'Radio'): string =>
  `design Boat {
  battery House { chemistry: agm   voltage: 12 V   cells: 6   series: 2   capacity: 100 Ah }
  converter Down { output: 13.8 V   currentLimit: 10 A   efficiency: 90 %   ${facts} }
  ${out}
  ${more}
  run Feed: House -> Down.in { size: 4 mm2   length: 3 m }
  run Line: Down.out -> ${end} { size: 4 mm2   length: 3 m }
}
`;

describe('a load on a bank without electronics', () => {
  const heater = (facts: string): string => `design Boat {
  battery House { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah }
  load Fridge { power: 60 W   supply: dc   ${facts} }
  run Feed: House -> Fridge { size: 4 mm2   length: 3 m }
}
`;
  it('ends at the lowest voltage of the cells, or is asked where', async () => {
    const text = heater('minimumVoltage: 9 V');
    const [finding] = await findings(text);
    expect(lacking(finding?.told, '9 V')).toEqual([]);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    expect(await asked(heater(''))).toEqual(['minimumVoltage of Fridge']);
  });
});

describe('a converter on a bank without electronics', () => {
  it('draws it down to the low end of its window', async () => {
    const text = boat('input: 18..32 V');
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('Boat.Down');
    expect(lacking(finding?.told, '18 V')).toEqual([]);
    expect(finding?.fixes).toHaveLength(1);
    expect((await afterFix(text, ID, finding!.fixes[0]!)).left).toEqual([]);
  });

  it('just passes at the lowest voltage of the cells', async () => {
    const [finding] = await findings(boat('input: 18..32 V'));
    const lowest = /(\d+(?:\.\d+)?)\.\.32 V/.exec(finding!.fixes[0]!.edits.map(({ text }) => text).join(' '))![1]!;
    expect(await findings(boat(`input: ${lowest}..32 V`))).toEqual([]);
    expect(await findings(boat(`input: ${Number(lowest) - 0.1}..32 V`))).toHaveLength(1);
  });

  it('is asked for its window', async () => {
    expect(await asked(boat(''))).toEqual(['input of Down']);
  });

  it('is no matter where a rule switches it off, or the bank has electronics', async () => {
    const rule = 'control Guard of Down { off when voltage(House) < 22 V for 1 min   on when voltage(House) > 25 V }';
    expect(await findings(boat('input: 18..32 V', rule))).toEqual([]);
    const lithium = boat('input: 18..32 V').replace('chemistry: agm', 'chemistry: lfp').replace('cells: 6', 'cells: 4');
    expect(await findings(lithium)).toEqual([]);
  });

  it('works with the engine where it charges from its alternator, and at any time where it feeds a load', async () => {
    const engine =
      'alternator Engine { rating: 60 A   absorb: 28.4 V }\n  run Charge: Engine -> House { size: 16 mm2   length: 2 m }';
    const other = 'battery Bow { chemistry: agm   voltage: 12 V   cells: 6   capacity: 60 Ah }';
    expect(await findings(boat('input: 18..32 V', engine, other, 'Bow'))).toEqual([]);
    expect(await findings(boat('input: 18..32 V', '', other, 'Bow'))).toHaveLength(1);
    expect(await findings(boat('input: 18..32 V', engine))).toHaveLength(1);
  });
});
