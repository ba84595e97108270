import { describe, expect, test } from 'vitest';
import { governingText } from '../../../language/src/glossary/reason-text.js';
import {
  type Measure,
  type OverRuns,
  type ScenarioResult,
  type Signal,
  displayValue,
  measureTitle,
  numberIn,
  playScenario,
} from '../../../language/src/index.js';
import { DIMENSIONS, siQuantity } from '../../../language/src/index.js';
import { type RunSums, weekSum } from '../../../language/src/simulate/day-sums.js';
import { ExtremesSoFar } from '../../../language/src/simulate/extremes.js';
import { longestBelow, timeBelow } from '../../../language/src/simulate/run-record.js';
import { quantileOf } from '../../../language/src/simulate/quantile.js';
import { formatSpan } from '../../../language/src/simulate/result.js';
import { designOf, resultOf, small, sunny } from './designs.js';

const known = (result: ScenarioResult, measure: Measure, over?: OverRuns): ReturnType<typeof number> =>
  number(result, measure, over);
function number(result: ScenarioResult, measure: Measure, over?: OverRuns) {
  const found = result.measure(measure, over);
  if (found.kind !== 'known') expect.fail(JSON.stringify(found));
  return found.derivation;
}
const instanceOf = (result: ScenarioResult, name: string) =>
  result.series.columns.find(({ of }) => of.name === name)!.of;
const soc = (result: ScenarioResult): Signal => ({ kind: 'of', signal: 'soc', of: instanceOf(result, 'Bank') });

describe('measures of a single run', () => {
  const played = resultOf(small({ scenario: 'duration: 2 d   soc(Bank): 90 %' }));

  test('read run time, starts and fuel of a generator in the units of the trade', async () => {
    const result = await played;
    const of = instanceOf(result, 'Set');
    const runTime = known(result, { what: 'runTime', of });
    expect(numberIn(runTime, 's')).toBe(result.totals[0]!.runTime.get('Set'));
    expect(numberIn(known(result, { what: 'starts', of }), '')).toBe(result.totals[0]!.starts.get('Set'));
    expect(numberIn(known(result, { what: 'fuel', of }), 'L')).toBeCloseTo(
      result.totals[0]!.fuel.get('Set')! * 1000,
      9,
    );
    expect(runTime.name).toBe('running time of Set');
    expect(runTime.notes).toContain('scenario Play');
  });

  test('read extremes with the time at which they happen', async () => {
    const result = await played;
    const least = known(result, { what: 'min', signal: soc(result) });
    expect(numberIn(least, '')).toBeCloseTo(0.3, 6);
    expect(least.name).toBe('lowest soc(Bank)');
    expect(governingText(least)).toMatch(/^(\d+ d )?\d+ h .* after the start$/);
    expect(numberIn(known(result, { what: 'max', signal: soc(result) }), '')).toBeCloseTo(0.9, 6);
    const mean = numberIn(known(result, { what: 'mean', signal: soc(result) }), '');
    // Charge and discharge run all but straight between 30 and 90 %.
    expect(mean).toBeCloseTo(0.6, 1);
  });

  test('read times below and above a limit, which together are all there is', async () => {
    const result = await played;
    const below = numberIn(known(result, { what: 'timeBelow', signal: soc(result), limit: 0.5 }), 's');
    const above = numberIn(known(result, { what: 'timeAbove', signal: soc(result), limit: 0.5 }), 's');
    expect(below + above).toBeCloseTo(2 * 86400, 3);
    expect(below / (2 * 86400)).toBeCloseTo(1 / 3, 1);
  });

  test('read the first time at which a comparison holds, and refuse one that never does', async () => {
    const result = await played;
    const comparison = (limit: number): Measure => ({
      what: 'firstTime',
      comparison: {
        type: 'comparison',
        terms: [{ factor: 1, signal: soc(result) }],
        comparison: '<',
        limit: siQuantity(limit, DIMENSIONS.ratio),
        place: result.scenario.place,
        limitPlace: result.scenario.place,
      },
    });
    const first = numberIn(known(result, comparison(0.3 + 1e-9)), 's');
    expect(first).toBeCloseTo(result.events.find(({ what }) => what === 'start')!.time, 0);
    expect(result.measure(comparison(0.1))).toMatchObject({
      kind: 'refused',
      reason: 'first time with soc(Bank) < 0.1: it never happens in the simulated time',
    });
  });

  test('count cycles, and energy that was not served with its parts', async () => {
    const result = await played;
    const bank = instanceOf(result, 'Bank');
    const cycles = numberIn(known(result, { what: 'cycles', of: bank }), '');
    expect(cycles).toBeGreaterThan(3);
    expect(cycles).toBeLessThan(4.5);
    const unserved = known(result, { what: 'unserved' });
    expect(numberIn(unserved, 'Wh')).toBe(0);
    expect(displayValue(unserved)).toBe('0 Wh');
    const broken = await resultOf(
      small({ inverter: 'rated: 1 kW   apparent: 1 kVA', scenario: 'duration: 2 h   soc(Bank): 90 %' }),
    );
    const lacking = known(broken, { what: 'unserved' });
    expect(numberIn(lacking, 'Wh')).toBeCloseTo(3000, 6);
    expect(lacking.inputs.map(({ symbol }) => symbol)).toEqual(['House']);
  });

  test('refuse what a thing does not have', async () => {
    const result = await played;
    expect(result.measure({ what: 'runTime', of: instanceOf(result, 'Bank') })).toEqual({
      kind: 'refused',
      reason: 'running time of Bank: Bank has no runTime',
    });
    const signal: Signal = { kind: 'of', signal: 'current', of: instanceOf(result, 'House') };
    expect(result.measure({ what: 'max', signal })).toEqual({
      kind: 'refused',
      reason: 'highest current(House): current(House) is not recorded',
    });
  });

  test('know the temperature at which the cells are held', async () => {
    const result = await played;
    const signal: Signal = { kind: 'of', signal: 'temperature', of: instanceOf(result, 'Bank') };
    expect(numberIn(known(result, { what: 'min', signal }), 'degC')).toBe(25);
  });
});

describe('several runs', () => {
  const scenario = 'duration: 10 d   soc(Bank): 60 %   runs: 25   seed: 7';

  test('give the range over all runs, quantiles within it, and each run its own weather', async () => {
    const { context, system } = await designOf(sunny(scenario));
    const of = system.instances.find(({ name }) => name === 'Bank')!;
    const low: Measure = { what: 'timeBelow', signal: { kind: 'of', signal: 'soc', of }, limit: 0.5 };
    const played = playScenario(context, system.scenarios[0]!, { resolution: 600, measures: [low] });
    if (played.kind !== 'played') expect.fail(JSON.stringify(played));
    const { result } = played;
    expect(result.totals).toHaveLength(25);
    const least: Measure = { what: 'min', signal: soc(result) };
    const all = known(result, least);
    if (typeof all.value !== 'object') expect.fail('no quantity');
    expect(all.value.low).toBeLessThan(all.value.high);
    expect(all.notes).toContain('25 runs, seed 7');
    const middle = numberIn(known(result, least, 0.5), '');
    expect(middle).toBeCloseTo(all.value.value, 12);
    expect(numberIn(known(result, least, 0), '')).toBeCloseTo(all.value.low, 12);
    expect(numberIn(known(result, least, 1), '')).toBeCloseTo(all.value.high, 12);
    expect(numberIn(known(result, least, 0.05), '')).toBeLessThan(middle);
    expect(known(result, least, 0.95).name).toBe('95 % quantile of lowest soc(Bank)');
    const yields = result.totals.map(({ energy }) => energy.get('Array')!);
    expect(new Set(yields).size).toBe(25);
    const mean = known(result, { what: 'energy', of: instanceOf(result, 'Array') }, 'mean');
    expect(numberIn(mean, 'J')).toBeCloseTo(yields.reduce((sum, each) => sum + each, 0) / 25, 3);
    expect(mean.name).toBe('mean over the runs of energy of Array');
    // Asked for beforehand, so it is known of all runs.
    const times = known(result, low);
    if (typeof times.value !== 'object') expect.fail('no quantity');
    expect(times.value.high).toBeGreaterThan(times.value.low);
    const other: Measure = { ...low, limit: 0.4 };
    expect(result.measure(other)).toEqual({
      kind: 'refused',
      reason: 'time with soc(Bank) below 0.4: it was not asked for before the runs were simulated',
    });
  });

  test('are the same again for the same seed, and others for another', async () => {
    const yields = async (text: string): Promise<number[]> =>
      (await resultOf(sunny(text), { resolution: 1800 })).totals.map(({ energy }) => energy.get('Array')!);
    const first = await yields(scenario);
    expect(await yields(scenario)).toEqual(first);
    expect(await yields(scenario.replace('seed: 7', 'seed: 8'))).not.toEqual(first);
    // The first run of many is the only run of one.
    expect((await yields(scenario.replace('runs: 25', 'runs: 1')))[0]).toBe(first[0]);
  });

  test('tell their progress and stop when asked to', async () => {
    const shares: number[] = [];
    const { context, system } = await designOf(sunny(scenario));
    playScenario(context, system.scenarios[0]!, { resolution: 1800, progress: (share) => shares.push(share) });
    expect(shares.length).toBeGreaterThan(20);
    expect(shares.at(-1)).toBe(1);
    expect(shares.every((share, at) => share >= 0 && share <= 1 && (at === 0 || share >= shares[at - 1]!))).toBe(true);
    let asked = 0;
    const stopped = playScenario(context, system.scenarios[0]!, {
      resolution: 1800,
      cancelled: () => (asked += 1) > 3,
    });
    expect(stopped).toEqual({ kind: 'cancelled' });
    expect(asked).toBe(4);
  });
});

describe('sums over what was recorded', () => {
  test('find extremes, the mean over time and the last value', () => {
    const found = new ExtremesSoFar(1);
    const values = [0, 4, 2, 2];
    [0, 10, 10, 30].forEach((time, at) => found.push(time, Float64Array.of(values[at]!, NaN)));
    expect(found.all[0]).toEqual({ min: 0, minAt: 0, max: 4, maxAt: 10, mean: (20 + 40) / 30, last: 2 });
  });

  test('cut the time below a limit where the straight line crosses it', () => {
    const [time, values] = [Float64Array.of(0, 10, 20), Float64Array.of(0, 4, 0)];
    expect(timeBelow(time, values, 1)).toBeCloseTo(5, 12);
    expect(timeBelow(time, values, 0)).toBe(0);
    expect(timeBelow(time, values, 5)).toBe(20);
  });

  test('find the longest time below a limit, and when it begins', () => {
    const [time, values] = [Float64Array.of(0, 10, 20, 30, 40, 50), Float64Array.of(0, 2, 0, 0, 2, 0)];
    // Below 1 from 0 to 5, from 15 to 35 and from 45 on.
    expect(longestBelow(time, values, 1)).toEqual({ value: 20, time: 15 });
    expect(longestBelow(time, values, 0)).toEqual({ value: 0, time: 0 });
    expect(longestBelow(time, values, 3)).toEqual({ value: 50, time: 0 });
  });

  test('find the worst seven days, from midnight to midnight', () => {
    const day = 86400;
    const of = (given: number): RunSums => ({ given: Float64Array.of(given) }) as unknown as RunSums;
    // 1 a day, but 5 on the tenth; the run begins at noon and ends in the evening of the sixteenth day.
    const days = [{ time: 0, sums: of(0) }];
    for (let at = 1; at <= 15; at += 1) days.push({ time: (at - 0.5) * day, sums: of(at + (at >= 10 ? 4 : 0)) });
    days.push({ time: 15.2 * day, sums: of(19.7) });
    const read = ({ given }: RunSums): number => given[0]!;
    expect(weekSum(days, read, 'most')).toEqual({ value: 11, from: 2.5 * day });
    expect(weekSum(days, read, 'least')).toEqual({ value: 7, from: 0.5 * day });
    // A run without seven whole days counts as a whole.
    expect(weekSum(days.slice(0, 5), read, 'most')).toEqual({ value: 4, from: 0 });
  });

  test('take quantiles where some runs never come to it', () => {
    expect(quantileOf([1, 2, 3, Infinity], 0.5)).toBe(2.5);
    expect(quantileOf([1, 2, Infinity, Infinity], 0.9)).toBe(Infinity);
    expect(quantileOf([Infinity, Infinity], 0.5)).toBe(Infinity);
  });

  test('take quantiles between sorted values', () => {
    // Type 7 of Hyndman and Fan: the 25 % quantile of 1, 2, 3, 4 is 1.75.
    expect(quantileOf([1, 2, 3, 4], 0.25)).toBeCloseTo(1.75, 12);
    expect(quantileOf([1, 2, 3, 4], 0)).toBe(1);
    expect(quantileOf([1, 2, 3, 4], 1)).toBe(4);
    expect(quantileOf([5], 0.3)).toBe(5);
  });

  test('write spans of time as people do', () => {
    expect(formatSpan(0)).toBe('0 min');
    expect(formatSpan(59.9 * 60)).toBe('1 h');
    expect(formatSpan(2 * 86400 + 3 * 3600 + 120)).toBe('2 d 3 h 2 min');
  });

  test('name what was asked', async () => {
    const result = await resultOf(small({ scenario: 'duration: 1 h   soc(Bank): 90 %' }));
    expect(measureTitle({ what: 'curtailed' })).toBe('curtailed energy of all arrays and turbines');
    expect(measureTitle({ what: 'timeAbove', signal: soc(result), limit: 0.9 })).toBe('time with soc(Bank) above 0.9');
  });
});
