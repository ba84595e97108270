import type { Result } from '../derivation/index.js';
import type { Comparison, Signal } from '../model/conditions.js';
import { comparisonHolds, signalKey, turnOn } from '../model/conditions.js';
import type { Outcome } from './engine-types.js';
import type { Plan } from './plan.js';
import { type DaySums, type RunSums, type WeekSum, weekSum } from './day-sums.js';
import type { Extremes } from './extremes.js';
import type { TankOutcome } from './tanks.js';
import { stretchesOf } from './series.js';
import type { Measure, RunTotals, SumMeasure } from './types.js';
import { isSetPlan } from './plan-questions.js';

const DAY = 86400;
/** The day of a time, the first being 1. */
const dayOf = (seconds: number): number => Math.floor(seconds / DAY) + 1;

/** A value in coherent SI with the time (s) it belongs to, or why there is none. */
export type Measured =
  { readonly value: number; readonly time?: number } | { readonly never: string } | { readonly unknown: string };

/** What was recorded of a run: times, and columns by position. */
export interface Recorded {
  readonly time: Float64Array;
  readonly column: (at: number) => Float64Array;
}

/** The signals whose course over time a measure needs: of others their extremes, or sums, are enough. */
export function signalsOverTime(measure: Measure): readonly Signal[] {
  switch (measure.what) {
    case 'timeBelow':
    case 'timeAbove':
    case 'longestBelow':
    case 'longestAbove':
      return [measure.signal];
    case 'firstTime':
      return measure.comparison.terms.map(({ signal }) => signal);
    default:
      return [];
  }
}

/** What is kept of a run: its sums, the extremes of all that was recorded, and what was asked for beforehand. */
export interface RunRecord {
  readonly totals: RunTotals;
  readonly extremes: readonly Extremes[];
  /** Its sums from midnight to midnight, kept of the first run. */
  readonly days?: DaySums;
  readonly measured: ReadonlyMap<string, Measured>;
}

/** Why the fuel of a set is not known; undefined where it is. */
export const unknownFuel = (plan: Plan, name: string): Result | undefined =>
  plan.sources.find((source) => source.name === name)?.fuelUnknown;

/** Positions of the sources that something drives which may be left untaken. */
const drivenSources = (plan: Plan): number[] => [
  ...new Set(
    plan.regulators.flatMap(({ source, powerByMonth }) => (powerByMonth.length > 0 && source >= 0 ? [source] : [])),
  ),
];

export function totalsOf(plan: Plan, outcome: Outcome): RunTotals {
  const by = <T extends { readonly name: string }>(things: readonly T[], values: Float64Array): Map<string, number> =>
    new Map(things.map(({ name }, at) => [name, values[at]!]));
  const generators = plan.sources.flatMap((source, at) => (isSetPlan(source) && source.machine === at ? [at] : []));
  const driven = drivenSources(plan);
  const ofGenerators = (values: Float64Array): Map<string, number> =>
    new Map(generators.map((at) => [plan.sources[at]!.name, values[at]!]));
  const ofTanks = (value: (tank: TankOutcome) => number): Map<string, number> =>
    new Map(outcome.tanks.map((tank) => [plan.sources[tank.source]!.name, value(tank)]));
  return {
    runTime: ofGenerators(outcome.runTime),
    starts: ofGenerators(outcome.starts),
    fuel: new Map([...ofGenerators(outcome.fuel)].filter(([name]) => !unknownFuel(plan, name))),
    longestRun: longestRuns(plan, outcome, generators),
    machines: new Map(
      plan.sources.flatMap(({ name, machine }, at) =>
        machine === at ? [] : [[name, plan.sources[machine]!.name] as const],
      ),
    ),
    fuelLeft: ofTanks(({ least }) => least),
    timeToEmpty: ofTanks(({ emptyAt }) => emptyAt),
    timeSinceFull: by(plan.banks, outcome.sinceFull),
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
    worstWeek: {
      runTime: new Map(
        generators.map((at) => [
          plan.sources[at]!.name,
          weekSum(outcome.days, ({ runTime }) => runTime[at]!, 'most').value,
        ]),
      ),
      energy: new Map([
        ...plan.arrays.map(
          ({ name }, at) => [name, weekSum(outcome.days, ({ taken }) => taken[at]!, 'least').value] as const,
        ),
        ...driven.map(
          (at) => [plan.sources[at]!.name, weekSum(outcome.days, ({ given }) => given[at]!, 'least').value] as const,
        ),
      ]),
      unserved: weekSum(outcome.days, ({ unserved }) => unserved.reduce((sum, each) => sum + each, 0), 'most').value,
    },
    balance: outcome.balance,
    steps: outcome.steps,
  };
}

/** s, of the machines at some positions. */
function longestRuns(plan: Plan, { events }: Outcome, machines: readonly number[]): Map<string, number> {
  const runs = stretchesOf({ events, duration: plan.duration }, 'start');
  return new Map(
    machines.map((at) => {
      const { name } = plan.sources[at]!;
      return [name, (runs.get(name) ?? []).reduce((longest, { from, to }) => Math.max(longest, to - from), 0)];
    }),
  );
}

/**
 * A sum over the seven days in which it is worst. Of arrays, of what water or wind drives, and of what loads got, the least is the worst;
 * of all else the most. Undefined for what the plan has no such sum of.
 */
export function worstWeek(measure: SumMeasure, plan: Plan, days: DaySums): WeekSum | undefined {
  const sumOf = sumReader(measure, plan);
  if (!sumOf) return undefined;
  const isLeast =
    measure.what === 'energy' &&
    !plan.sources.some(({ name }, at) => name === measure.of.name && !drivenSources(plan).includes(at));
  return weekSum(days, sumOf, isLeast ? 'least' : 'most');
}

/** Reads what a measure is about out of sums. */
function sumReader(measure: SumMeasure, plan: Plan): ((sums: RunSums) => number) | undefined {
  const name = measure.of?.name;
  const at = (things: readonly { readonly name: string }[]): number => things.findIndex((each) => each.name === name);
  const one = (
    things: readonly { readonly name: string }[],
    values: (sums: RunSums) => Float64Array,
  ): ((sums: RunSums) => number) | undefined => {
    const found = at(things);
    return found < 0 ? undefined : (sums) => values(sums)[found]!;
  };
  const all = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0);
  const { what } = measure;
  switch (what) {
    case 'runTime':
    case 'starts':
    case 'fuel': {
      const source = plan.sources[at(plan.sources)];
      return source && ((sums) => sums[what][source.machine]!);
    }
    case 'cycles': {
      const bank = at(plan.banks);
      return bank < 0 ? undefined : (sums) => sums.drawn[bank]! / plan.banks[bank]!.capacity;
    }
    case 'unserved':
    case 'shed':
      return name === undefined ? (sums) => all(sums[what]) : one(plan.loads, (sums) => sums[what]);
    case 'curtailed': {
      const driven = drivenSources(plan);
      if (name === undefined)
        return (sums) => all(sums.curtailed) + driven.reduce((sum, each) => sum + sums.spare[each]!, 0);
      return one(plan.arrays, (sums) => sums.curtailed) ?? one(plan.sources, (sums) => sums.spare);
    }
    case 'energy':
      return (
        one(plan.sources, (sums) => sums.given) ??
        one(plan.arrays, (sums) => sums.taken) ??
        one(plan.loads, (sums) => sums.served)
      );
  }
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

/** The longest time (s) without a break for which a column is below a limit, straight between its points. */
export function longestBelow(time: Float64Array, values: Float64Array, limit: number): { value: number; time: number } {
  let [value, at] = [0, 0];
  let since = values[0]! < limit ? time[0]! : NaN;
  const end = (to: number): void => {
    if (to - since > value) [value, at] = [to - since, since];
  };
  for (let row = 1; row < values.length; row += 1) {
    const [from, to] = [values[row - 1]! - limit, values[row]! - limit];
    const span = time[row]! - time[row - 1]!;
    if (from >= 0 && to < 0) since = time[row - 1]! + (span * from) / (from - to);
    else if (from < 0 && to >= 0) end(time[row - 1]! + (span * from) / (from - to));
  }
  if (values.at(-1)! < limit) end(time.at(-1)!);
  return { value, time: at };
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
    case 'longestBelow':
    case 'longestAbove':
      return `${measure.what} ${signalKey(measure.signal)} ${measure.limit}`;
    case 'worstWeek':
      return `worstWeek ${measureKey(measure.sum)}`;
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
  record: Omit<RunRecord, 'measured'>,
  positionOf: (signal: Signal) => number | undefined,
  recorded: Recorded | undefined,
  plan: Plan,
): Measured {
  switch (measure.what) {
    case 'min':
    case 'max':
    case 'mean':
    case 'last': {
      const at = positionOf(measure.signal);
      if (at === undefined) return unplayed(measure.signal);
      const found = record.extremes[at]!;
      if (measure.what === 'min') return { value: found.min, time: found.minAt };
      if (measure.what === 'max') return { value: found.max, time: found.maxAt };
      return { value: found[measure.what] };
    }
    case 'timeBelow':
    case 'timeAbove':
    case 'longestBelow':
    case 'longestAbove': {
      const at = positionOf(measure.signal);
      if (at === undefined) return unplayed(measure.signal);
      if (!recorded) return notAsked;
      const { time } = recorded;
      const isBelow = measure.what === 'timeBelow' || measure.what === 'longestBelow';
      const column = isBelow ? recorded.column(at) : Float64Array.from(recorded.column(at), (value) => -value);
      const limit = isBelow ? measure.limit : -measure.limit;
      return measure.what === 'timeBelow' || measure.what === 'timeAbove'
        ? { value: timeBelow(time, column, limit) }
        : longestBelow(time, column, limit);
    }
    case 'worstWeek': {
      if (!record.days) return notAsked;
      const found = worstWeek(measure.sum, plan, record.days);
      return found
        ? { value: found.value, time: found.from }
        : { unknown: `${measure.sum.of?.name} has no ${measure.sum.what}` };
    }
    case 'firstTime':
      return recorded ? firstTime(measure.comparison, positionOf, recorded, plan.timeOfDay) : notAsked;
    case 'fuelLeft':
    case 'timeToEmpty': {
      const found = total(measure, record.totals);
      if (!('value' in found)) return { unknown: alwaysFilled(measure.of.name) };
      return found.value === Infinity ? { never: 'it is never empty in the simulated time' } : found;
    }
    default:
      return total(measure, record.totals);
  }
}

const alwaysFilled = (name: string): string =>
  `the tank of ${name} is filled whenever it is empty; say with \`refilled(${name})\` or \`refillInterval\` when it is filled`;
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
