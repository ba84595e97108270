import { describe, expect, it } from 'vitest';
import { analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

const design = (member: string): string => `design D {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 14.2 V   efficiency: 90 %   powerFactor: 0.95 }
  battery Bank { chemistry: lfp   voltage: 12.8 V   capacity: 280 Ah }
  load Pump { count: 2   supply: dc }
  run Cord: Genset -> Rect.ac { size: 2.5 mm2   length: 3 m }
  run Feed: Rect.dc -> Bank { size: 16 mm2   length: 1 m }
  ${member}
}
`;

const messages = async (text: string): Promise<string[]> =>
  findingsOf(await analyseText(text), 'requirement-failed').map(({ told }) => told);

describe('a requirement', () => {
  it('that holds is silent, at its limit too', async () => {
    // 12.8 V · 280 Ah = 3584 Wh
    expect(await messages(design('require Bank.energy >= 3584 Wh'))).toEqual([]);
    expect(await messages(design('require Bank.energy <= 3584 Wh'))).toEqual([]);
  });

  it('that fails shows both sides, what they come from, and its reason', async () => {
    const [message] = await messages(design('require Bank.energy >= 5 kWh because "two nights."'));
    expect(
      lacking(
        message,
        /^`Bank.energy >= 5 kWh` does not hold: 3.58 kWh \(from .*280 Ah.*\) is below 5 kWh\. It is required because: two nights\.$/,
      ),
    ).toEqual([]);
  });

  it('never shows two numbers that look the same', async () => {
    const [message] = await messages(design('require Bank.energy >= 3584.1 Wh'));
    expect(lacking(message, ': 3584 Wh (')).toEqual([]);
    expect(lacking(message, 'is below 3584.1 Wh.')).toEqual([]);
  });

  it('of several conditions says which of them fails', async () => {
    const [message] = await messages(design('require Bank.energy >= 3 kWh and Feed.length <= 50 cm'));
    expect(lacking(message, '`Bank.energy >= 3 kWh` holds')).toEqual([]);
    expect(lacking(message, '`Feed.length <= 50 cm` does not hold, 1 m is above 0.5 m')).toEqual([]);
  });

  it('on a range must hold at its worst corner', async () => {
    expect(await messages(design('require Rect.input >= 180 V'))).toEqual([]);
    expect(await messages(design('require Rect.input >= 181 V'))).toHaveLength(1);
  });

  it('that rests on a missing fact is not checked, and says which fact', async () => {
    const analysis = await analyseText(design('require Pump.power <= 1 kW'));
    expect(findingsOf(analysis, 'requirement-failed')).toEqual([]);
    expect(
      analysis.questions.filter(({ check }) => check === 'requirement-failed').map(({ missing }) => missing),
    ).toEqual([['power of Pump']]);
    expect(analysis.requirements[0]).toMatchObject({ undecided: 'missing power of Pump', missing: ['power of Pump'] });
  });

  it.each([
    ['require Bank.energy', 'wrong-type'],
    ['require Bank', 'wrong-type'],
    ['require Bank.enrgy > 1 kWh', 'unknown-name'],
    ['require Bank.energy > 1 kW', 'wrong-dimension'],
  ])('with a faulty text is said once: %s', async (text, check) => {
    const analysis = await analyseText(design(text));
    const ofText = ['wrong-type', 'unknown-name', 'wrong-dimension', 'requirement-failed'];
    expect(analysis.findings.map((each) => each.check).filter((each) => ofText.includes(each))).toEqual([check]);
    expect(analysis.questions.filter((each) => each.check === 'requirement-failed')).toEqual([]);
  });

  it('inside a scenario is neither passed nor failed', async () => {
    const analysis = await analyseText(design('scenario S { duration: 1 d   require unserved == 0 kWh }'));
    expect(findingsOf(analysis, 'requirement-failed')).toEqual([]);
    expect(analysis.requirements[0]?.holds).toBeUndefined();
  });

  it('past its date is no longer asked for', async () => {
    const text = design('require Bank.energy >= 5 kWh until 2027-01-01');
    expect(findingsOf(await analyseText(text, '2027-01-01'), 'requirement-failed')).toHaveLength(1);
    expect(findingsOf(await analyseText(text, '2027-01-02'), 'requirement-failed')).toEqual([]);
  });

  it('is judged anew in a variant', async () => {
    const text = `${design('require Bank.energy >= 5 kWh')}variant Big of D { Bank.parallel = 2 }\n`;
    const { requirements } = await analyseText(text);
    expect(requirements.map(({ design: of, holds }) => [of, holds])).toEqual([
      ['D', false],
      ['Big', true],
    ]);
  });
});
