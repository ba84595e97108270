import { derive, displayValue } from '../derivation/index.js';
import { formatNumber } from '../quantity/index.js';
import { type Against, type ComparedSum, type ScenarioResult, clockTime, formatSpan } from '../simulate/index.js';
import { errorText } from './outcomes.js';

export interface AgainstRows {
  /** Headings first. */
  readonly errors: readonly (readonly string[])[];
  /** Headings first. */
  readonly sums: readonly (readonly string[])[];
  readonly notes: readonly string[];
}

const NAMES: Readonly<Record<ComparedSum['what'], string>> = {
  energy: 'energy',
  runTime: 'running time',
  starts: 'starts',
  fuel: 'fuel',
};

/** A log held against a simulated scenario, in rows for people. */
export function againstRows({ columns, sums, covered, gaps, notes }: Against, result: ScenarioResult): AgainstRows {
  const amount = (value: number, unit: string): string =>
    unit === '1' ? `${formatNumber(value * 100, 3)} %` : displayValue(derive('error', value, unit));
  const at = (time: number): string => clockTime(result, time).slice(0, 16).replace('T', ' ');
  return {
    errors: [
      ['signal', 'rows', 'mean error', 'mean of size', 'root mean square', 'largest', 'at'],
      ...columns.map(({ name, unit, figures }) => [
        name,
        String(figures.rows),
        amount(figures.bias, unit),
        amount(figures.meanAbsolute, unit),
        amount(figures.rootMeanSquare, unit),
        amount(figures.largest.value, unit),
        at(figures.largest.time),
      ]),
    ],
    sums: [
      ['sum over the time covered', 'measured', 'simulated', 'error'],
      ...sums.map(({ what, of, measured, simulated }) => [
        `${NAMES[what]} of ${of}`,
        sumText(what, measured),
        sumText(what, simulated),
        measured === 0 ? '' : errorText((simulated - measured) / Math.abs(measured)),
      ]),
    ],
    notes: [
      'errors are simulated less measured',
      `the log covers ${formatSpan(covered)} of ${formatSpan(result.duration)}${gaps.length > 0 ? `, with gaps that count for nothing: ${gaps.map(({ from, to }) => `${at(from)} to ${at(to)}`).join(', ')}` : ''}`,
      ...notes,
    ],
  };
}

function sumText(what: ComparedSum['what'], value: number): string {
  switch (what) {
    case 'energy':
      return displayValue(derive('energy', value / 3600, 'Wh'));
    case 'runTime':
      return formatSpan(value);
    case 'fuel':
      return `${formatNumber(value * 1000, 3)} L`;
    case 'starts':
      return String(value);
  }
}
