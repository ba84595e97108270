import type { LogColumn, MeasuredLog } from './log.js';
import { type Stretch, stretchesOf } from './series.js';
import type { ScenarioResult } from './types.js';

/** How far what was simulated lies off what was measured, over all rows of the log within the scenario. In coherent SI. */
export interface ErrorFigures {
  readonly rows: number;
  /** Mean of simulated less measured. */
  readonly bias: number;
  readonly meanAbsolute: number;
  readonly rootMeanSquare: number;
  /** The largest difference, simulated less measured, and when. */
  readonly largest: { readonly value: number; readonly time: number };
}

/** A sum over the time that the log covers: energy (J), running time (s), starts, fuel (m³). */
export interface ComparedSum {
  readonly what: 'energy' | 'runTime' | 'starts' | 'fuel';
  readonly of: string;
  readonly measured: number;
  readonly simulated: number;
}

export interface ComparedColumn {
  readonly name: string;
  readonly unit: '1' | 'V' | 'A' | 'W';
  readonly figures: ErrorFigures;
  readonly measured: LogColumn;
}

/** A log held against a simulated scenario. */
export interface Against {
  readonly columns: readonly ComparedColumn[];
  readonly sums: readonly ComparedSum[];
  /** Time within the scenario that the log covers, and its gaps, in s. */
  readonly covered: number;
  readonly gaps: readonly Stretch[];
  /** What of the log was not compared, one sentence each. */
  readonly notes: readonly string[];
}

/** Rows further apart than this many usual intervals have a gap between them. */
const GAP = 3;

/**
 * Holds a log against a simulated scenario. Rows before its start and after its end are left out. Nothing is made up for gaps: neither
 * sums nor errors count them. Answers a sentence where the two have no time or no signal in common.
 */
export function compareLog(
  result: ScenarioResult,
  log: MeasuredLog,
): { readonly against: Against } | { readonly reason: string } {
  const { duration, series } = result;
  const { time } = log;
  const within = [...time.keys()].filter((row) => time[row]! >= 0 && time[row]! <= duration);
  if (within.length < 2)
    return {
      reason: 'fewer than two of its rows lie within the scenario; are both in the same year and on the same clock?',
    };
  const intervals = within.slice(1).map((row) => time[row]! - time[row - 1]!);
  const usual = [...intervals].sort((a, b) => a - b)[Math.floor((intervals.length - 1) / 2)]!;
  const isGap = (row: number): boolean => time[row]! - time[row - 1]! > GAP * usual;
  const gaps = within
    .slice(1)
    .filter(isGap)
    .map((row): Stretch => ({ from: time[row - 1]!, to: time[row]! }));
  const [first, last] = [time[within[0]!]!, time[within.at(-1)!]!];
  if (first > GAP * usual) gaps.unshift({ from: 0, to: first });
  if (duration - last > GAP * usual) gaps.push({ from: last, to: duration });
  const columns: ComparedColumn[] = [];
  const sums: ComparedSum[] = [];
  const notes: string[] = [];
  const outside = time.length - within.length;
  if (outside > 0) notes.push(`${outside} rows lie outside the time of the scenario`);
  notes.push(...log.remarks);
  for (const heading of log.ignored) notes.push(`the column ${heading} names no signal and is not compared`);
  for (const measured of log.columns) {
    const rows = within.filter((row) => !Number.isNaN(measured.values[row]));
    const stretches = rows
      .slice(1)
      .map((row, index) => [rows[index]!, row] as const)
      .filter(([from, to]) => time[to]! - time[from]! <= GAP * usual);
    const [, signal = '', of = ''] = /^(\w+)\((.*)\)$/.exec(measured.name)!;
    if (rows.length < 2) {
      notes.push(`${measured.name} has fewer than two values and is not compared`);
      continue;
    }
    if (signal === 'running' || signal === 'runTime' || signal === 'fuel') {
      const found = machineSums({ signal, of, measured, rows, stretches, time, result });
      if (found.length === 0)
        notes.push(`${measured.name} is of no machine of the scenario that runs, and is not compared`);
      sums.push(...found);
      continue;
    }
    const simulated = series.columns.find(({ name }) => name === measured.name);
    if (!simulated) {
      notes.push(`${measured.name} is no signal of the scenario and is not compared`);
      continue;
    }
    const at = valuesAt(
      series.time,
      simulated.values,
      rows.map((row) => time[row]!),
    );
    const off = rows.map((row, index) => at[index]! - measured.values[row]!);
    columns.push({
      name: measured.name,
      unit: simulated.unit,
      figures: figuresOf(
        off,
        rows.map((row) => time[row]!),
      ),
      measured,
    });
    if (signal === 'power') {
      const energy = cumulated(series.time, simulated.values);
      sums.push({
        what: 'energy',
        of,
        measured: stretches.reduce(
          (sum, [from, to]) => sum + ((measured.values[from]! + measured.values[to]!) / 2) * (time[to]! - time[from]!),
          0,
        ),
        simulated: stretches.reduce((sum, [from, to]) => sum + energy(time[to]!) - energy(time[from]!), 0),
      });
    }
  }
  if (columns.length === 0 && sums.length === 0)
    return { reason: `nothing in it can be compared: ${notes.join('; ')}` };
  return {
    against: {
      columns,
      sums,
      covered:
        last -
        first -
        gaps.reduce((sum, { from, to }) => sum + Math.max(0, Math.min(to, last) - Math.max(from, first)), 0),
      gaps,
      notes,
    },
  };
}

interface MachineRows {
  readonly signal: 'running' | 'runTime' | 'fuel';
  readonly of: string;
  readonly measured: LogColumn;
  readonly rows: readonly number[];
  readonly stretches: readonly (readonly [from: number, to: number])[];
  readonly time: Float64Array;
  readonly result: ScenarioResult;
}

/** Running time, starts and fuel of a machine over the time that is covered. Meters that count up are read over gaps too: they count through them. */
function machineSums({ signal, of, measured, rows, stretches, time, result }: MachineRows): ComparedSum[] {
  const [totals] = result.totals;
  if (!totals?.runTime.has(of)) return [];
  const { values } = measured;
  const runs = stretchesOf(result, 'start').get(of) ?? [];
  const ranWithin = (from: number, to: number): number =>
    runs.reduce((sum, run) => sum + Math.max(0, Math.min(run.to, to) - Math.max(run.from, from)), 0);
  const [begin, end] = [time[rows[0]!]!, time[rows.at(-1)!]!];
  if (signal === 'runTime')
    return [
      { what: 'runTime', of, measured: values[rows.at(-1)!]! - values[rows[0]!]!, simulated: ranWithin(begin, end) },
    ];
  if (signal === 'fuel') {
    const burnt = totals.fuel.get(of);
    const all = totals.runTime.get(of) ?? 0;
    // Fuel is known as a sum of the whole scenario: a log of a part of it is told nothing.
    if (burnt === undefined || (all > 0 && ranWithin(begin, end) < all - 1)) return [];
    return [{ what: 'fuel', of, measured: values[rows.at(-1)!]! - values[rows[0]!]!, simulated: burnt }];
  }
  const isOn = (row: number): boolean => values[row]! >= 0.5;
  return [
    {
      what: 'runTime',
      of,
      // Each row tells of the time up to the next.
      measured: stretches.reduce((sum, [from, to]) => sum + (isOn(from) ? time[to]! - time[from]! : 0), 0),
      simulated: stretches.reduce((sum, [from, to]) => sum + ranWithin(time[from]!, time[to]!), 0),
    },
    {
      what: 'starts',
      of,
      measured: stretches.filter(([from, to]) => !isOn(from) && isOn(to)).length,
      simulated: runs.filter((run) => stretches.some(([from, to]) => run.from > time[from]! && run.from <= time[to]!))
        .length,
    },
  ];
}

function figuresOf(off: readonly number[], times: readonly number[]): ErrorFigures {
  const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
  const worst = off.reduce((so, value, index) => (Math.abs(value) > Math.abs(off[so]!) ? index : so), 0);
  return {
    rows: off.length,
    bias: mean(off),
    meanAbsolute: mean(off.map(Math.abs)),
    rootMeanSquare: Math.sqrt(mean(off.map((value) => value * value))),
    largest: { value: off[worst]!, time: times[worst]! },
  };
}

/** Values of a recorded column at rising times, by straight lines between its rows; where it jumps, the value after the jump. */
function valuesAt(time: Float64Array, values: Float64Array, times: readonly number[]): number[] {
  let row = 0;
  return times.map((moment) => {
    while (row + 1 < time.length && time[row + 1]! <= moment) row += 1;
    const next = Math.min(row + 1, time.length - 1);
    const span = time[next]! - time[row]!;
    const share = span > 0 ? Math.min(1, Math.max(0, (moment - time[row]!) / span)) : 0;
    return values[row]! + share * (values[next]! - values[row]!);
  });
}

/** The integral of a recorded column from its start to a moment, exact for straight lines between its rows. */
function cumulated(time: Float64Array, values: Float64Array): (moment: number) => number {
  const sums = new Float64Array(time.length);
  for (let row = 1; row < time.length; row += 1)
    sums[row] = sums[row - 1]! + ((values[row]! + values[row - 1]!) / 2) * (time[row]! - time[row - 1]!);
  return (moment) => {
    let [low, high] = [0, time.length - 1];
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      if (time[middle]! <= moment) low = middle;
      else high = middle - 1;
    }
    const next = Math.min(low + 1, time.length - 1);
    const span = time[next]! - time[low]!;
    const passed = Math.min(span, Math.max(0, moment - time[low]!));
    const end = span > 0 ? values[low]! + (passed / span) * (values[next]! - values[low]!) : values[low]!;
    return sums[low]! + ((values[low]! + end) / 2) * passed;
  };
}
