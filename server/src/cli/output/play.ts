import {
  inPeopleUnits,
  type Against,
  type Column,
  type DesignContext,
  type OutcomeResult,
  type PlayedScenario,
  type RequirementResult,
  type ScenarioResult,
  type SummaryRow,
  againstRows,
  clockTime,
  columnsOfSignal,
  formatSpan,
  sampled,
  statedOutcomeText,
  stretchesOf,
  summaryRows,
} from '@wattwright/language';
import { prettyRequirement, wrap } from './pretty.js';
import { safeText } from './safe-text.js';
import type { Terminal } from './terminal.js';
import { textWidth } from './width.js';

/** A played scenario with what its requirements came to. */
export interface Play extends PlayedScenario {
  readonly requirements: readonly RequirementResult[];
  /** What really came of the time it plays, as far as the design states it. */
  readonly outcomes: readonly OutcomeResult[];
  readonly context: DesignContext;
  /** A log of the site held against it. */
  readonly against?: Against;
}

/** Columns of a plot on a terminal of any width, and its rows. */
const WIDEST = 72;
const ROWS = 6;
const LABEL = 8;
const EIGHTHS = ' ▁▂▃▄▅▆▇█';

/** A played scenario for people: what it came to, a small plot, its requirements, and what was assumed. */
export function prettyPlay(
  { design, scenario, played, requirements, outcomes, against }: Play,
  isQuiet: boolean,
  terminal: Terminal,
): string {
  const { colors, width } = terminal;
  const name = `${design}.${scenario.name}${scenario.label ? `: ${scenario.label}` : ''}`;
  const lines = [colors.bold(safeText(name))];
  switch (played.kind) {
    case 'missing':
      lines.push(...wrap(`  cannot be simulated: missing ${safeText(played.missing.join(', '))}`, width));
      break;
    case 'refused':
      lines.push(...wrap(`  cannot be simulated: ${safeText(played.reason)}`, width));
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
  if (outcomes.length > 0)
    lines.push(
      '',
      colors.bold('What was measured, for information'),
      ...outcomes.flatMap((each) => wrap(`  ${safeText(statedOutcomeText(each))}`, width)),
    );
  if (against && played.kind === 'played') lines.push('', ...againstLines(against, played.result, terminal));
  if (played.kind === 'played' && !isQuiet)
    lines.push(
      '',
      colors.bold('Assumed'),
      ...played.result.assumptions.flatMap((each) =>
        wrap(`- ${safeText(inPeopleUnits(each))}`, width - 2).map((line, at) =>
          at === 0 ? `  ${line}` : `    ${line}`,
        ),
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

function table(rows: readonly SummaryRow[]): string[] {
  const widest = (at: 0 | 1): number => Math.max(...rows.map((row) => textWidth(safeText(row[at]))));
  const [name, what] = [widest(0), widest(1)];
  const padded = (text: string, width: number): string => text + ' '.repeat(Math.max(0, width - textWidth(text)));
  return rows.map((row) => `${padded(safeText(row[0]), name)}  ${padded(row[1], what)}  ${row[2]}`.trimEnd());
}

/** A log beside what was simulated: errors of each signal, sums over the time it covers, and what was not compared. */
function againstLines(against: Against, result: ScenarioResult, { colors, width }: Terminal): string[] {
  const { errors, sums, notes } = againstRows(against, result);
  const indented = (rows: readonly (readonly string[])[]): string[] => aligned(rows).map((line) => `  ${line}`);
  return [
    colors.bold('Measured against simulated'),
    ...(errors.length > 1 ? indented(errors) : []),
    ...(sums.length > 1 ? ['', ...indented(sums)] : []),
    '',
    ...notes.flatMap((note) => wrap(`  ${safeText(note)}`, width)),
  ];
}

function aligned(rows: readonly (readonly string[])[]): string[] {
  const widths = (rows[0] ?? []).map((_, at) => Math.max(...rows.map((row) => textWidth(safeText(row[at]!)))));
  return rows.map((row) =>
    row
      .map((cell, at) => safeText(cell) + ' '.repeat(widths[at]! - textWidth(safeText(cell))))
      .join('  ')
      .trimEnd(),
  );
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
  for (const [name, stretches] of stretchesOf(result, 'lost')) strip(name, 'unavailable', stretches);
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
