import { formatNumber } from '../quantity/index.js';
import { clockTime, columnsOfSignal, midnights, stretchesOf } from './series.js';
import type { Column, ScenarioResult } from './types.js';
import { isInverter, isLoad, sourceOf } from '../model/roles.js';

const WIDTH = 960;
const LEFT = 66;
const RIGHT = 150;
const TOP = 74;
const PANEL = 150;
const GAP = 34;
const STRIP = 18;
const BOTTOM = 40;
const PLOT = WIDTH - LEFT - RIGHT;
const DAY = 86400;
const LINES = 6;
/** Dashes, so that lines can be told apart without colours. */
const DASHES = ['', '7 3', '2 3', '9 3 2 3', '4 2', '1 2'] as const;

/** Text fit for XML 1.0, which takes no control characters. */
const escaped = (text: string): string =>
  [...text]
    .filter((character) => character >= ' ')
    .join('')
    .replace(/[&<>"']/g, (sign) => `&#${sign.charCodeAt(0)};`);

const fixed = (value: number): string => String(Number(value.toFixed(1)));

/** A line through a column, no finer than pixels: of each pixel its first, lowest, highest and last value. */
function linePath(
  time: Float64Array,
  values: Float64Array,
  x: (time: number) => number,
  y: (value: number) => number,
): string {
  const points: string[] = [];
  let pixel = -1;
  let kept: { time: number; value: number }[] = [];
  const flush = (): void => {
    if (kept.length === 0) return;
    const sorted = [...kept].sort((a, b) => a.value - b.value);
    const chosen = new Set([kept[0]!, sorted[0]!, sorted.at(-1)!, kept.at(-1)!]);
    for (const point of kept) if (chosen.has(point)) points.push(`${fixed(x(point.time))} ${fixed(y(point.value))}`);
    kept = [];
  };
  for (let row = 0; row < time.length; row += 1) {
    const at = Math.floor(x(time[row]!));
    if (at !== pixel) flush();
    pixel = at;
    kept.push({ time: time[row]!, value: values[row]! });
  }
  flush();
  return points.length === 0 ? '' : `M${points.join('L')}`;
}

/** A round number at or above a value, for the top of an axis. */
export function roundTop(value: number): number {
  if (!(value > 0)) return 1;
  const power = 10 ** Math.floor(Math.log10(value));
  return [1, 1.5, 2, 3, 4, 5, 6, 8, 10].map((step) => step * power).find((top) => top >= value * (1 - 1e-9))!;
}

interface Panel {
  readonly title: string;
  readonly top: number;
  readonly most: number;
  readonly ticks: readonly number[];
  readonly label: (value: number) => string;
  readonly lines: readonly { readonly name: string; readonly column: Column }[];
}

/**
 * A played scenario as a drawing (SVG): state of charge of the banks, power of sources and loads, and below what runs, is lost or shed.
 * It takes the colours of the reader's light or dark theme, and lines differ by their dashes as well.
 */
export function scenarioPlot(result: ScenarioResult): string {
  const { duration, series, scenario } = result;
  const x = (time: number): number => LEFT + (PLOT * time) / duration;
  const banks = columnsOfSignal(result, 'soc');
  const powers = columnsOfSignal(result, 'power').filter(
    ({ of, values }) => (sourceOf(of) !== undefined || isInverter(of)) && values.some((value) => value > 0),
  );
  const loads = totalOf(columnsOfSignal(result, 'power').filter(({ of }) => isLoad(of)));
  const most = roundTop(Math.max(1, ...powers.map(({ values }) => highest(values)), loads ? highest(loads) : 0));
  const panels: Panel[] = [
    {
      title: 'State of charge',
      top: TOP,
      most: 1,
      ticks: [0, 0.25, 0.5, 0.75, 1],
      label: (value) => `${formatNumber(value * 100)} %`,
      lines: banks.slice(0, LINES).map((column) => ({ name: column.of.name, column })),
    },
    {
      title: 'Power',
      top: TOP + PANEL + GAP,
      most,
      ticks: [0, most / 2, most],
      label: (value) => (most >= 1000 ? `${formatNumber(value / 1000)} kW` : `${formatNumber(value)} W`),
      lines: powers.slice(0, LINES).map((column) => ({ name: column.of.name, column })),
    },
  ];
  const strips = stripsOf(result);
  const foot = TOP + 2 * (PANEL + GAP);
  const height = foot + strips.length * STRIP + BOTTOM;
  const parts: string[] = [];
  const text = (at: number, y: number, content: string, more = ''): string =>
    `<text x="${fixed(at)}" y="${fixed(y)}"${more}>${escaped(content)}</text>`;
  const end = clockTime(result, duration).slice(0, 16).replace('T', ' ');
  parts.push(
    text(LEFT, 24, scenario.label ? `${scenario.name}: ${scenario.label}` : scenario.name, ' class="title"'),
    text(LEFT, 42, `${clockTime(result, 0).slice(0, 16).replace('T', ' ')} to ${end}`, ' class="quiet"'),
  );
  for (const panel of panels)
    parts.push(...drawPanel(panel, series.time, x, panel.title === 'Power' ? loads : undefined, text));
  strips.forEach(({ name, kind, stretches }, at) => {
    const y = foot + at * STRIP;
    parts.push(text(LEFT - 8, y + 11, name, ' class="end"'));
    for (const { from, to } of stretches)
      parts.push(
        `<rect class="${kind}" x="${fixed(x(from))}" y="${fixed(y + 2)}" width="${fixed(Math.max(0.6, x(to) - x(from)))}" height="11"/>`,
      );
    parts.push(text(LEFT + PLOT + 8, y + 11, STRIP_WORDS[kind]));
  });
  parts.push(...timeAxis(result, x, foot + strips.length * STRIP, text));
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${height}" width="${WIDTH}" height="${height}" role="img">
<title>${escaped(`Scenario ${scenario.name} as simulated`)}</title>
<style>${STYLE}</style>
<rect class="paper" width="${WIDTH}" height="${height}"/>
${parts.join('\n')}
</svg>
`;
}

const STYLE = `
svg{--paper:#fdfdfb;--ink:#20303a;--quiet:#5d6b73;--grid:#dfe4e2;--fill:#e6e3d6;--l0:#1b6b8f;--l1:#b0561c;--l2:#55772a;--l3:#84468c;--l4:#a8324e;--l5:#3f6f68;--run:#b0561c;--lost:#a8324e;--shed:#84468c}
@media (prefers-color-scheme:dark){svg{--paper:#182026;--ink:#e4e9eb;--quiet:#a3b0b7;--grid:#34414a;--fill:#39382c;--l0:#6fbfe0;--l1:#f0a068;--l2:#a9ce73;--l3:#d59fdd;--l4:#f28ba2;--l5:#8fcabf;--run:#f0a068;--lost:#f28ba2;--shed:#d59fdd}}
text{font:12px system-ui,sans-serif;fill:var(--ink)}.title{font-size:15px;font-weight:600}.quiet{fill:var(--quiet)}.end{text-anchor:end}.mid{text-anchor:middle}
.paper{fill:var(--paper)}.grid{stroke:var(--grid);stroke-width:1}.load{fill:var(--fill)}.line{fill:none;stroke-width:1.6;stroke-linejoin:round}
.run{fill:var(--run)}.lost{fill:var(--lost)}.shed{fill:var(--shed)}
`.trim();

type Text = (at: number, y: number, content: string, more?: string) => string;

function drawPanel(
  { title, top, most, ticks, label, lines }: Panel,
  time: Float64Array,
  x: (time: number) => number,
  area: Float64Array | undefined,
  text: Text,
): string[] {
  const y = (value: number): number => top + PANEL * (1 - value / most);
  const parts: string[] = [];
  if (area) {
    const path = linePath(time, area, x, y);
    if (path !== '')
      parts.push(`<path class="load" d="${path}L${fixed(LEFT + PLOT)} ${fixed(y(0))}L${LEFT} ${fixed(y(0))}Z"/>`);
    parts.push(text(LEFT + PLOT + 8, top + PANEL - 4, 'loads (area)', ' class="quiet"'));
  }
  for (const tick of ticks) {
    parts.push(`<path class="grid" d="M${LEFT} ${fixed(y(tick))}H${LEFT + PLOT}"/>`);
    parts.push(text(LEFT - 8, y(tick) + 4, label(tick), ' class="end quiet"'));
  }
  parts.push(text(LEFT, top - 8, title, ' class="quiet"'));
  lines.forEach(({ name, column }, at) => {
    const dash = DASHES[at] === '' ? '' : ` stroke-dasharray="${DASHES[at]}"`;
    parts.push(
      `<path class="line" style="stroke:var(--l${at})"${dash} d="${linePath(time, column.values, x, y)}"/>`,
      `<path class="line" style="stroke:var(--l${at})"${dash} d="M${LEFT + PLOT + 8} ${top + 10 + at * 17}h24"/>`,
      text(LEFT + PLOT + 38, top + 14 + at * 17, name),
    );
  });
  return parts;
}

type StripKind = 'run' | 'lost' | 'shed';
const STRIP_WORDS: Readonly<Record<StripKind, string>> = { run: 'running', lost: 'lost', shed: 'off by rule' };

function stripsOf(
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
  ].slice(0, 12);
}

function timeAxis(result: ScenarioResult, x: (time: number) => number, y: number, text: Text): string[] {
  const { duration } = result;
  const days = midnights(result);
  const step = Math.max(1, Math.ceil(days.length / 10));
  if (days.length >= 2)
    return days.flatMap((time, at) =>
      at % step === 0
        ? [
            `<path class="grid" d="M${fixed(x(time))} ${TOP}V${fixed(y + 6)}"/>`,
            text(x(time), y + 20, clockTime(result, time).slice(0, 10), ' class="mid quiet"'),
          ]
        : [],
    );
  // Within a day: six-hour marks of the clock, or the start and the end.
  const times: number[] = [];
  const quarter = DAY / 4;
  for (let time = (quarter - (result.start.timeOfDay % quarter)) % quarter; time <= duration; time += quarter)
    times.push(time);
  const marks = times.length >= 2 ? times : [0, duration];
  return marks.flatMap((time) => [
    `<path class="grid" d="M${fixed(x(time))} ${TOP}V${fixed(y + 6)}"/>`,
    text(x(time), y + 20, clockTime(result, time).slice(11, 16), ' class="mid quiet"'),
  ]);
}

const highest = (values: Float64Array): number => values.reduce((so, value) => Math.max(so, value), 0);

function totalOf(columns: readonly Column[]): Float64Array | undefined {
  const [first] = columns;
  if (!first) return undefined;
  const sum = new Float64Array(first.values.length);
  for (const { values } of columns) for (let row = 0; row < sum.length; row += 1) sum[row]! += values[row]!;
  return sum;
}
