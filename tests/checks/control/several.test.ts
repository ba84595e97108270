import { describe, expect, it } from 'vitest';
import { analyseText } from '../../helpers/analyse.js';

/* Several sets of one bank by run hours, and what the management of a bank lets happen. The designs are inventions. */

const PROVEN = ['stop-unreachable', 'rule-latched', 'rule-livelock'];

const SETS = `generator Left { rated: 5 kW   voltage: 230 V }
  generator Right { rated: 5 kW   voltage: 230 V }
  charger One { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  charger Two { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  run LeftCord: Left -> One.ac { size: 4 mm2   length: 10 m }
  run RightCord: Right -> Two.ac { size: 4 mm2   length: 10 m }
  run OneFeed: One.dc -> Bank { size: 25 mm2   length: 2 m }
  run TwoFeed: Two.dc -> Bank { size: 25 mm2   length: 2 m }`;

const design = (sets: string, bank: string, rules: string): string => `design D {
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 8..16 mohm   ${bank} }
  load Fan { power: 1 kW   supply: dc }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  ${sets}
  ${rules}
  scenario Month { from: 2027-03-01   duration: 28 d   soc(Bank): 60 %   ${bank.includes('cellTemperature') ? '' : 'temperature(Bank): 20 degC'}
    require abs(runTime(Left) - runTime(Right)) <= 6 h
    require min(soc(Bank)) >= 30 %
  }
}
`;

const lead = (own: string, other: string): string =>
  `control ${own}Start of ${own} {
    start when soc(Bank) < 40 % and runTime(${own}) <= runTime(${other})   start when soc(Bank) < 33 %
    stop when soc(Bank) > 85 %
  }`;

describe('two sets by run hours', () => {
  it('take turns, and both help at a peak', async () => {
    const text = design(SETS, 'cellTemperature: 20 degC', `${lead('Left', 'Right')}\n${lead('Right', 'Left')}`);
    const { requirements, findings } = await analyseText(
      text.replace('abs(runTime(Left) - runTime(Right))', 'runTime(Left) - runTime(Right)'),
    );
    expect(findings.filter(({ check }) => PROVEN.includes(check)).map(({ told }) => told)).toEqual([]);
    expect(requirements.map(({ holds }) => holds)).toEqual([true, true]);
    const hours = requirements[0]!.left!;
    expect(typeof hours.value === 'object' && Math.abs(hours.value.value)).toBeLessThan(6 * 3600);
  });

  it('take turns by days, and both help at a peak', async () => {
    const turns = (own: string, other: string): string =>
      lead(own, other).replace(`runTime(${own}) <= runTime(${other})`, `onDuty(${own}, ${other}, 2 d)`);
    const text = design(SETS, 'cellTemperature: 20 degC', `${turns('Left', 'Right')}\n${turns('Right', 'Left')}`);
    const { requirements, findings } = await analyseText(
      text.replace(
        'require abs(runTime(Left) - runTime(Right)) <= 6 h',
        'require runTime(Left) >= 20 h\n    require runTime(Right) >= 20 h',
      ),
    );
    expect(findings.filter(({ check }) => PROVEN.includes(check)).map(({ message }) => message)).toEqual([]);
    expect(requirements.map(({ holds }) => holds)).toEqual([true, true, true]);
  });

  it('are never both without duty, whatever the order in which they are named', async () => {
    const one = (own: string, other: string): string =>
      `control ${own}Start of ${own} { start when soc(Bank) < 40 % and onDuty(${own}, ${other}, 60 d)   stop when soc(Bank) > 85 % }`;
    const text = design(SETS, 'cellTemperature: 20 degC', `${one('Left', 'Right')}\n${one('Right', 'Left')}`);
    const { requirements } = await analyseText(
      text.replace(
        'require abs(runTime(Left) - runTime(Right)) <= 6 h',
        'require runTime(Left) >= 60 h\n    require runTime(Right) <= 0 h',
      ),
    );
    expect(requirements.map(({ holds }) => holds)).toEqual([true, true, true]);
  });

  it.each([
    ['onDuty(Left, 2 d)', /generators of this design and the days of a turn/],
    ['onDuty(Left, Bank, 2 d)', /a generator of this design/],
    ['onDuty(Left, Left, 2 d)', /each stated once/],
    ['onDuty(Left, Right, 12 h)', /a whole number of days/],
  ])('says what is wrong with %s', async (words, expected) => {
    const { findings } = await analyseText(
      design(
        SETS,
        'cellTemperature: 20 degC',
        `control A of Left { start when ${words}   stop when soc(Bank) > 85 % }`,
      ),
    );
    expect(findings.map(({ message }) => message).join('\n')).toMatch(expected);
  });

  it('asks for a set', async () => {
    const { findings } = await analyseText(
      design(
        SETS,
        'cellTemperature: 20 degC',
        'control A of Left { start when runTime(Bank) < 3 h   stop when soc(Bank) > 85 % }',
      ),
    );
    expect(findings.map(({ check, message }) => `${check} ${message}`).join('\n')).toMatch(
      /a generator of this design/,
    );
  });
});

describe('what the management of a bank lets happen', () => {
  const one = `generator Left { rated: 5 kW   voltage: 230 V }
  charger One { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  run LeftCord: Left -> One.ac { size: 4 mm2   length: 10 m }
  run OneFeed: One.dc -> Bank { size: 25 mm2   length: 2 m }`;
  const rules =
    'control A of Left { start when soc(Bank) < 40 % and mayCharge(Bank)   stop when soc(Bank) > 85 % or not mayCharge(Bank) }';
  const played = (celsius: string): string =>
    design(one, `cellTemperature: ${celsius}   chargeTemperature: 0..45 degC`, rules)
      .replace(/require abs.*\n/, 'require runTime(Left) >= 1 h\n')
      .replace(/require min.*\n/, '');

  it('starts no set for cells that take no charge', async () => {
    expect((await analyseText(played('20 degC'))).requirements.map(({ holds }) => holds)).toEqual([true]);
    expect((await analyseText(played('-10 degC'))).requirements.map(({ holds }) => holds)).toEqual([false]);
  });

  it('is asked of banks alone', async () => {
    const { findings } = await analyseText(played('20 degC').replace('and mayCharge(Bank)', 'and mayCharge(Left)'));
    expect(findings.map(({ told }) => told).join('\n')).toMatch(/a battery of this design/);
  });
});
