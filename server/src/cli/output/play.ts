import {
  type Column,
  type RunTotals,
  type ScenarioResult,
  clockTime,
  columnsOfSignal,
  derive,
  displayValue,
  formatNumber,
  formatSpan,
  numberIn,
  quantileOf,
  sampled,
  stretchesOf,
} from '@wattwright/language';
import stringWidth from 'string-width';
import type { Play } from '../commands/simulate.js';
import { prettyRequirement, wrap } from './pretty.js';
import { safeText } from './safe-text.js';
import type { Terminal } from './terminal.js';

/** Columns of a plot on a terminal of any width, and its rows. */
const WIDEST = 72;
const ROWS = 6;
const LABEL = 8;
const EIGHTHS = ' ▁▂▃▄▅▆▇█';

/** A played scenario for people: what it came to, a small plot, its requirements, and what was assumed. */
export function prettyPlay(
  { design, scenario, played, requirements }: Play,
  isQuiet: boolean,
  terminal: Terminal,
): string {
  const { colors, width } = terminal;
  const name = `${design}.${scenario.name}${scenario.label ? `: ${scenario.label}` : ''}`;
  const lines = [colors.bold(safeText(name))];
  switch (played.kind) {
    case 'missing':
      lines.push(...wrap(`  cannot be played: missing ${safeText(played.missing.join(', '))}`, width));
      break;
    case 'refused':
      lines.push(...wrap(`  cannot be played: ${safeText(played.reason)}`, width));
      break;
    case 'cancelled':
      lines.push('  left off');
      break;
    case 'played':
      lines.push(...resultLines(played.result, terminal));
  }
  if (requirements.length > 0) {
    const options = { terminal, textOf: () => undefined, quiet: isQuiet, questions: false, missingFacts: false };
    lines.push('', colors.bold('Requirements'), ...requirements.flatMap((each) => prettyRequirement(each, options)));
  }
  if (played.kind === 'played' && !isQuiet)
    lines.push(
      '',
      colors.bold('Taken without being stated'),
      ...played.result.assumptions.flatMap((each) =>
        wrap(`- ${safeText(each)}`, width - 2).map((line, at) => (at === 0 ? `  ${line}` : `    ${line}`)),
      ),
    );
  return `${lines.join('\n')}\n`;
}

function resultLines(result: ScenarioResult, terminal: Terminal): string[] {
  const { totals, duration } = result;
  const runs = totals.length > 1 ? `, ${totals.length} runs, seed ${result.scenario.seed}` : '';
  const from = clockTime(result, 0).slice(0, 16).replace('T', ' ');
  return [
    `  ${from}, ${formatSpan(duration)}${runs}`,
    '',
    ...table(summaryRows(result)).map((line) => `  ${line}`),
    '',
    ...plotLines(result, terminal).map((line) => `  ${line}`.trimEnd()),
  ];
}

/** Share of the runs that lies below the lower and above the upper end that is shown. */
const TAIL = 0.05;
/** Fewer runs than this say nothing of their rare ends. */
const RUNS_FOR_TAILS = 20;

/** Several runs for people: the middle one and the span of nine in ten, else the whole span. `at` answers the value at a quantile. */
function spanOf(runs: number, at: (quantile: number) => string): string {
  const tail = runs >= RUNS_FOR_TAILS ? TAIL : 0;
  const [low, high] = [at(tail), at(1 - tail)];
  if (low === high) return low;
  return tail > 0 ? `${at(0.5)} (${low} to ${high} in nine of ten runs)` : `${low} to ${high}`;
}

/** A figure over the runs, in a unit for people. */
function over(totals: readonly RunTotals[], unit: string, value: (totals: RunTotals) => number | undefined): string {
  const values = totals.map((each) => value(each) ?? 0).sort((a, b) => a - b);
  const shown = (each: number): string =>
    unit === 'span'
      ? formatSpan(each)
      : unit === 'L'
        ? `${formatNumber(each, 3)} L`
        : displayValue(derive('sum', each, unit));
  return spanOf(values.length, (quantile) => shown(quantileOf(values, quantile)));
}

/** Name, what, value. */
type Row = readonly [name: string, what: string, value: string];

function summaryRows(result: ScenarioResult): Row[] {
  const { totals } = result;
  const [first] = totals;
  const rows: Row[] = [];
  /** A state of charge in percent. */
  const charge = (measure: Parameters<ScenarioResult['measure']>[0]): string => {
    const shown = (quantile: number): string => {
      const found = result.measure(measure, quantile);
      return found.kind === 'known' ? `${formatNumber(numberIn(found.derivation, '') * 100, 3)} %` : '';
    };
    if (totals.length > 1) return spanOf(totals.length, shown);
    const found = result.measure(measure);
    return found.kind === 'known' && found.derivation.governing
      ? `${shown(0)}, ${found.derivation.governing}`
      : shown(0);
  };
  for (const { of } of columnsOfSignal(result, 'soc')) {
    const signal = { kind: 'of', signal: 'soc', of } as const;
    rows.push(
      [of.name, 'lowest charge', charge({ what: 'min', signal })],
      ['', 'charge at the end', charge({ what: 'last', signal })],
      ['', 'cycles', over(totals, '', ({ cycles }) => cycles.get(of.name))],
    );
  }
  for (const name of first!.runTime.keys()) {
    rows.push(
      [name, 'running time', over(totals, 'span', ({ runTime }) => runTime.get(name))],
      ['', 'starts', over(totals, '', ({ starts }) => starts.get(name))],
      ['', 'fuel', over(totals, 'L', ({ fuel }) => (fuel.get(name) ?? 0) * 1000)],
      ['', 'energy given', over(totals, 'Wh', ({ energy }) => (energy.get(name) ?? 0) / 3600)],
    );
  }
  for (const name of first!.curtailed.keys())
    rows.push(
      [name, 'energy given', over(totals, 'Wh', ({ energy }) => (energy.get(name) ?? 0) / 3600)],
      ['', 'nobody took', over(totals, 'Wh', ({ curtailed }) => (curtailed.get(name) ?? 0) / 3600)],
    );
  const all = (of: ReadonlyMap<string, number>): number =>
    [...of.values()].reduce((sum, value) => sum + value, 0) / 3600;
  rows.push(
    [
      'Loads',
      'got',
      over(
        totals,
        'Wh',
        ({ energy, unserved }) => [...unserved.keys()].reduce((sum, name) => sum + (energy.get(name) ?? 0), 0) / 3600,
      ),
    ],
    ['', 'did not get', over(totals, 'Wh', ({ unserved }) => all(unserved))],
    ['', 'switched off by rules', over(totals, 'Wh', ({ shed }) => all(shed))],
  );
  for (const [name] of first!.unserved)
    if (totals.some(({ unserved }) => (unserved.get(name) ?? 0) > 0))
      rows.push([`  ${name}`, 'did not get', over(totals, 'Wh', ({ unserved }) => (unserved.get(name) ?? 0) / 3600)]);
  return rows;
}

function table(rows: readonly Row[]): string[] {
  const widest = (at: 0 | 1): number => Math.max(...rows.map((row) => stringWidth(safeText(row[at]))));
  const [name, what] = [widest(0), widest(1)];
  const padded = (text: string, width: number): string => text + ' '.repeat(Math.max(0, width - stringWidth(text)));
  return rows.map((row) => `${padded(safeText(row[0]), name)}  ${padded(row[1], what)}  ${row[2]}`.trimEnd());
}

/* ---- plot ---- */

function plotLines(result: ScenarioResult, { colors, width }: Terminal): string[] {
  const columns = Math.min(WIDEST, Math.max(20, width - LABEL - 4));
  const lines: string[] = [];
  for (const column of columnsOfSignal(result, 'soc').slice(0, 4))
    lines.push(
      colors.dim(safeText(`charge of ${column.of.name}${result.totals.length > 1 ? ' in the first run' : ''}`)),
      ...bars(result, column, columns),
      '',
    );
  const strip = (name: string, word: string, stretches: readonly { from: number; to: number }[]): void => {
    const cells = Array.from({ length: columns }, (_, at) => {
      const [from, to] = [(at / columns) * result.duration, ((at + 1) / columns) * result.duration];
      return stretches.some((each) => each.from < to && each.to > from) ? '█' : '·';
    });
    lines.push(`${safeText(name)} ${word}`, `${' '.repeat(LABEL)}${cells.join('')}`);
  };
  for (const [name, stretches] of stretchesOf(result, 'start')) strip(name, 'running', stretches);
  for (const [name, stretches] of stretchesOf(result, 'lost')) strip(name, 'lost', stretches);
  for (const [name, stretches] of stretchesOf(result, 'trip')) strip(name, 'cut off', stretches);
  for (const [name, stretches] of stretchesOf(result, 'shed')) strip(name, 'off by rule', stretches);
  const [from, to] = [0, result.duration].map((at) => clockTime(result, at).slice(0, 16).replace('T', ' ')) as [
    string,
    string,
  ];
  lines.push(
    colors.dim(`${' '.repeat(LABEL)}${from}${' '.repeat(Math.max(1, columns - from.length - to.length))}${to}`),
  );
  return lines;
}

/** State of charge as columns of eighths of a row, each the lowest value of its stretch of time. */
function bars(result: ScenarioResult, column: Column, count: number): string[] {
  const finest = 20;
  const samples = sampled(result.series, column.values, result.duration / (count * finest), result.duration);
  const lowest = Array.from({ length: count }, (_, at) =>
    Math.min(...samples.slice(at * finest, (at + 1) * finest + 1)),
  );
  return Array.from({ length: ROWS }, (_, row) => {
    const bottom = ROWS - 1 - row;
    const label = row === 0 ? '100 %' : row === ROWS - 1 ? '0 %' : row === ROWS / 2 ? '50 %' : '';
    const cells = lowest.map((value) => EIGHTHS[Math.round(Math.min(1, Math.max(0, value * ROWS - bottom)) * 8)]);
    return `${label.padStart(LABEL - 1)} ${cells.join('')}`.trimEnd();
  });
}
