import { type ScaleLinear, scaleLinear } from 'd3-scale';
import { area, line, stack } from 'd3-shape';
import { formatNumber } from '../quantity/index.js';
import { type Markup, element } from '../markup/element.js';
import { textWidth } from '../draw/layout/measure.js';
import { thinned } from './thin.js';

/** A mark along the height of a panel: where something starts, stops or cuts off. */
export interface Threshold {
  readonly text: string;
  readonly at: number;
}

export interface PlottedLine {
  readonly name: string;
  readonly time: ArrayLike<number>;
  /** NaN where there is none. */
  readonly values: ArrayLike<number>;
  readonly isMeasured?: true;
}

/** Where most of many lines lie. */
export interface Band {
  readonly name: string;
  readonly time: ArrayLike<number>;
  readonly low: ArrayLike<number>;
  readonly middle: ArrayLike<number>;
  readonly high: ArrayLike<number>;
}

export interface Panel {
  readonly title: string;
  readonly height: number;
  readonly unit: '%' | 'V' | 'A' | 'W';
  readonly lines: readonly PlottedLine[];
  /** Behind the lines. */
  readonly bands?: readonly Band[];
  /** Whether the lines lie on top of each other, as areas; they then share their times. */
  readonly isStacked?: true;
  /** Lowest and highest of the axis, where they are not those of the lines. */
  readonly domain?: readonly [number, number];
  readonly thresholds?: readonly Threshold[];
}

export interface Frame {
  readonly left: number;
  readonly width: number;
  readonly x: (time: number) => number;
  readonly isWithin: (time: number) => boolean;
}

/** Kinds of lines that can be told apart, without colours by their dashes. */
export const LINES = 6;
const LEGEND_ROW = 17;
const LEGEND_WIDTH = 128;

export const label = (
  text: string,
  x: number,
  y: number,
  attributes: Readonly<Record<string, string | number>> = {},
): Markup => element('text', { x, y, ...attributes }, text);

/** One panel with its axis, lines or areas, thresholds and legend. */
export function drawPanel(panel: Panel, top: number, frame: Frame): Markup[] {
  const { left, width } = frame;
  const y = scaleLinear()
    .domain(domainOf(panel))
    .range([top + panel.height, top]);
  if (!panel.domain) y.nice(4);
  const legendAt = left + width + 8;
  const shown = panel.lines.slice(0, LINES);
  const more = panel.lines.length - shown.length;
  return [
    label(panel.title, left, top - 8, { class: 'quiet' }),
    ...y
      .ticks(4)
      .flatMap((tick) => [
        element('path', { class: 'grid', d: `M${left} ${round(y(tick))}H${left + width}` }),
        label(tickText(tick, panel.unit, y.domain()[1]!), left - 8, round(y(tick)) + 4, { class: 'end quiet' }),
      ]),
    ...(panel.bands ?? []).slice(0, LINES).flatMap((each, index) => drawnBand(each, index, y, frame)),
    ...(panel.isStacked ? areas(shown, y, frame) : shown.map((each, index) => drawnLine(each, index, y, frame))),
    ...thresholdMarks(panel, y, frame),
    ...shown.flatMap((each, index) => legendEntry(each, index, legendAt, top + 10 + index * LEGEND_ROW, panel)),
    ...(more > 0 ? [label(`and ${more} more`, legendAt, top + 14 + LINES * LEGEND_ROW, { class: 'quiet' })] : []),
  ];
}

/** Room that a panel needs below its title: its own height, or that of its legend. */
export const heightOf = ({ height, lines }: Panel): number =>
  Math.max(height, Math.min(lines.length, LINES + 1) * LEGEND_ROW + 6);

const round = (value: number): number => Math.round(value * 10) / 10;

function domainOf({ lines, bands = [], isStacked, domain }: Panel): [number, number] {
  if (domain) return [domain[0], domain[1]];
  const all = isStacked
    ? [totalOf(lines)]
    : [...lines.map(({ values }) => values), ...bands.flatMap(({ low, high }) => [low, high])];
  let [low, high] = [isStacked ? 0 : Infinity, isStacked ? 1 : -Infinity];
  for (const values of all)
    for (let row = 0; row < values.length; row += 1) {
      const value = values[row]!;
      if (value < low) low = value;
      if (value > high) high = value;
    }
  if (!(high > low)) return [Math.min(0, low) || 0, Number.isFinite(high) && high > 0 ? high : 1];
  return [low, high];
}

function totalOf(lines: readonly PlottedLine[]): Float64Array {
  const sum = new Float64Array(lines[0]?.values.length ?? 0);
  for (const { values } of lines) for (let row = 0; row < sum.length; row += 1) sum[row]! += values[row]!;
  return sum;
}

function tickText(value: number, unit: Panel['unit'], most: number): string {
  if (unit === '%') return `${formatNumber(value * 100)} %`;
  return unit === 'W' && most >= 1000 ? `${formatNumber(value / 1000)} kW` : `${formatNumber(value)} ${unit}`;
}

type Scale = (value: number) => number;

function drawnLine({ time, values, isMeasured }: PlottedLine, index: number, y: Scale, frame: Frame): Markup {
  const rows = thinned(time, values, frame.x, frame.isWithin);
  const path = line<number>(
    (row) => frame.x(time[row]!),
    (row) => y(values[row]!),
  )
    .defined((row) => !Number.isNaN(values[row]))
    .digits(1);
  return element('path', { class: isMeasured ? 'line measured' : `line l${index}`, d: path(rows) ?? '' });
}

/** The band, and the middle of it as thin dashes. */
function drawnBand({ time, low, middle, high }: Band, index: number, y: Scale, { x }: Frame): Markup[] {
  const rows = Array.from({ length: time.length }, (_, row) => row);
  const shape = area<number>(
    (row) => x(time[row]!),
    (row) => y(low[row]!),
    (row) => y(high[row]!),
  ).digits(1);
  const centre = line<number>(
    (row) => x(time[row]!),
    (row) => y(middle[row]!),
  ).digits(1);
  return [
    element('path', { class: `area a${index}`, d: shape(rows) ?? '' }),
    element('path', { class: 'threshold', d: centre(rows) ?? '' }),
  ];
}

function areas(lines: readonly PlottedLine[], y: Scale, { x, isWithin }: Frame): Markup[] {
  const [first] = lines;
  if (!first) return [];
  const rows = thinned(first.time, totalOf(lines), x, isWithin);
  const layers = stack<unknown, number, number>()
    .keys(lines.keys())
    .value((row, key) => lines[key]!.values[row]!)(rows);
  return layers.flatMap((layer, index) => {
    const at = (row: number): number => x(first.time[rows[row]!]!);
    const shape = area<(typeof layer)[number]>(
      (_, row) => at(row),
      ([low]) => y(low),
      ([, high]) => y(high),
    ).digits(1);
    const edge = line<(typeof layer)[number]>(
      (_, row) => at(row),
      ([, high]) => y(high),
    ).digits(1);
    return [
      element('path', { class: `area a${index}`, d: shape(layer) ?? '' }),
      element('path', { class: `line l${index}`, d: edge(layer) ?? '' }),
    ];
  });
}

/** Room that the words of a threshold need above its line, so that they are not in the title of the panel. */
const WORDS = 12;

/** Thresholds within the axis. Words stand above their line, or below it at the top of the panel; those that would lie over each other side by side. */
function thresholdMarks({ thresholds = [] }: Panel, y: ScaleLinear<number, number>, { left, width }: Frame): Markup[] {
  const [low, high] = y.domain();
  const top = y.range()[1]!;
  const taken: { y: number; right: number }[] = [];
  return thresholds
    .filter(({ at }) => at >= low! && at <= high!)
    .sort((a, b) => b.at - a.at)
    .flatMap(({ text, at }) => {
      const height = round(y(at));
      const base = height - top < WORDS ? height + 10 : height - 2;
      const near = taken.filter((each) => Math.abs(each.y - base) < 11).map(({ right }) => right);
      const start = Math.max(left + 4, ...near.map((right) => right + 8));
      taken.push({ y: base, right: start + textWidth(text, 10) });
      return [
        element('path', { class: 'threshold', d: `M${left} ${height}H${left + width}` }),
        ...(start + textWidth(text, 10) <= left + width
          ? [label(text, round(start), round(base), { class: 'small' })]
          : []),
      ];
    });
}

function legendEntry(
  { name, isMeasured }: PlottedLine,
  index: number,
  x: number,
  y: number,
  { isStacked }: Panel,
): Markup[] {
  const kind = isMeasured ? 'line measured' : `line l${index}`;
  return [
    ...(isStacked ? [element('rect', { class: `area a${index}`, x, y: y - 4, width: 24, height: 9 })] : []),
    element('path', { class: kind, d: `M${x} ${isStacked ? y - 4 : y}h24` }),
    label(shortened(name), x + 30, y + 4),
  ];
}

function shortened(name: string): string {
  let short = name;
  while (textWidth(short, 12) > LEGEND_WIDTH) short = `${short.replace(/…$/, '').slice(0, -1)}…`;
  return short;
}
