import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'breaker-poles';
const house = (voltage: string, load: string, poles: string, more = ''): string => `design House {
  grid Mains { voltage: ${voltage}   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 30 A   ${poles} }
  load One { power: 2 kW   ${load} }
  run Line: Mains -> B1 -> One { size: 10 AWG   length: 10 m }
  ${more}
}
`;
const findings = async (...texts: Parameters<typeof house>) => findingsOf(await analyseText(house(...texts)), ID);

describe(ID, () => {
  // NEC 240.15(B) and IEC 60364-5-53, both from memory: a breaker opens all lines of its circuit.
  it.each([
    ['120/240 V', 'voltage: 240 V', 'poles: 1', 1],
    ['120/240 V', 'voltage: 240 V', 'poles: 2', 0],
    ['120/240 V', 'voltage: 120 V   legs: L1', 'poles: 1', 0],
    ['230 V', '', 'poles: 1', 0],
    ['three 400 V', 'voltage: three 400 V', 'poles: 2', 1],
    ['three 400 V', 'voltage: three 400 V', 'poles: 3', 0],
    ['three 400 V', 'voltage: 230 V   legs: L1', 'poles: 1', 0],
  ])('%s, a load of %s behind a breaker of %s: %i findings', async (voltage, load, poles, count) => {
    expect(await findings(voltage, load, poles)).toHaveLength(count);
  });

  it('counts the lines that there are, one at least', async () => {
    const useOf = async (...texts: Parameters<typeof house>) => {
      const { passed } = await analyseText(house(...texts));
      const use = passed.find(({ check }) => check === ID)?.use;
      return [use?.value, use?.limit].map((each) => each && numberIn(each, ''));
    };
    expect(await useOf('120/240 V', 'voltage: 120 V   legs: L1', 'poles: 1')).toEqual([1, 1]);
    expect(await useOf('120/240 V', 'voltage: 240 V', 'poles: 3')).toEqual([3, 2]);
  });

  it('says which lines there are, and the fix ends it', async () => {
    const text = house('120/240 V', 'voltage: 240 V', 'poles: 1');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(
      lacking(finding?.told, /^B1 opens one line of Line, and Mains feeds it over L1 and L2: one line stays live/),
    ).toEqual([]);
    expect(finding?.why).toContain('one line stays live');
    expect(numberIn(finding!.numbers.lines!, '')).toBe(2);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('counts the lines of everything behind a panel', async () => {
    const panel = house('120/240 V', 'voltage: 120 V   legs: L1', 'poles: 1')
      .replace('-> One', '-> Panel')
      .replace(
        'run Line',
        `bus Panel {}
  load Two { power: 1 kW   voltage: 120 V   legs: L2 }
  run ToOne: Panel -> One { size: 12 AWG   length: 5 m }
  run ToTwo: Panel -> Two { size: 12 AWG   length: 5 m }
  run Line`,
      );
    expect(findingsOf(await analyseText(panel), ID).map(({ subject }) => subject)).toEqual(['House.B1']);
  });

  it('asks for poles only where more than one is needed', async () => {
    expect(askedBy(await analyseText(house('120/240 V', 'voltage: 240 V', '')), ID)).toEqual(['poles of B1']);
    expect(askedBy(await analyseText(house('120/240 V', 'voltage: 120 V   legs: L1', '')), ID)).toEqual([]);
    expect(askedBy(await analyseText(house('230 V', '', '')), ID)).toEqual([]);
  });
});
