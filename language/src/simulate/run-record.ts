import type { Result } from '../derivation/index.js';
import type { Comparison, Signal } from '../model/conditions.js';
import { comparisonHolds, signalKey, turnOn } from '../model/conditions.js';
import type { Outcome } from './engine.js';
import type { Plan } from './plan.js';
import type { Measure, RunTotals } from './types.js';
import { isSetPlan } from './plan-questions.js';

const DAY = 86400;
/** The day of a time, the first being 1. */
const dayOf = (seconds: number): number => Math.floor(seconds / DAY) + 1;

/** Lowest, highest, mean over time and last value of a column, with the times (s) of the first two. */
export interface Extremes {
  readonly min: number;
  readonly minAt: number;
  readonly max: number;
  readonly maxAt: number;
  readonly mean: number;
  readonly last: number;
}

/** A value in coherent SI with the time (s) it belongs to, or why there is none. */
export type Measured =
  { readonly value: number; readonly time?: number } | { readonly never: string } | { readonly unknown: string };

/** What was recorded of a run: times, and columns by position. */
export interface Recorded {
  readonly time: Float64Array;
  readonly column: (at: number) => Float64Array;
}

/** What is kept of a run: its sums, the extremes of all that was recorded, and what was asked for beforehand. */
export interface RunRecord {
  readonly totals: RunTotals;
  readonly extremes: (at: number) => Extremes;
  readonly measured: ReadonlyMap<string, Measured>;
}

/** Why the fuel of a set is not known; undefined where it is. */
export const unknownFuel = (plan: Plan, name: string): Result | undefined =>
  plan.sources.find((source) => source.name === name)?.fuelUnknown;

export function totalsOf(plan: Plan, outcome: Outcome): RunTotals {
  const by = <T extends { readonly name: string }>(things: readonly T[], values: Float64Array): Map<string, number> =>
    new Map(things.map(({ name }, at) => [name, values[at]!]));
  const generators = plan.sources.flatMap((source, at) => (isSetPlan(source) && source.machine === at ? [at] : []));
  const driven = [
    ...new Set(
      plan.regulators.flatMap(({ source, powerByMonth }) => (powerByMonth.length > 0 && source >= 0 ? [source] : [])),
    ),
  ];
  const ofGenerators = (values: Float64Array): Map<string, number> =>
    new Map(generators.map((at) => [plan.sources[at]!.name, values[at]!]));
  return {
    runTime: ofGenerators(outcome.runTime),
    starts: ofGenerators(outcome.starts),
    fuel: new Map([...ofGenerators(outcome.fuel)].filter(([name]) => !unknownFuel(plan, name))),
    machines: new Map(
      plan.sources.flatMap(({ name, machine }, at) =>
        machine === at ? [] : [[name, plan.sources[machine]!.name] as const],
      ),
    ),
    cycles: new Map(plan.banks.map(({ name, capacity }, at) => [name, outcome.drawn[at]! / capacity])),
    unserved: by(plan.loads, outcome.unserved),
    shed: by(plan.loads, outcome.shed),
    curtailed: new Map([
      ...by(plan.arrays, outcome.curtailed),
      ...driven.map((at) => [plan.sources[at]!.name, outcome.spare[at]!] as const),
    ]),
    energy: new Map([
      ...by(plan.sources, outcome.given),
      ...by(plan.arrays, outcome.taken),
      ...by(plan.loads, outcome.served),
    ]),
    balance: outcome.balance,
    steps: outcome.steps,
  };
}

export function extremesOf(time: Float64Array, values: Float64Array): Extremes {
  let [min, minAt, max, maxAt, area] = [Infinity, 0, -Infinity, 0, 0];
  for (let at = 0; at < values.length; at += 1) {
    const value = values[at]!;
    if (value < min) [min, minAt] = [value, time[at]!];
    if (value > max) [max, maxAt] = [value, time[at]!];
    if (at > 0) area += ((value + values[at - 1]!) / 2) * (time[at]! - time[at - 1]!);
  }
  const span = time.length > 0 ? time.at(-1)! - time[0]! : 0;
  const last = values.at(-1) ?? NaN;
  return { min, minAt, max, maxAt, mean: span > 0 ? area / span : last, last };
}

/** Extremes of columns of a record that stays, each worked out when it is first asked for. */
export function laterExtremes(recorded: Recorded): RunRecord['extremes'] {
  const found = new Map<number, Extremes>();
  return (at) => {
    let extremes = found.get(at);
    if (!extremes) found.set(at, (extremes = extremesOf(recorded.time, recorded.column(at))));
    return extremes;
  };
}

/** Extremes of all columns of a record that will be written over. */
export function extremesNow(recorded: Recorded, width: number): RunRecord['extremes'] {
  const found = Array.from({ length: width }, (_, at) => extremesOf(recorded.time, recorded.column(at)));
  return (at) => found[at]!;
}

/** How long (s) a column is below a limit, straight between its points. */
export function timeBelow(time: Float64Array, values: Float64Array, limit: number): number {
  let sum = 0;
  for (let at = 1; at < values.length; at += 1) {
    const [from, to] = [values[at - 1]! - limit, values[at]! - limit];
    const span = time[at]! - time[at - 1]!;
    if (from < 0 && to < 0) sum += span;
    else if (from < 0) sum += (span * from) / (from - to);
    else if (to < 0) sum += (span * to) / (to - from);
  }
  return sum;
}

/** A key that is the same for the same measure. */
export function measureKey(measure: Measure): string {
  switch (measure.what) {
    case 'min':
    case 'max':
    case 'mean':
    case 'last':
      return `${measure.what} ${signalKey(measure.signal)}`;
    case 'timeBelow':
    case 'timeAbove':
      return `${measure.what} ${signalKey(measure.signal)} ${measure.limit}`;
    case 'firstTime': {
      const { terms, comparison, limit } = measure.comparison;
      return `firstTime ${terms.map(({ factor, signal }) => `${factor} ${signalKey(signal)}`).join(' ')} ${comparison} ${limit.value}`;
    }
    default:
      return `${measure.what} ${measure.of?.name ?? ''}`;
  }
}

/** What a run gives for a measure. `columns` answers the recorded values of a signal; undefined for one that is not recorded. */
export function measured(
  measure: Measure,
  record: Pick<RunRecord, 'totals' | 'extremes'>,
  positionOf: (signal: Signal) => number | undefined,
  recorded: Recorded | undefined,
  timeOfDay: number,
): Measured {
  switch (measure.what) {
    case 'min':
    case 'max':
    case 'mean':
    case 'last': {
      const at = positionOf(measure.signal);
      if (at === undefined) return unplayed(measure.signal);
      const found = record.extremes(at);
      if (measure.what === 'min') return { value: found.min, time: found.minAt };
      if (measure.what === 'max') return { value: found.max, time: found.maxAt };
      return { value: found[measure.what] };
    }
    case 'timeBelow':
    case 'timeAbove': {
      const at = positionOf(measure.signal);
      if (at === undefined) return unplayed(measure.signal);
      if (!recorded) return notAsked;
      const { time } = recorded;
      const column = recorded.column(at);
      return {
        value:
          measure.what === 'timeBelow'
            ? timeBelow(time, column, measure.limit)
            : timeBelow(
                time,
                Float64Array.from(column, (value) => -value),
                -measure.limit,
              ),
      };
    }
    case 'firstTime':
      return recorded ? firstTime(measure.comparison, positionOf, recorded, timeOfDay) : notAsked;
    default:
      return total(measure, record.totals);
  }
}

const notAsked: Measured = { unknown: 'it was not asked for before the runs were simulated' };
const unplayed = (signal: Signal): Measured => ({ unknown: `${signalKey(signal)} is not recorded` });

function total(measure: Extract<Measure, { of?: unknown }>, totals: RunTotals): Measured {
  const values = totals[measure.what];
  if (measure.of) {
    const value = values.get(measure.of.name) ?? values.get(totals.machines.get(measure.of.name) ?? '');
    return value === undefined ? { unknown: `${measure.of.name} has no ${measure.what}` } : { value };
  }
  let sum = 0;
  for (const value of values.values()) sum += value;
  return { value: sum };
}

function firstTime(
  comparison: Comparison,
  positionOf: (signal: Signal) => number | undefined,
  recorded: Recorded,
  timeOfDay: number,
): Measured {
  const { time } = recorded;
  const parts: { factor: number; value: (row: number) => number }[] = [];
  for (const { factor, signal } of comparison.terms) {
    if (signal.kind === 'clock') {
      const clock = (row: number): number => time[row]! + timeOfDay;
      parts.push({
        factor,
        value:
          signal.signal === 'hour'
            ? (row) => clock(row) % DAY
            : (row) => (signal.signal === 'duty' ? turnOn(signal, dayOf(clock(row))) : dayOf(clock(row))),
      });
      continue;
    }
    const at = positionOf(signal);
    if (at === undefined) return unplayed(signal);
    const column = recorded.column(at);
    parts.push({ factor, value: (row) => column[row]! });
  }
  const sumAt = (row: number): number => parts.reduce((sum, { factor, value }) => sum + factor * value(row), 0);
  let before = NaN;
  for (let row = 0; row < time.length; row += 1) {
    const sum = sumAt(row);
    if (!comparisonHolds(comparison, sum)) {
      before = sum;
      continue;
    }
    if (row === 0 || Number.isNaN(before) || sum === before) return { value: time[row]!, time: time[row]! };
    const share = Math.min(1, Math.max(0, (comparison.limit.value - before) / (sum - before)));
    const at = time[row - 1]! + share * (time[row]! - time[row - 1]!);
    return { value: at, time: at };
  }
  return { never: 'it never happens in the simulated time' };
}
