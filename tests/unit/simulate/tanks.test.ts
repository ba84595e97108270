import { describe, expect, it } from 'vitest';
import { Tanks } from '../../../language/src/simulate/tanks.js';
import type { SourcePlan } from '../../../language/src/simulate/plan.js';
import { analyseText, findingsOf } from '../../helpers/analyse.js';
import { planOf, playText, resultOf, run, small } from './designs.js';

const [HOUR, DAY] = [3600, 86_400];

/** A set that runs whatever happens and burns 1 L/h whatever it gives. Invented. */
const steady = (scenario: string, tank = 'tank: 10 L'): string =>
  small({
    generator: `${tank}   burn: { 0 %: 1 L/h, 100 %: 1 L/h }`,
    rules: 'control Start of Set { start when hour >= 0 h   stop when hour < 0 h }',
    scenario: `soc(Bank): 60 %   ${scenario}`,
  });
const times = (events: readonly { time: number; what: string }[], what: string): number[] =>
  events.filter((event) => event.what === what).map(({ time }) => time);

describe('a tank that is filled at stated times alone', () => {
  it('runs dry when its fuel is burnt, by hand, and the set stands still', async () => {
    const result = await resultOf(steady('duration: 2 d   refilled(Set): never'));
    const [empty, ...more] = times(result.events, 'tank empty');
    expect(more).toEqual([]);
    // 10 L at 1 L/h.
    expect(empty! / HOUR).toBeCloseTo(10, 6);
    const { fuel, runTime, fuelLeft, timeToEmpty, starts } = result.totals[0]!;
    expect(fuel.get('Set')! * 1000).toBeCloseTo(10, 6);
    expect(runTime.get('Set')! / HOUR).toBeCloseTo(10, 6);
    expect([fuelLeft.get('Set'), starts.get('Set')]).toEqual([0, 1]);
    expect(timeToEmpty.get('Set')).toBe(empty);
    expect(result.events.filter(({ time, what }) => what === 'stop' && time === empty)).toHaveLength(1);
  });

  it('lets it go on when it is filled, and counts what is left between', async () => {
    const result = await resultOf(steady('duration: 2 d   fuelLeft(Set): 8 L   refilled(Set): 6 h, 20 h'));
    // 8 L last 8 h; filled to 10 L at 6 h with 2 L left, empty at 16 h, filled at 20 h, empty at 30 h.
    expect(times(result.events, 'tank empty').map((time) => Number((time / HOUR).toFixed(6)))).toEqual([16, 30]);
    expect(times(result.events, 'refilled')).toEqual([6 * HOUR, 20 * HOUR]);
    expect(result.totals[0]!.runTime.get('Set')! / HOUR).toBeCloseTo(26, 5);
    expect(result.totals[0]!.starts.get('Set')).toBe(2);
  });

  it('has the least left that it comes to', async () => {
    const { totals } = await resultOf(steady('duration: 10 h   fuelLeft(Set): 9 L   refilled(Set): 6 h'));
    expect(totals[0]!.fuelLeft.get('Set')! * 1000).toBeCloseTo(3, 6);
    expect(totals[0]!.timeToEmpty.get('Set')).toBe(Infinity);
  });

  it('is filled by the interval that the set states, unless the scenario says otherwise', async () => {
    const each = 'tank: 10 L   refillInterval: 12 h';
    const stated = await resultOf(steady('duration: 2 d', each));
    expect(times(stated.events, 'refilled')).toEqual([12 * HOUR, 24 * HOUR, 36 * HOUR]);
    const other = await resultOf(steady('duration: 2 d   refilled(Set): 1 d', each));
    expect(times(other.events, 'refilled')).toEqual([DAY]);
  });

  it('may be empty from the start', async () => {
    const result = await resultOf(steady('duration: 5 h   fuelLeft(Set): 0 L   refilled(Set): 2 h'));
    expect(result.totals[0]!.timeToEmpty.get('Set')).toBe(0);
    expect(result.totals[0]!.runTime.get('Set')! / HOUR).toBeCloseTo(3, 6);
  });

  it('closes the books of energy, and runs dry at the same time whatever the longest step', async () => {
    const plan = await planOf(
      small({
        generator: 'tank: 12 L   burn: { 0 %: 0.4 L/h, 50 %: 1.1 L/h, 100 %: 2.3 L/h }',
        scenario: 'duration: 4 d   soc(Bank): 70 %   refilled(Set): 3 d',
      }),
    );
    const [long, short] = [900, 7].map((longestStep) => run(plan, { longestStep }));
    const empty = times(long!.events, 'tank empty');
    expect(empty.length).toBeGreaterThan(0);
    times(short!.events, 'tank empty').forEach((time, at) => expect(Math.abs(time - empty[at]!)).toBeLessThan(0.05));
    expect(Math.abs(long!.balance.residual)).toBeLessThan(1e-6 * long!.throughput);
    // What was burnt up to the first time it ran dry is the tank.
    const burnt = long!.fuel.reduce((sum, each) => sum + each, 0);
    expect(burnt * 1000).toBeGreaterThan(12 - 1e-6);
  });

  it('needs what the set burns and how large the tank is', async () => {
    const unknown = await playText(
      small({ generator: 'tank: 12 L', scenario: 'duration: 1 d   soc(Bank): 70 %   refilled(Set): never' }).replace(
        /fuel: diesel|burn: \{.*?\}/g,
        '',
      ),
    );
    expect(unknown).toMatchObject({ kind: 'missing', missing: ['burn or fuel of Set'] });
    const without = await playText(steady('duration: 1 d   refilled(Set): never', ''));
    expect(without).toMatchObject({ kind: 'missing', missing: ['tank of Set'] });
    expect(await playText(steady('duration: 1 d   fuelLeft(Set): 5 L', ''))).toMatchObject({ kind: 'played' });
  });

  it('counts no fuel twice', () => {
    const tanks = new Tanks([{ tank: 2, fuelAtStart: 1 } as SourcePlan, { tank: Infinity } as SourcePlan]);
    expect(tanks.finite).toEqual([0]);
    expect([tanks.advance(0, 5, 0.5), tanks.runsDry(0, 0.9)]).toEqual([false, false]);
    expect([tanks.advance(0, 9, 1), tanks.advance(0, 10, 1), tanks.isEmpty[0]]).toEqual([true, false, 1]);
    tanks.fill(0, 1);
    expect([tanks.runsDry(0, 2.9), tanks.runsDry(0, 3)]).toEqual([false, true]);
    expect(tanks.outcome()).toEqual([{ source: 0, least: 0, emptyAt: 9 }]);
  });
});

describe('requirements and findings of a finite tank', () => {
  const judged = async (scenario: string): Promise<unknown[]> => {
    const analysis = await analyseText(steady(scenario));
    return [
      analysis.requirements.map(({ holds, undecided }) => holds ?? undecided),
      findingsOf(analysis, 'fuel-runs-out').map(({ headline }) => headline),
    ];
  };

  it('ask for what is left and for how long it lasts', async () => {
    expect(
      await judged(
        'duration: 2 d   refilled(Set): never   require fuelLeft(Set) >= 1 L   require timeToEmpty(Set) > 9 h   require timeToEmpty(Set) > 11 h',
      ),
    ).toEqual([[false, true, false], []]);
    expect(await judged('duration: 5 h   refilled(Set): never   require timeToEmpty(Set) > 5 h')).toEqual([[true], []]);
  });

  it('find a tank that runs dry, and one whose reserve is used', async () => {
    expect(await judged('duration: 2 d   refilled(Set): never')).toEqual([
      [],
      ['In Play the tank of Set is empty after 10 h'],
    ]);
    // 10 L less 9 h · 1 L/h: a litre is left, and a litre is the reserve of 10 %.
    expect(await judged('duration: 9 h   refilled(Set): never')).toEqual([[], []]);
    expect(await judged('duration: 9.5 h   refilled(Set): never')).toEqual([
      [],
      ['In Play the tank of Set gets down to 500 mL; 1 L to keep'],
    ]);
    expect(await judged('duration: 2 d')).toEqual([[], []]);
  });

  it('have no answer where the tank is filled whenever it is empty', async () => {
    const analysis = await analyseText(steady('duration: 1 d   require fuelLeft(Set) >= 1 L'));
    expect(JSON.stringify(analysis.findings)).toContain('is filled whenever it is empty');
  });
});

describe('what a scenario says of tanks', () => {
  it.each([
    ['refilled(Set): 3 d', 'value-out-of-range', '3 d'],
    ['refilled(Set): 5 L', 'wrong-type', '5 L'],
    ['refilled(Set): never, 5 h', 'wrong-type', 'never'],
    ['refilled(Bank): 5 h', 'wrong-type', 'Bank'],
    ['refilled(Set): 1 h   refilled(Set): 2 h', 'duplicate-name', 'refilled(Set)'],
    ['fuelLeft(Set): 11 L', 'value-out-of-range', '11 L'],
    ['fuelLeft(Set): 5 h', 'wrong-type', '5 h'],
    ['fuelLeft(Set): 1 L .. 2 L', 'value-out-of-range', '1 L .. 2 L'],
    ['fuelLeft(Set): 1 L, 2 L', 'wrong-type', '2 L'],
    ['fuelLeft(Bank): 1 L', 'wrong-type', 'Bank'],
  ])('is wrong at its place: %s', async (text, check, place) => {
    const all = steady(`duration: 2 d   ${text}`);
    const [found] = findingsOf(await analyseText(all), check);
    expect(all.slice(found!.place.offset, found!.place.end)).toBe(place);
  });
});
