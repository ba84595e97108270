import { scaleLinear } from 'd3-scale';
import { Markup, element, svgFile } from '../markup/element.js';
import { isLoad, sourceOf } from '../model/roles.js';
import {
  type Against,
  type Column,
  type ScenarioResult,
  type Spread,
  type Stretch,
  clockTime,
  columnsOfSignal,
  finished,
  midnights,
  stretchesOf,
} from '../simulate/index.js';
import {
  type Band,
  type Frame,
  type Panel,
  type PlottedLine,
  type Threshold,
  drawPanel,
  heightOf,
  label,
} from './panels.js';
import { STYLE } from './style.js';

const WIDTH = 960;
const LEFT = 66;
const RIGHT = 170;
const TOP = 74;
const GAP = 34;
const STRIP = 18;
const BOTTOM = 36;
const PLOT = WIDTH - LEFT - RIGHT;
const DAY = 86400;
/** Most strips of what runs, is lost or shed. */
const STRIPS = 12;

/** Set points of a bank that act on a signal. */
export interface BankThreshold extends Threshold {
  readonly bank: string;
  readonly signal: 'soc' | 'voltage';
}

export interface PlotOptions {
  readonly thresholds?: readonly BankThreshold[];
  /** A log that lies over what was simulated. */
  readonly measured?: { readonly against: Against; readonly time: Float64Array };
  /** Where the runs of a scenario of several runs lie; its lines are those of the first. */
  readonly spread?: Spread;
}

/**
 * A simulated scenario as a picture (SVG): state of charge and voltage of the banks with their thresholds, what sources give and what loads
 * take, stacked, and below what runs, is lost or shed; where there are several runs the first with the band of all behind it; a log lies over it where there is one. It takes the colours of the reader's light or
 * dark theme, and lines differ by their dashes as well. The same result gives the same bytes.
 */
export function scenarioPlot(result: ScenarioResult, given: PlotOptions = {}): string {
  const { duration, scenario, series } = result;
  const options = { ...(result.spread ? { spread: finished(result.spread()) } : {}), ...given };
  const x = scaleLinear([0, duration], [LEFT, LEFT + PLOT]);
  const frame: Frame = { left: LEFT, width: PLOT, x, isWithin: (time) => time >= 0 && time <= duration };
  const parts: Markup[] = [];
  let top = TOP;
  for (const panel of panelsOf(result, options)) {
    parts.push(...drawPanel(panel, top, frame));
    top += heightOf(panel) + GAP;
  }
  const strips = stripsOf(result);
  strips.forEach(({ name, kind, stretches }, at) => {
    const y = top + at * STRIP;
    parts.push(
      label(name, LEFT - 8, y + 11, { class: 'end' }),
      ...stretches.map(({ from, to }) =>
        element('rect', { class: kind, x: x(from), y: y + 2, width: Math.max(0.6, x(to) - x(from)), height: 11 }),
      ),
      label(STRIP_WORDS[kind], LEFT + PLOT + 8, y + 11),
    );
  });
  const foot = top + strips.length * STRIP;
  const height = foot + BOTTOM;
  const end = minute(result, duration);
  return svgFile(
    element(
      'svg',
      {
        xmlns: 'http://www.w3.org/2000/svg',
        viewBox: `0 0 ${WIDTH} ${height}`,
        width: WIDTH,
        height,
        role: 'img',
      },
      element('title', {}, `Scenario ${scenario.name}, simulated`),
      element('desc', {}, described(series.columns)),
      Markup.style(STYLE),
      element('rect', { class: 'paper', width: WIDTH, height }),
      label(scenario.label ? `${scenario.name}: ${scenario.label}` : scenario.name, LEFT, 24, { class: 'title' }),
      label(`${minute(result, 0)} to ${end}${options.measured ? '; dotted: measured' : ''}${told(options)}`, LEFT, 42, {
        class: 'quiet',
      }),
      ...timeAxis(result, x, foot),
      ...parts,
    ),
  );
}

/** What the band and the lines are of. */
const told = ({ spread }: PlotOptions): string =>
  spread ? `; lines: the first of ${spread.runs} runs; band: 5 to 95 % of them, with the middle one` : '';

const minute = (result: ScenarioResult, at: number): string => clockTime(result, at).slice(0, 16).replace('T', ' ');

/** What is plotted of a scenario, one axis each. */
export function panelsOf(result: ScenarioResult, { thresholds = [], measured, spread }: PlotOptions): Panel[] {
  const { time } = result.series;
  const lineOf = ({ of, values }: Column): PlottedLine => ({ name: of.name, time, values });
  const firstOf = (column: Column): PlottedLine =>
    spread ? { ...lineOf(column), name: `${column.of.name}, first run` } : lineOf(column);
  const measuredOf = (name: string): PlottedLine[] =>
    (measured?.against.columns ?? [])
      .filter((column) => column.name === name)
      .map((column) => ({
        name: `${/\((.*)\)/.exec(name)![1]!}, measured`,
        isMeasured: true,
        ...withGaps(measured!.time, column.measured.values, measured!.against.gaps),
      }));
  const bandsOf = (signal: 'soc' | 'voltage'): Band[] =>
    (spread?.columns ?? [])
      .filter((column) => column.signal === signal)
      .map(({ of, low, middle, high }) => ({
        name: `${of.name}, ${spread!.runs} runs`,
        time: spread!.time,
        low,
        middle,
        high,
      }));
  const isSeen = ({ values }: Column): boolean => values.some((value) => value > 0);
  const ofBanks = (signal: 'soc' | 'voltage', title: string, unit: Panel['unit'], height: number): Panel[] => {
    const columns = columnsOfSignal(result, signal);
    if (columns.length === 0) return [];
    return [
      {
        title,
        unit,
        height,
        lines: columns.flatMap((column) => [firstOf(column), ...measuredOf(column.name)]),
        ...(spread ? { bands: bandsOf(signal) } : {}),
        // With several banks on one axis the marks of each would be lost among the others.
        thresholds:
          columns.length === 1
            ? thresholds.filter((each) => each.signal === signal && each.bank === columns[0]!.of.name)
            : [],
        ...(signal === 'soc' ? { domain: [0, 1] as const } : {}),
      },
    ];
  };
  const powers = columnsOfSignal(result, 'power').filter(isSeen);
  const stacked = (title: string, columns: readonly Column[]): Panel[] =>
    columns.length === 0 ? [] : [{ title, unit: 'W', height: 110, isStacked: true, lines: columns.map(lineOf) }];
  const beside = (measured?.against.columns ?? [])
    .filter(({ unit }) => unit === 'W' || unit === 'A')
    .flatMap(({ name, unit }): Panel[] => {
      const own = result.series.columns.find((column) => column.name === name);
      return own
        ? [{ title: name, unit: unit as 'W' | 'A', height: 90, lines: [lineOf(own), ...measuredOf(name)] }]
        : [];
    });
  return [
    ...ofBanks('soc', 'State of charge', '%', 150),
    ...ofBanks('voltage', 'Voltage of banks', 'V', 110),
    ...stacked(
      'Power from sources',
      powers.filter(({ of }) => sourceOf(of) !== undefined),
    ),
    ...stacked(
      'Power to loads',
      powers.filter(({ of }) => isLoad(of)),
    ),
    ...beside,
  ];
}

/** Measured rows with a row without value in each gap, so that no line leads over it. */
function withGaps(
  time: Float64Array,
  values: Float64Array,
  gaps: readonly Stretch[],
): { readonly time: readonly number[]; readonly values: readonly number[] } {
  const rows = [...time].map((at, row) => ({ at, value: values[row]! }));
  const holes = gaps.map(({ from, to }) => ({ at: (from + to) / 2, value: Number.NaN }));
  const all = [...rows, ...holes].sort((a, b) => a.at - b.at);
  return { time: all.map(({ at }) => at), values: all.map(({ value }) => value) };
}

const SIGNAL_WORDS: Readonly<Record<Column['signal'], string>> = {
  soc: 'state of charge',
  voltage: 'voltage',
  current: 'current',
  power: 'power',
};

/** What lines show, for who cannot see them. */
const described = (columns: readonly Column[]): string =>
  columns
    .map(({ signal, of, unit, values }) => {
      const [low, high] = values.reduce(([a, b], value) => [Math.min(a, value), Math.max(b, value)], [
        Infinity,
        -Infinity,
      ] as [number, number]);
      const isShare = unit === '1';
      const shown = (value: number): string =>
        `${Number((isShare ? value * 100 : value).toPrecision(3))} ${isShare ? '%' : unit}`;
      return `${SIGNAL_WORDS[signal]} of ${of.name} from ${shown(low)} to ${shown(high)}`;
    })
    .join('; ');

export type StripKind = 'run' | 'lost' | 'shed';
const STRIP_WORDS: Readonly<Record<StripKind, string>> = { run: 'running', lost: 'unavailable', shed: 'off by rule' };

/** What runs, is lost or shed, and when. */
export function stripsOf(
  result: ScenarioResult,
): { name: string; kind: StripKind; stretches: readonly { from: number; to: number }[] }[] {
  const of = (begin: 'start' | 'lost' | 'trip' | 'open' | 'shed', kind: StripKind) =>
    [...stretchesOf(result, begin)].map(([name, stretches]) => ({ name, kind, stretches }));
  return [
    ...of('start', 'run'),
    ...of('lost', 'lost'),
    ...of('trip', 'lost'),
    ...of('open', 'lost'),
    ...of('shed', 'shed'),
  ].slice(0, STRIPS);
}

function timeAxis(result: ScenarioResult, x: (time: number) => number, y: number): Markup[] {
  const { duration } = result;
  const days = midnights(result);
  const step = Math.max(1, Math.ceil(days.length / 9));
  const mark = (time: number, text: string): Markup[] => [
    element('path', { class: 'grid', d: `M${Math.round(x(time) * 10) / 10} ${TOP}V${y + 6}` }),
    label(text, x(time), y + 20, { class: 'mid quiet' }),
  ];
  if (days.length >= 2)
    return days.flatMap((time, at) => (at % step === 0 ? mark(time, clockTime(result, time).slice(0, 10)) : []));
  // Within a day: six-hour marks of the clock, or the start and the end.
  const times: number[] = [];
  const quarter = DAY / 4;
  for (let time = (quarter - (result.start.timeOfDay % quarter)) % quarter; time <= duration; time += quarter)
    times.push(time);
  return (times.length >= 2 ? times : [0, duration]).flatMap((time) =>
    mark(time, clockTime(result, time).slice(11, 16)),
  );
}
