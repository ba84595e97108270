import { governedBy } from '../glossary/reason-text.js';
import { derive, displayValue, numberIn } from '../derivation/index.js';
import { formatNumber } from '../quantity/index.js';
import {
  type OverRuns,
  type RunTotals,
  type ScenarioResult,
  columnsOfSignal,
  formatSpan,
  meanOf,
  quantileOf,
} from '../simulate/index.js';

/** Share of the runs that lies below the lower and above the upper end that is shown. */
const TAIL = 0.05;
/** Fewer runs than this say nothing of their rare ends. */
const RUNS_FOR_TAILS = 20;

/** Shortest play, in s, of which the worst week is told. */
const LONG = 14 * 86400;

/** Several runs for people: the middle one, the span of nine in ten and the mean, else the whole span. `at` answers the value at a quantile, or the mean. */
function spanOf(runs: number, at: (over: OverRuns) => string): string {
  const tail = runs >= RUNS_FOR_TAILS ? TAIL : 0;
  const [low, high] = [at(tail), at(1 - tail)];
  if (low === high) return low;
  return tail > 0 ? `${at(0.5)} (${low} to ${high} in nine of ten runs, mean ${at('mean')})` : `${low} to ${high}`;
}

/** A figure over the runs, in a unit for people. */
function over(totals: readonly RunTotals[], unit: string, value: (totals: RunTotals) => number | undefined): string {
  const values = totals.map((each) => value(each) ?? 0).sort((a, b) => a - b);
  const shown = (each: number): string =>
    unit === 'span'
      ? formatSpan(each)
      : unit === 'L'
        ? `${formatNumber(each, 3)} L`
        : displayValue(derive('sum', each, unit), 3);
  return spanOf(values.length, (over) => shown(over === 'mean' ? meanOf(values) : quantileOf(values, over)));
}

/** When the tank of a set is first empty over the runs. */
function emptiedText(totals: readonly RunTotals[], name: string): string {
  const times = totals.map(({ timeToEmpty }) => timeToEmpty.get(name) ?? Infinity);
  const found = times.filter((time) => time < Infinity);
  if (found.length === 0) return 'never';
  const first = `after ${formatSpan(Math.min(...found))}`;
  return totals.length === 1 ? first : `${first} at the earliest, in ${found.length} of ${totals.length} runs`;
}

/** A line of a summary: whose figure it is (empty: the name above it), what it is, and its value as people read it. */
export type SummaryRow = readonly [name: string, what: string, value: string];

/** What a played scenario came to, line by line: banks, sets, other supplies, loads. Several runs show their middle and their span. */
export function summaryRows(result: ScenarioResult): SummaryRow[] {
  const { totals } = result;
  const [first] = totals;
  const rows: SummaryRow[] = [];
  const isLong = result.duration >= LONG;
  const inWorstWeek = (unit: string, value: (week: RunTotals['worstWeek']) => number): SummaryRow[] =>
    isLong ? [['', 'in the worst week', over(totals, unit, ({ worstWeek }) => value(worstWeek))]] : [];
  /** A state of charge in percent. */
  const charge = (measure: Parameters<ScenarioResult['measure']>[0]): string => {
    const shown = (over: OverRuns): string => {
      const found = result.measure(measure, over);
      return found.kind === 'known' ? `${formatNumber(numberIn(found.derivation, '') * 100, 3)} %` : '';
    };
    if (totals.length > 1) return spanOf(totals.length, shown);
    const found = result.measure(measure);
    return found.kind === 'known' ? `${shown(0)}${governedBy(found.derivation)}` : shown(0);
  };
  for (const { of } of columnsOfSignal(result, 'soc')) {
    const signal = { kind: 'of', signal: 'soc', of } as const;
    rows.push(
      [of.name, 'lowest charge', charge({ what: 'min', signal })],
      ['', 'charge at the end', charge({ what: 'last', signal })],
      ['', 'cycles', over(totals, '', ({ cycles }) => cycles.get(of.name))],
      ...(isLong
        ? [
            [
              '',
              'longest without a full charge',
              over(totals, 'span', (each) => each.timeSinceFull.get(of.name)),
            ] as const,
          ]
        : []),
    );
  }
  for (const name of first!.runTime.keys()) {
    rows.push(
      [name, 'running time', over(totals, 'span', ({ runTime }) => runTime.get(name))],
      ...inWorstWeek('span', ({ runTime }) => runTime.get(name) ?? 0),
      ['', 'longest run', over(totals, 'span', ({ longestRun }) => longestRun.get(name))],
      ['', 'starts', over(totals, '', ({ starts }) => starts.get(name))],
      ['', 'fuel', first!.fuel.has(name) ? over(totals, 'L', ({ fuel }) => (fuel.get(name) ?? 0) * 1000) : 'not known'],
      ...(first!.fuelLeft.has(name)
        ? ([
            ['', 'lowest tank level', over(totals, 'L', ({ fuelLeft }) => (fuelLeft.get(name) ?? 0) * 1000)],
            ['', 'tank first empty', emptiedText(totals, name)],
          ] as const)
        : []),
      ['', 'energy delivered', over(totals, 'Wh', ({ energy }) => (energy.get(name) ?? 0) / 3600)],
    );
  }
  for (const name of first!.curtailed.keys())
    rows.push(
      [name, 'energy delivered', over(totals, 'Wh', ({ energy }) => (energy.get(name) ?? 0) / 3600)],
      ...inWorstWeek('Wh', ({ energy }) => (energy.get(name) ?? 0) / 3600),
      ['', 'curtailed', over(totals, 'Wh', ({ curtailed }) => (curtailed.get(name) ?? 0) / 3600)],
    );
  const all = (of: ReadonlyMap<string, number>): number =>
    [...of.values()].reduce((sum, value) => sum + value, 0) / 3600;
  rows.push(
    [
      'Loads',
      'served',
      over(
        totals,
        'Wh',
        ({ energy, unserved }) => [...unserved.keys()].reduce((sum, name) => sum + (energy.get(name) ?? 0), 0) / 3600,
      ),
    ],
    ['', 'unserved', over(totals, 'Wh', ({ unserved }) => all(unserved))],
    ...inWorstWeek('Wh', ({ unserved }) => unserved / 3600),
    ['', 'shed by rules', over(totals, 'Wh', ({ shed }) => all(shed))],
  );
  for (const [name] of first!.unserved)
    if (totals.some(({ unserved }) => (unserved.get(name) ?? 0) > 0))
      rows.push([`  ${name}`, 'unserved', over(totals, 'Wh', ({ unserved }) => (unserved.get(name) ?? 0) / 3600)]);
  return rows;
}
