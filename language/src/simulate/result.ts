import { type Derivation, type Result, derive, deriveQuantity, known, refused } from '../derivation/index.js';
import { signalKey } from '../model/conditions.js';
import type { Scenario } from '../model/types.js';
import { formatNumber, quantity, range } from '../quantity/index.js';
import type { Plan } from './plan.js';
import type { Course } from './course.js';
import { type Measured, type RunRecord, measureKey, measured, unknownFuel } from './run-record.js';
import { quantileOf } from './quantile.js';
import type { Runs } from './runs.js';
import { spreading } from './spread.js';
import type { Column, Measure, OverRuns, ScenarioEvent, ScenarioResult, Series } from './types.js';
import type { Signal } from '../model/conditions.js';

/** Marks the answer to a first time that does not come within the time played. */
export const NEVER = 'never';

/** Units in which measures are given, with what one is in coherent SI. */
const UNITS = {
  runTime: ['s', 1],
  starts: ['1', 1],
  fuel: ['L', 1e-3],
  cycles: ['1', 1],
  unserved: ['Wh', 3600],
  curtailed: ['Wh', 3600],
  shed: ['Wh', 3600],
  energy: ['Wh', 3600],
  timeBelow: ['s', 1],
  timeAbove: ['s', 1],
  longestBelow: ['s', 1],
  longestAbove: ['s', 1],
  longestRun: ['s', 1],
  timeSinceFull: ['s', 1],
  fuelLeft: ['L', 1e-3],
  timeToEmpty: ['s', 1],
  firstTime: ['s', 1],
} as const;
const SIGNAL_UNITS = {
  soc: '1',
  voltage: 'V',
  current: 'A',
  power: 'W',
  temperature: 'degC',
  hour: 's',
  runTime: 's',
  mayCharge: '1',
  mayDischarge: '1',
  day: '1',
  duty: '1',
} as const;

const TITLES: Readonly<Record<Measure['what'], (of: string) => string>> = {
  runTime: (of) => `running time of ${of}`,
  starts: (of) => `starts of ${of}`,
  fuel: (of) => `fuel burnt by ${of}`,
  cycles: (of) => `cycles of ${of}`,
  unserved: (of) => `unserved energy of ${of}`,
  curtailed: (of) => `curtailed energy of ${of}`,
  shed: (of) => `energy of ${of} shed by rules`,
  energy: (of) => `energy of ${of}`,
  min: (of) => `lowest ${of}`,
  max: (of) => `highest ${of}`,
  mean: (of) => `mean ${of}`,
  last: (of) => `${of} at the end`,
  timeBelow: (of) => `time with ${of}`,
  timeAbove: (of) => `time with ${of}`,
  longestBelow: (of) => `longest time with ${of}`,
  longestAbove: (of) => `longest time with ${of}`,
  longestRun: (of) => `longest run of ${of}`,
  fuelLeft: (of) => `least fuel left in the tank of ${of}`,
  timeToEmpty: (of) => `time until the tank of ${of} is empty`,
  timeSinceFull: (of) => `longest time for which ${of} was not full`,
  worstWeek: (of) => `${of} in its worst week`,
  firstTime: (of) => `first time with ${of}`,
};

/** What a measure is called: `lowest soc(Bank)`, `running time of Genset`. */
export function measureTitle(measure: Measure): string {
  switch (measure.what) {
    case 'min':
    case 'max':
    case 'mean':
    case 'last':
      return TITLES[measure.what](signalKey(measure.signal));
    case 'timeBelow':
    case 'timeAbove':
    case 'longestBelow':
    case 'longestAbove':
      return TITLES[measure.what](
        `${signalKey(measure.signal)} ${isBelow(measure) ? 'below' : 'above'} ${formatNumber(measure.limit)} ${unitOf(measure.signal)}`.replace(
          / 1$/,
          '',
        ),
      );
    case 'firstTime': {
      const { terms, comparison, limit } = measure.comparison;
      const sum = terms
        .map(({ factor, signal }) => (factor === 1 ? '' : `${formatNumber(factor)}·`) + signalKey(signal))
        .join(' + ');
      return TITLES.firstTime(`${sum} ${comparison} ${formatNumber(limit.value)}`);
    }
    case 'worstWeek':
      return TITLES.worstWeek(measureTitle(measure.sum));
    default:
      return TITLES[measure.what](measure.of?.name ?? allOf(measure.what));
  }
}

const allOf = (what: Measure['what']): string => (what === 'curtailed' ? 'all arrays and turbines' : 'all loads');
const isBelow = ({ what }: Measure): boolean => what === 'timeBelow' || what === 'longestBelow';
const unitOf = (signal: Signal): string => SIGNAL_UNITS[signal.signal];

function unitFor(measure: Measure): readonly [unit: string, si: number] {
  switch (measure.what) {
    case 'min':
    case 'max':
    case 'mean':
    case 'last':
      return [unitOf(measure.signal), 1];
    case 'worstWeek':
      return unitFor(measure.sum);
    default:
      return UNITS[measure.what];
  }
}

/** A stretch of time for people: `2 d 3 h 20 min`. */
export function formatSpan(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  const parts = [
    [Math.floor(minutes / 1440), 'd'],
    [Math.floor(minutes / 60) % 24, 'h'],
    [minutes % 60, 'min'],
  ] as const;
  return (
    parts
      .filter(([count]) => count > 0)
      .map(([count, unit]) => `${count} ${unit}`)
      .join(' ') || '0 min'
  );
}

/** All runs of a scenario, and how the first went over time. */
export interface PlayedRuns {
  readonly runs: Runs;
  readonly records: readonly RunRecord[];
  readonly course: Course;
  readonly events: readonly ScenarioEvent[];
}

/** The result of a scenario over the runs that were played. */
export function scenarioResult({ runs, records, course, events }: PlayedRuns): ScenarioResult {
  const { scenario, plan, positionOf, assumptions } = runs;
  const valueIn = (record: RunRecord, measure: Measure, isFirst: boolean): Measured =>
    record.measured.get(measureKey(measure)) ??
    measured(measure, record, positionOf, isFirst ? course : undefined, plan);
  return {
    scenario,
    start: { date: scenario.start.date!, timeOfDay: plan.timeOfDay },
    duration: plan.duration,
    assumptions,
    series: seriesOf(plan, course, records[0]!),
    events,
    totals: records.map(({ totals }) => totals),
    ...(scenario.runs > 1 ? { spread: spreading(runs) } : {}),
    measure: (measure, over) => {
      const temperature = temperatureOf(measure, plan);
      if (temperature) return known(temperature);
      const sum = measure.what === 'worstWeek' ? measure.sum : measure;
      const unknown = sum.what === 'fuel' ? unknownFuel(plan, sum.of.name) : undefined;
      if (unknown) return unknown;
      const values = records.map((record, at) => valueIn(record, measure, at === 0));
      return measureResult(measure, values, over, scenario, records[0]!);
    },
  };
}

/** Banks keep one temperature while they are played. */
function temperatureOf(measure: Measure, plan: Plan): Derivation | undefined {
  if (!('signal' in measure) || measure.signal.signal !== 'temperature' || measure.signal.kind !== 'of')
    return undefined;
  if (!['min', 'max', 'mean', 'last'].includes(measure.what)) return undefined;
  const { of } = measure.signal;
  const bank = plan.banks.find(({ name }) => name === of.name);
  return bank && derive(measureTitle(measure), bank.temperature, 'degC', { notes: ['held all the time'] });
}

function measureResult(
  measure: Measure,
  values: readonly Measured[],
  over: OverRuns | undefined,
  scenario: Scenario,
  first: RunRecord,
): Result {
  const title = measureTitle(measure);
  const unknown = values.find((each) => 'unknown' in each);
  if (unknown && 'unknown' in unknown) return refused(`${title}: ${unknown.unknown}`);
  const never = values.find((each) => 'never' in each);
  const [unit, si] = unitFor(measure);
  // What never happens in a run comes after all that does in others.
  const found = values.map((each) => ('value' in each ? each : { value: Infinity }));
  const sorted = found.map(({ value }) => value / si).sort((a, b) => a - b);
  const taken = typeof over === 'number' ? quantileOf(sorted, over) : undefined;
  if (never && 'never' in never && !(taken !== undefined && Number.isFinite(taken)))
    return refused(`${title}: ${never.never}${values.length > 1 ? ' in at least one of the runs' : ''}`, NEVER);
  const source = `scenario ${scenario.name}`;
  if (found.length === 1) {
    const { value, time } = found[0]! as { readonly value: number; readonly time?: number };
    return known(
      derive(title, value / si, unit, {
        notes: [source],
        ...(time !== undefined && measure.what !== 'firstTime'
          ? { governing: [{ kind: 'moment', seconds: time }] as const }
          : {}),
        ...balanceInputs(measure, first),
      }),
    );
  }
  const notes = [source, `${found.length} runs, seed ${scenario.seed}`];
  if (taken !== undefined && typeof over === 'number')
    return known(derive(`${formatNumber(over * 100)} % quantile of ${title}`, taken, unit, { notes }));
  if (over === 'mean') return known(derive(`mean over the runs of ${title}`, meanOf(sorted), unit, { notes }));
  const spread = range(quantity(sorted[0]!, unit), quantity(sorted.at(-1)!, unit));
  const { unit: _written, ...plain } = { ...spread, value: quantity(quantileOf(sorted, 0.5), unit).value };
  return known({ ...deriveQuantity(title, plain, { notes: [...notes, 'lowest to highest of all runs'] }), unit });
}

export const meanOf = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

/** The parts of a sum over all things. */
function balanceInputs(measure: Measure, { totals }: RunRecord): { inputs?: readonly Derivation[]; formula?: string } {
  if (measure.what !== 'unserved' && measure.what !== 'curtailed' && measure.what !== 'shed') return {};
  if (measure.of) return {};
  const parts = [...totals[measure.what]].filter(([, value]) => value > 0);
  return parts.length === 0
    ? {}
    : {
        formula: parts.map(([name]) => name).join(' + '),
        inputs: parts.map(([name, value]) => derive(TITLES[measure.what](name), value / 3600, 'Wh', { symbol: name })),
      };
}

const COLUMN_UNITS = { soc: '1', voltage: 'V', current: 'A', power: 'W' } as const;

/** What was recorded of a run, with the things the columns are of. Values are taken out when they are asked for. */
const seriesOf = (plan: Plan, course: Course, { extremes }: RunRecord): Series => ({
  get time() {
    return course.time;
  },
  get bytes() {
    return course.bytes;
  },
  columns: plan.signals.map(({ name, of, signal }, at): Column => ({
    name,
    of,
    signal,
    unit: COLUMN_UNITS[signal],
    extremes: extremes[at]!,
    get values() {
      return course.column(at);
    },
  })),
  completing: () => course.completing(),
});
