import { describe, expect, it } from 'vitest';
import { summaryRows } from '../../../language/src/index.js';
import { analyseText } from '../../helpers/analyse.js';

const site = (set: string, require = ''): string => `design D {
  site { altitude: 0 m   ambient: 15..25 degC }
  generator Genset { ${set}   voltage: 230 V   tank: 10 L }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  load Radio { power: 300 W   supply: dc   profile: always }
  run In: Genset -> Rect.ac { size: 4 mm2   length: 5 m }
  run Feed: Rect.dc -> Bank { size: 16 mm2   length: 1 m }
  run Out: Bank -> Radio { size: 16 mm2   length: 1 m }
  control Auto of Genset { start when soc(Bank) < 40 %   stop when soc(Bank) > 80 % }
  scenario Dark {
    from: 2027-01-10   duration: 2 d   sun: none   soc(Bank): 41 %
    ${require}
  }
}
`;
const outcomes = async (set: string) => {
  const text = site(
    set,
    'require runTime(Genset) > 1 h\n    require starts(Genset) >= 1\n    require fuel(Genset) < 100 L',
  );
  const { requirements, scenarios } = await analyseText(text);
  return {
    holds: requirements.map(({ holds }) => holds),
    undecided: requirements[2]?.undecided,
    played: scenarios[0]?.played,
  };
};

describe('a set whose fuel is not known', () => {
  it('is played: run time and starts are known, fuel alone is not', async () => {
    // The table of small diesel sets begins at 3 kW.
    const small = await outcomes('rated: 2 kW   fuel: diesel');
    expect(small.holds).toEqual([true, true, undefined]);
    expect(small.undecided).toContain('diesel generators from 3 kW');
    const open = await outcomes('rated: 2 kW');
    expect(open.holds).toEqual([true, true, undefined]);
    const burnt = await outcomes('rated: 2 kW   burn: { 50 %: 0.5 L/h, 100 %: 0.9 L/h }');
    expect(burnt.holds).toEqual([true, true, true]);
  });

  it('says so in the summary and among the assumptions', async () => {
    const { played } = await outcomes('rated: 2 kW   fuel: diesel');
    if (played?.kind !== 'played') return expect.fail(JSON.stringify(played));
    expect(played.result.assumptions.join()).toContain('what Genset burns is not known');
    expect(played.result.totals[0]!.fuel.has('Genset')).toBe(false);
    expect(summaryRows(played.result)).toContainEqual(['', 'fuel', 'not known']);
  });
});
