import type { Panel, Threshold } from './panels.js';
import { type PlotOptions, type StripKind, panelsOf, stripsOf } from './scenario-plot.js';
import { thinned } from './thin.js';
import type { ScenarioResult } from '../simulate/index.js';

/** A part of a simulated scenario as numbers to be drawn, thinned so that nothing that can be seen is lost. */
export interface PlotData {
  /** Start on the clock of the site, as if it were in UTC, s since 1970. */
  readonly start: number;
  readonly duration: number;
  readonly panels: readonly PanelData[];
  readonly strips: readonly {
    readonly name: string;
    readonly kind: StripKind;
    readonly stretches: readonly { readonly from: number; readonly to: number }[];
  }[];
}

export interface PanelData {
  readonly title: string;
  readonly unit: Panel['unit'];
  readonly isStacked: boolean;
  readonly domain?: readonly [number, number];
  readonly thresholds: readonly Threshold[];
  readonly names: readonly string[];
  /** s from the start, then a row of values for each name; null where there is none. */
  readonly time: readonly number[];
  readonly values: readonly (readonly (number | null)[])[];
  /** What a logger wrote down, each line with times of its own. */
  readonly measured: readonly {
    readonly name: string;
    readonly time: readonly number[];
    readonly values: readonly (number | null)[];
  }[];
  /** Where most of the runs lie, with the middle one. */
  readonly bands: readonly {
    readonly name: string;
    readonly time: readonly number[];
    readonly low: readonly (number | null)[];
    readonly middle: readonly (number | null)[];
    readonly high: readonly (number | null)[];
  }[];
}

/** What is looked at, s from the start, and how many columns of pixels show it. */
export interface PlotWindow {
  readonly from: number;
  readonly to: number;
  readonly columns: number;
}

/** Digits of a number in a picture. */
const DIGITS = 6;

/** The panels of a plot between two moments, and the stretches of what runs, is lost or shed over the whole. */
export function plotData(result: ScenarioResult, options: PlotOptions, window: PlotWindow): PlotData {
  const { date, timeOfDay } = result.start;
  return {
    start: Date.parse(`${date}T00:00:00Z`) / 1000 + timeOfDay,
    duration: result.duration,
    panels: panelsOf(result, options).map((panel) => panelData(panel, window)),
    strips: stripsOf(result).map(({ name, kind, stretches }) => ({
      name,
      kind,
      stretches: stretches.map(({ from, to }) => ({ from, to })),
    })),
  };
}

const seconds = (at: number): number => Number(at.toFixed(3));
const number = (value: number): number | null => (Number.isNaN(value) ? null : Number(value.toPrecision(DIGITS)));

/** Lines of a panel share their times, so that rows that one of them needs are kept for all; what was measured has times of its own. */
function panelData(
  { title, unit, isStacked, domain, thresholds = [], lines, bands = [] }: Panel,
  window: PlotWindow,
): PanelData {
  const { from, to, columns } = window;
  const time = lines[0]?.time ?? [];
  const x = (at: number): number => ((at - from) / (to - from)) * columns;
  const shared = lines.filter((line) => line.time === time);
  const isWithin = (at: number): boolean => at >= from && at <= to;
  const rows = [...new Set(shared.flatMap(({ values }) => thinned(time, values, x, isWithin)))].sort((a, b) => a - b);
  return {
    title,
    unit,
    isStacked: isStacked ?? false,
    ...(domain ? { domain } : {}),
    thresholds,
    names: shared.map(({ name }) => name),
    time: rows.map((row) => seconds(time[row]!)),
    values: shared.map(({ values }) => rows.map((row) => number(values[row]!))),
    measured: lines
      .filter(({ isMeasured }) => isMeasured)
      .map((line) => {
        const kept = thinned(line.time, line.values, x, isWithin);
        return {
          name: line.name,
          time: kept.map((row) => seconds(line.time[row]!)),
          values: kept.map((row) => number(line.values[row]!)),
        };
      }),
    bands: bands.map(({ name, time: times, low, middle, high }) => {
      const all = Array.from(times, (_, row) => row);
      return {
        name,
        time: all.map((row) => seconds(times[row]!)),
        low: all.map((row) => number(low[row]!)),
        middle: all.map((row) => number(middle[row]!)),
        high: all.map((row) => number(high[row]!)),
      };
    }),
  };
}
