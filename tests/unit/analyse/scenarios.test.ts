import { URI } from 'langium';
import { describe, expect, it } from 'vitest';
import {
  type Analysis,
  type Finding,
  ScenarioCache,
  beginAnalysis,
  displayValue,
  numberIn,
  governingText,
} from '../../../language/src/index.js';
import { TODAY, analyseText, createTestServices, findingsOf } from '../../helpers/analyse.js';

/** A hut of our own invention: a bank of 51.2 V · 280 Ah = 14.3 kWh feeds 512 W day and night, and a set charges it. */
const hut = (
  requirements: string,
  more = '',
  head = 'from: 2027-01-10   duration: 3 d   soc(Bank): 90 %   sun: none',
): string => `design D {
  site { altitude: 0 m   ambient: 10..20 degC   latitude: 46 deg   longitude: 9 deg }
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel   tank: 60 L
    burn: { 25 %: 0.8 L/h, 50 %: 1.1 L/h, 75 %: 1.5 L/h, 100 %: 2 L/h } }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 93 %
    powerFactor: 0.98   remoteSense: yes }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 16 mohm }
  load Fan { power: 512 W   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  ${more}
  control Autostart of Genset { start when soc(Bank) < 40 % for 1 min   stop when soc(Bank) > 85 % }
  scenario S { ${head}
    ${requirements}
  }
}
`;

const outcomes = ({ requirements }: Analysis): unknown[] =>
  requirements.map(({ text, holds, undecided }) => [text, holds ?? undecided]);

const failures = (analysis: Analysis): string[] =>
  findingsOf(analysis, 'requirement-failed').map(({ message }: Finding) => message);

describe('requirements of a scenario', () => {
  it('are decided by what comes of it, with the values of both sides', async () => {
    const analysis = await analyseText(
      hut(`require min(soc(Bank)) >= 38 %
    require min(soc(Bank)) >= 45 %
    require unserved == 0 kWh
    require starts(Genset) <= 4 and runTime(Genset) < 30 min`),
    );
    expect(analysis.unplayed).toBeUndefined();
    expect(outcomes(analysis)).toEqual([
      ['min(soc(Bank)) >= 38 %', true],
      ['min(soc(Bank)) >= 45 %', false],
      ['unserved == 0 kWh', true],
      ['starts(Genset) <= 4 and runTime(Genset) < 30 min', false],
    ]);
    const [first, second, ...others] = failures(analysis);
    expect(others).toEqual([]);
    expect(first).toMatch(
      /^`min\(soc\(Bank\)\) >= 45 %` does not hold: 39\.\d+ % is below 45 %: .* after the start\.$/,
    );
    expect(second).toContain('`starts(Genset) <= 4` holds');
    expect(second).toContain('`runTime(Genset) < 30 min` does not hold');
    expect(findingsOf(analysis, 'requirement-failed').map(({ subject }) => subject)).toEqual(['D.S', 'D.S']);
  });

  it('agree with sums by hand', async () => {
    const analysis = await analyseText(
      hut(
        `require energy(Fan) == 1 kWh
    require firstTime(soc(Bank) < 50 %) == 0 h
    require last(soc(Bank)) == 0 %
    require mean(power(Fan)) == 0 W`,
        '',
        'from: 2027-01-10   duration: 10 h   soc(Bank): 90 %   sun: none',
      ),
    );
    const left = analysis.requirements.map((each) => each.left);
    // 512 W for 10 h.
    expect(numberIn(left[0]!, 'Wh')).toBeCloseTo(5120, 6);
    // Never within 10 h: 40 % of 14.3 kWh last 512 W for 11.2 h.
    expect(analysis.requirements[1]).toMatchObject({ holds: false });
    expect(governingText(left[1]!)).toBe('not within the scenario');
    // 512 W at 52 to 54 V are 9.5 to 9.85 A; in 10 h a share of 33.9 to 35.2 % of 280 Ah.
    expect(numberIn(left[2]!, '1')).toBeGreaterThan(0.548);
    expect(numberIn(left[2]!, '1')).toBeLessThan(0.561);
    expect(numberIn(left[3]!, 'W')).toBeCloseTo(512, 6);
  });

  it('speak of what never happens as of something behind the end', async () => {
    const analysis = await analyseText(
      hut(`require firstTime(soc(Bank) < 5 %) > 3 d
    require firstTime(soc(Bank) < 5 %) > 4 d
    require firstTime(soc(Bank) < 5 %) < 10 d
    require firstTime(soc(Bank) < 60 %) < 12 h`),
    );
    expect(analysis.requirements.map(({ holds }) => holds)).toEqual([true, false, false, true]);
  });

  it('count times below and above a limit', async () => {
    const analysis = await analyseText(
      hut(
        `require timeBelow(soc(Bank), 101 %) == 3 d
    require timeAbove(soc(Bank), 0 %) == 3 d
    require timeBelow(soc(Bank), 30 %) == 0 h`.replace('101 %', '100 %'),
      ),
    );
    expect(analysis.requirements.map(({ holds }) => holds)).toEqual([true, true, true]);
  });

  it('may ask for quantiles of words of their own, by two digits too', async () => {
    const analysis = await analyseText(
      hut('require p95(unserved) == 0 kWh   require p05(runTime(Genset)) <= p50(runTime(Genset))'),
    );
    expect(analysis.requirements.map(({ holds }) => holds)).toEqual([true, true]);
  });

  it('may ask for the mean over the runs, the worst week, the longest run and the longest time beyond a limit', async () => {
    const analysis = await analyseText(
      hut(
        `require mean(runTime(Genset)) == runTime(Genset)
    require worstWeek(runTime(Genset)) < runTime(Genset)
    require worstWeek(energy(Fan)) == 7 * 24 h * 512 W
    require mean(worstWeek(energy(Fan))) == p50(worstWeek(energy(Fan)))
    require longestRun(Genset) < runTime(Genset)
    require longestBelow(soc(Bank), 100 %) == 15 d
    require longestBelow(soc(Bank), 60 %) < timeBelow(soc(Bank), 60 %)
    require longestAbove(soc(Bank), 60 %) > 5 h`,
        '',
        'from: 2027-01-10   duration: 15 d   soc(Bank): 90 %   sun: none',
      ),
    );
    expect(outcomes(analysis).map((each) => (each as unknown[])[1])).toEqual(new Array(8).fill(true));
    const hours = (at: number): number => numberIn(analysis.requirements[at]!.left!, 'h');
    // Half of the fifteen days and not less than seven fifteenths: runs are spread evenly, give or take one of them.
    expect(hours(1)).toBeGreaterThan((7 / 15) * hours(0) - hours(4));
    expect(hours(1)).toBeLessThan((7 / 15) * hours(0) + hours(4));
  });

  it('may use values of the design, and `let`', async () => {
    const analysis = await analyseText(
      hut(
        `require lowest >= Bank.usual
    require lowest * Bank.capacity > 100 Ah
    require p95(hours) <= 3 d`,
        'let lowest = min(soc(Bank))   let hours = runTime(Genset)',
      ).replace('Bank.usual', '35 %'),
    );
    expect(analysis.requirements.map(({ holds }) => holds)).toEqual([true, true, true]);
    expect(displayValue(analysis.requirements[1]!.left!)).toMatch(/^11\d(\.\d+)? Ah$/);
  });

  it('that rest on missing facts are not checked, and every one is named', async () => {
    const analysis = await analyseText(
      hut('require unserved == 0 kWh', '', 'duration: 3 d').replace('efficiency: 93 %', ''),
    );
    expect(analysis.requirements[0]!.holds).toBeUndefined();
    expect(analysis.requirements[0]!.missing).toEqual(expect.arrayContaining(['from of S', 'soc(Bank) of S']));
    expect(analysis.questions.filter(({ check }) => check === 'requirement-failed')).toHaveLength(1);
  });

  it('of a scenario that covers too much time are left open with the reason', async () => {
    const analysis = await analyseText(
      hut(
        'require unserved == 0 kWh',
        '',
        'from: 2027-01-10   duration: 3650 d   runs: 26   soc(Bank): 90 %   sun: none',
      ),
    );
    expect(analysis.requirements[0]!.undecided).toContain('260 years');
  });

  it.each([
    ['soc(Bank) > 20 %', 'wrong-type', 'soc(Bank)'],
    ['hour > 3 h', 'wrong-type', 'hour'],
    ['min(soc(Bank), soc(Bank)) > 20 %', 'wrong-type', 'soc(Bank)'],
    ['min(soc(Genset)) > 20 %', 'wrong-type', 'Genset'],
    ['runTime(Bank) > 1 h', 'wrong-type', 'Bank'],
    ['runTime(Genset, Genset) > 1 h', 'wrong-type', 'Genset'],
    ['cycles(Fan) > 1', 'wrong-type', 'Fan'],
    ['curtailed(Fan) > 1 kWh', 'wrong-type', 'Fan'],
    ['timeBelow(soc(Bank)) > 1 h', 'wrong-type', 'timeBelow(soc(Bank))'],
    ['timeBelow(Bank, 20 %) > 1 h', 'wrong-type', 'Bank'],
    ['timeBelow(soc(Bank), 20 V) > 1 h', 'wrong-dimension', '20 V'],
    ['timeBelow(soc(Bank), 20) > 1 h', 'wrong-dimension', '20'],
    ['firstTime(soc(Bank) < 20 % or hour > 3 h) > 1 h', 'wrong-type', 'soc(Bank) < 20 % or hour > 3 h'],
    ['firstTime(soc(Bank)) > 1 h', 'wrong-type', 'soc(Bank)'],
    ['p95(3 h) > 1 h', 'wrong-type', '3 h'],
    ['worstWeek(min(soc(Bank))) > 10 %', 'wrong-type', 'min(soc(Bank))'],
    ['worstWeek(fuel(Bank)) > 1 L', 'wrong-type', 'Bank'],
    ['longestRun(Bank) > 1 h', 'wrong-type', 'Bank'],
    ['mean(p95(runTime(Genset))) > 1 h', 'wrong-type', 'p95(runTime(Genset))'],
    ['p95(2 * runTime(Genset)) > 1 h', 'wrong-type', '2 * runTime(Genset)'],
    ['runTime(Genset) > 1 kWh', 'wrong-dimension', 'runTime(Genset) > 1 kWh'],
  ])('say what is wrong with their text: %s', async (requirement, check, place) => {
    const text = hut(`require ${requirement}`);
    const analysis = await analyseText(text);
    const [found] = findingsOf(analysis, check);
    expect(text.slice(found!.place.offset, found!.place.end)).toBe(place);
    const ofText = ['wrong-type', 'wrong-dimension', 'unknown-name', 'value-out-of-range', 'requirement-failed'];
    const told = analysis.findings.filter(({ check: id }) => ofText.includes(id)).map(({ check: id }) => id);
    expect([...new Set(told)]).toEqual([check]);
    expect(analysis.requirements[0]).toMatchObject({ isFaulty: true });
  });

  it('offer the numbers that a signal has', async () => {
    const text = hut('require soc(Bank) > 20 %');
    const [found] = findingsOf(await analyseText(text), 'wrong-type');
    expect(found!.fixes.map(({ edits }) => edits[0]!.text)).toEqual([
      'min(soc(Bank))',
      'max(soc(Bank))',
      'mean(soc(Bank))',
      'last(soc(Bank))',
    ]);
  });

  it('over several runs must hold in each, and quantiles are of one number', async () => {
    const head = 'from: 2027-01-10   duration: 1 d   runs: 5   seed: 7   soc(Bank): 90 %   sun: none';
    const analysis = await analyseText(
      hut('require min(soc(Bank)) >= 10 %   require p95(runTime(Genset)) <= 24 h', '', head),
    );
    expect(analysis.requirements.map(({ holds }) => holds)).toEqual([true, true]);
    expect(analysis.scenarios[0]!.played).toMatchObject({ kind: 'played' });
  });

  it('outside of scenarios wait for nothing and say what lacks', async () => {
    const analysis = await analyseText(
      hut('').replace('control Autostart', 'require min(soc(Bank)) >= 20 %\n  control Autostart'),
    );
    expect(analysis.requirements[0]!.undecided).toContain('soc(Bank), which only a scenario gives');
  });

  it('can be accepted on their scenario', async () => {
    const waiver = 'accept requirement-failed on S because "an old bank, to be replaced"';
    const analysis = await analyseText(hut('require min(soc(Bank)) >= 45 %', waiver));
    expect(failures(analysis)).toEqual([]);
    expect(findingsOf(analysis, 'unused-accept')).toEqual([]);
  });
});

describe('an analysis step by step', () => {
  const services = createTestServices();
  let count = 0;
  async function begun(text: string, cache: ScenarioCache) {
    const { shared } = await services;
    const { LangiumDocumentFactory, LangiumDocuments, DocumentBuilder } = shared.workspace;
    const document = LangiumDocumentFactory.fromString(text, URI.parse(`file:///steps/${(count += 1)}.watt`));
    LangiumDocuments.addDocument(document);
    await DocumentBuilder.build([document], { validation: false });
    return beginAnalysis(document, await services, { today: TODAY, cache });
  }

  const text = hut('require min(soc(Bank)) >= 45 %');

  it('leaves the scenarios to the end, and plays them piece by piece', async () => {
    const fast = (await begun(text, new ScenarioCache())).complete();
    expect(outcomes(fast)).toEqual([['min(soc(Bank)) >= 45 %', 'its scenario has not been simulated']]);
    expect(failures(fast)).toEqual([]);
    expect(fast.questions.filter(({ check }) => check === 'requirement-failed')).toEqual([]);
    // Its rules, and its scenario.
    expect(fast.unplayed!.count).toBe(2);
    const plays = fast.unplayed!.play();
    const shares: number[] = [];
    let step = plays.next();
    for (; !step.done; step = plays.next()) shares.push(step.value);
    expect(shares.length).toBeGreaterThan(1);
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
    expect(failures(step.value)).toHaveLength(1);
    expect(step.value.unplayed).toBeUndefined();
    expect(step.value.counts.failed).toBe(fast.counts.failed + 1);
  });

  it('keeps what was played for every text that means the same', async () => {
    const cache = new ScenarioCache();
    const first = (await begun(text, cache)).complete();
    expect(first.unplayed!.kept()).toBeUndefined();
    const plays = first.unplayed!.play();
    let step = plays.next();
    while (!step.done) step = plays.next();
    const later = async (other: string): Promise<Analysis | undefined> =>
      (await begun(other, cache)).complete().unplayed!.kept();
    const same = await later(text);
    expect(outcomes(same!)).toEqual(outcomes(step.value));
    const moved = await later(
      `// A remark above.\n${text.replace('capacity: 280 Ah', 'note: "x"   capacity: 280 Ah').replace('>= 45 %', '>= 30 %')}`,
    );
    expect(moved!.requirements[0]!.holds).toBe(true);
    for (const [from, to] of [
      ['280 Ah', '281 Ah'],
      ['40 % for 1 min', '40 % for 2 min'],
      ['soc(Bank): 90 %', 'soc(Bank): 91 %'],
      ['size: 25 mm2   length: 2 m', 'size: 25 mm2   length: 3 m'],
      ['> 85 %', '>= 85 %'],
      ['duration: 3 d', 'duration: 4 d'],
      ['10..20 degC', '11..20 degC'],
      ['profile: always', 'profile: { 08:00..20:00: 100 % }'],
    ] as const) {
      expect(text).toContain(from);
      expect(await later(text.replace(from, to)), `${from} → ${to}`).toBeUndefined();
    }
  });
});
