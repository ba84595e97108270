/*
 * The page that shows simulated scenarios over time: panels on one axis of time, zoomed by wheel and by drag, read at the cursor, two over
 * each other where wanted.
 */
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import { byId, fill, host } from './host.js';

interface Panel {
  readonly title: string;
  readonly unit: '%' | 'V' | 'A' | 'W';
  readonly isStacked: boolean;
  readonly domain?: readonly [number, number];
  readonly thresholds: readonly { readonly text: string; readonly at: number }[];
  readonly names: readonly string[];
  readonly time: readonly number[];
  readonly values: readonly (readonly (number | null)[])[];
  readonly measured: readonly {
    readonly name: string;
    readonly time: readonly number[];
    readonly values: readonly (number | null)[];
  }[];
  readonly bands: readonly {
    readonly name: string;
    readonly time: readonly number[];
    readonly low: readonly (number | null)[];
    readonly middle: readonly (number | null)[];
    readonly high: readonly (number | null)[];
  }[];
}

interface Plot {
  readonly name: string;
  readonly start: number;
  readonly duration: number;
  readonly panels: readonly Panel[];
  readonly strips: readonly {
    readonly name: string;
    readonly kind: string;
    readonly stretches: readonly { readonly from: number; readonly to: number }[];
  }[];
}

type ToPage =
  | {
      readonly type: 'plots';
      readonly scenarios: readonly { readonly name: string; readonly unplayed?: string }[];
      readonly plots: readonly Plot[];
      /** The second of two scenarios that were chosen; what else lies over the first has no place in the lists. */
      readonly second?: string;
      readonly remarks: readonly string[];
      /** What lies over the first besides, to be said on its button. */
      readonly log?: string;
      readonly earlier?: string;
    }
  | { readonly type: 'problem'; readonly text: string };

const HEIGHT = 170;
/** Quiet time after a zoom before finer values are asked for, ms. */
const QUIET = 150;
/** Colours of the editor with second values, and dashes that tell lines apart without them. */
const INKS = [
  ['--vscode-charts-blue', '#1a6fb3'],
  ['--vscode-charts-orange', '#b3560a'],
  ['--vscode-charts-green', '#2e7d32'],
  ['--vscode-charts-purple', '#7b3fa0'],
  ['--vscode-charts-red', '#b3261e'],
  ['--vscode-charts-yellow', '#8a6d00'],
] as const;
const DASHES = [[], [8, 3], [2, 3], [10, 3, 2, 3], [5, 2], [1, 2]] as const;

const editor = host<never>();
const plots = byId('plots');
const said = byId('said');
const values = byId('values');
const first = byId<HTMLSelectElement>('first');
const second = byId<HTMLSelectElement>('second');
const log = byId('log');
const earlier = byId('earlier');

let shown: readonly Plot[] = [];
let charts: uPlot[] = [];
let range: { from: number; to: number } = { from: 0, to: 1 };
let isSetting = false;
let timer: ReturnType<typeof setTimeout> | undefined;

const style = (name: string, otherwise: string): string =>
  getComputedStyle(document.documentElement).getPropertyValue(name).trim() || otherwise;
const ink = (index: number): string => {
  const [name, otherwise] = INKS[index % INKS.length]!;
  return style(name, otherwise);
};
const foreground = (): string => style('--vscode-editor-foreground', '#222');
const grid = (): string => style('--vscode-editorIndentGuide-background1', '#8884');

const numberText = (value: number, digits = 3): string => String(Number(value.toPrecision(digits)));

function valueText(value: number | null | undefined, unit: Panel['unit']): string {
  if (value === null || value === undefined) return '';
  if (unit === '%') return `${numberText(100 * value)} %`;
  return unit === 'W' && Math.abs(value) >= 1000 ? `${numberText(value / 1000)} kW` : `${numberText(value)} ${unit}`;
}

const clock = (seconds: number): string => new Date(seconds * 1000).toISOString().slice(0, 16).replace('T', ' ');

/** A day at its beginning, else the time of day. */
function tickText(seconds: number): string {
  const moment = new Date(seconds * 1000).toISOString();
  return moment.slice(11, 19) === '00:00:00' ? moment.slice(5, 10) : moment.slice(11, 16);
}

/** Sums from the first line up, so that each line lies on those before it. */
function stacked(rows: readonly (readonly (number | null)[])[]): (number | null)[][] {
  const sums: (number | null)[][] = [];
  for (const row of rows) {
    const below = sums.at(-1);
    sums.push(row.map((value, at) => (value ?? 0) + (below?.[at] ?? 0)));
  }
  return sums;
}

/** How a line is drawn: one of the scenario, of another over it, what was measured, and edges and middle of a band. */
type Style = 'own' | 'over' | 'measured' | 'low' | 'middle' | 'high';

interface Line {
  readonly label: string;
  readonly style: Style;
  /** Lines of one thing have one ink. */
  readonly ink: number;
}

interface Lines {
  readonly data: uPlot.AlignedData;
  readonly lines: readonly Line[];
  /** The values as they are, where lines lie on top of each other. */
  readonly own: readonly (readonly (number | null)[])[];
  readonly isStacked: boolean;
}

/** The lines of a panel, with those of the same panel of other scenarios, of a log and of all runs, on one axis of time. */
function linesOf(
  panel: Panel,
  start: number,
  overs: readonly { readonly name: string; readonly panel: Panel }[],
): Lines {
  const own = panel.values;
  const isAlone = overs.length === 0 && panel.measured.length === 0 && panel.bands.length === 0;
  const isStacked = panel.isStacked && isAlone;
  const table = (time: readonly number[], rows: readonly (readonly (number | null)[])[]): uPlot.AlignedData =>
    [time.map((at) => at + start), ...rows] as unknown as uPlot.AlignedData;
  const lines = panel.names.map((label, ink): Line => ({ label, style: 'own', ink }));
  const first = table(panel.time, isStacked ? stacked(own) : own);
  if (isAlone) return { data: first, lines, own, isStacked };
  const tables = [first];
  for (const { name, time, low, middle, high } of panel.bands) {
    const ink = panel.bands.findIndex((band) => band.name === name);
    tables.push(table(time, [low, middle, high]));
    lines.push({ label: '', style: 'low', ink }, { label: `${name}: middle`, style: 'middle', ink });
    lines.push({ label: `${name}: 5 to 95 %`, style: 'high', ink });
  }
  for (const { name, panel: other } of overs) {
    tables.push(table(other.time, other.values));
    lines.push(...other.names.map((label, ink): Line => ({ label: `${label} (${name})`, style: 'over', ink })));
  }
  for (const { name, time, values: rows } of panel.measured) {
    tables.push(table(time, [rows]));
    lines.push({ label: name, style: 'measured', ink: 0 });
  }
  return { data: uPlot.join(tables), lines, own, isStacked };
}

/** How the legend shows a line; a band is a box of its shade. */
const MARKERS: Readonly<Record<Style, string>> = {
  own: 'solid',
  over: 'dashed',
  measured: 'dotted',
  low: 'none',
  middle: 'dashed',
  high: 'solid',
};

/** Widths, dashes, and whether a line leads over rows without a value; what was measured has gaps. */
const DRAWN: Readonly<Record<Style, (ink: number) => Pick<uPlot.Series, 'width' | 'dash' | 'spanGaps'>>> = {
  own: (index) => ({ width: 1.6, dash: [...DASHES[index % DASHES.length]!] }),
  over: () => ({ width: 1.2, dash: [3, 3], spanGaps: true }),
  measured: () => ({ width: 2.2, dash: [1, 4] }),
  low: () => ({ width: 0, spanGaps: true }),
  middle: () => ({ width: 1, dash: [6, 4], spanGaps: true }),
  high: () => ({ width: 0, spanGaps: true }),
};

function drawThresholds(chart: uPlot, { thresholds }: Panel): void {
  const { ctx, bbox } = chart;
  ctx.save();
  ctx.strokeStyle = foreground();
  ctx.fillStyle = foreground();
  ctx.textAlign = 'left';
  ctx.textBaseline = 'alphabetic';
  ctx.setLineDash([4, 4]);
  ctx.lineWidth = 1;
  ctx.font = `${10 * devicePixelRatio}px sans-serif`;
  let left = bbox.left + 4;
  let last = Number.NaN;
  for (const { text, at } of [...thresholds].sort((a, b) => b.at - a.at)) {
    const y = chart.valToPos(at, 'y', true);
    if (y < bbox.top || y > bbox.top + bbox.height) continue;
    // Words of neighbours stand side by side.
    left = Math.abs(y - last) < 12 * devicePixelRatio ? left : bbox.left + 4;
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
    ctx.fillText(text, left, y - 3 * devicePixelRatio);
    left += ctx.measureText(text).width + 10 * devicePixelRatio;
    last = y;
  }
  ctx.restore();
}

function chartOf(panel: Panel, { data, lines, own, isStacked }: Lines, height: number): uPlot {
  const rowOf = (index: number, row: number): number | null | undefined =>
    isStacked ? own[index]?.[row] : data[index + 1]?.[row];
  const text = (index: number, row: number): string => valueText(rowOf(index, row), panel.unit);
  const isJoined = lines.some(({ style }) => style !== 'own');
  const shaded = (line: number): string => `color-mix(in srgb, ${ink(line)} 25%, transparent)`;
  const stackedBands = isStacked
    ? lines.slice(1).map((_, index): uPlot.Band => ({ series: [index + 2, index + 1], fill: () => shaded(index + 1) }))
    : [];
  const spreadBands = lines.flatMap(({ style, ink: line }, index): uPlot.Band[] =>
    style === 'high' ? [{ series: [index + 1, index - 1], fill: () => shaded(line) }] : [],
  );
  const bands = [...stackedBands, ...spreadBands];
  const chart = new uPlot(
    {
      width: plots.clientWidth,
      height,
      title: panel.title,
      cursor: { sync: { key: 'time' }, drag: { x: true, y: false, uni: 20 }, focus: { prox: 30 } },
      legend: {
        live: true,
        markers: {
          width: (_, series) => (lines[series - 1]?.style === 'high' ? 1 : 2),
          dash: (_, series) => MARKERS[lines[series - 1]?.style ?? 'own'],
          fill: (_, series) => (lines[series - 1]?.style === 'high' ? shaded(lines[series - 1]!.ink) : ''),
        },
      },
      scales: {
        x: { time: true },
        ...(panel.domain ? { y: { range: [...panel.domain] as [number, number] } } : {}),
      },
      series: [
        { label: '', value: (_, at) => (at === null ? '' : clock(at)) },
        ...lines.map(({ label, style, ink: line }, index): uPlot.Series => ({
          label,
          ...(style === 'low' ? { class: 'edge' } : {}),
          ...(style === 'high' ? { class: 'band' } : {}),
          stroke: style === 'measured' ? foreground : () => ink(line),
          points: { show: false },
          ...DRAWN[style](line),
          ...(style === 'own' && isJoined ? { spanGaps: true } : {}),
          value: (_, __, ___, row) => {
            if (row === null) return '';
            return style === 'high' ? `${text(index - 2, row)} to ${text(index, row)}` : text(index, row);
          },
        })),
      ],
      ...(bands.length > 0 ? { bands } : {}),
      axes: [
        { stroke: foreground, grid: { stroke: grid, width: 1 }, values: (_, ticks) => ticks.map(tickText) },
        {
          stroke: foreground,
          size: 64,
          grid: { stroke: grid, width: 1 },
          values: (_, ticks) => ticks.map((tick) => valueText(tick, panel.unit)),
        },
      ],
      tzDate: (at) => uPlot.tzDate(new Date(at * 1000), 'Etc/UTC'),
      hooks: {
        draw: [(drawn) => drawThresholds(drawn, panel)],
        setCursor: [tell],
        setScale: [(changed, scale) => void (scale === 'x' && looked(changed))],
      },
    },
    data,
    plots,
  );
  chart.over.addEventListener('wheel', (event) => wheel(event, chart), { passive: false });
  return chart;
}

/** Says the values at the cursor, of all panels. */
function tell(chart: uPlot): void {
  const at = chart.cursor.idx;
  if (at === null || at === undefined) return;
  const time = chart.data[0][at];
  if (time === undefined) return;
  const texts = charts.flatMap((each, panel) => {
    const row = each.valToIdx(time);
    return each.series.slice(1).flatMap(({ label }, line) => {
      if (label === '') return [];
      const unit = shown[0]!.panels[panel]!.unit;
      const isOwn = shown.length === 1 && shown[0]!.panels[panel]!.isStacked;
      const value = isOwn ? shown[0]!.panels[panel]!.values[line]?.[row] : each.data[line + 1]?.[row];
      const text = valueText(value, unit);
      return text === '' ? [] : [`${typeof label === 'string' ? label : ''} ${text}`];
    });
  });
  values.textContent = `${clock(time)}: ${texts.join(', ')}`;
}

function wheel(event: WheelEvent, chart: uPlot): void {
  event.preventDefault();
  const { min, max } = chart.scales['x']!;
  if (min === undefined || max === undefined || min === null || max === null) return;
  const at = chart.posToVal(event.offsetX, 'x');
  const factor = Math.exp(event.deltaY / 500);
  lookAt(at - (at - min) * factor, at + (max - at) * factor);
}

/** Looks at a part of the time, in every panel. */
function lookAt(from: number, to: number): void {
  const { start = 0, duration = 1 } = shown[0] ?? {};
  range = { from: Math.max(start, from), to: Math.min(start + duration, to) };
  isSetting = true;
  for (const chart of charts) chart.setScale('x', { min: range.from, max: range.to });
  isSetting = false;
  drawStrips();
  clearTimeout(timer);
  timer = setTimeout(() => {
    editor.postMessage({ type: 'look', from: range.from - start, to: range.to - start, columns: plots.clientWidth });
  }, QUIET);
}

/** A drag in one panel is taken over by all. */
function looked(chart: uPlot): void {
  const { min, max } = chart.scales['x']!;
  if (isSetting || typeof min !== 'number' || typeof max !== 'number') return;
  if (min === range.from && max === range.to) return;
  queueMicrotask(() => lookAt(min, max));
}

/** What runs, is lost or shed, below the panels on the same axis of time. */
function drawStrips(): void {
  for (const old of plots.querySelectorAll('.strip')) old.remove();
  const [plot] = shown;
  if (!plot) return;
  for (const { name, kind, stretches } of plot.strips) {
    const row = document.createElement('div');
    row.className = 'strip';
    const label = document.createElement('span');
    label.textContent = name;
    const bar = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    bar.setAttribute('viewBox', `0 0 1000 10`);
    bar.setAttribute('preserveAspectRatio', 'none');
    const x = (at: number): number => (1000 * (at + plot.start - range.from)) / (range.to - range.from);
    for (const { from, to } of stretches) {
      const box = document.createElementNS('http://www.w3.org/2000/svg', 'rect');
      const [left, right] = [Math.max(0, x(from)), Math.min(1000, x(to))];
      if (right <= left) continue;
      box.setAttribute('class', kind);
      box.setAttribute('x', String(left));
      box.setAttribute('width', String(Math.max(1, right - left)));
      box.setAttribute('height', '10');
      bar.append(box);
    }
    row.append(label, bar);
    plots.append(row);
  }
}

function show(next: readonly Plot[]): void {
  const [plot, ...overs] = next;
  const before = shown[0];
  shown = next;
  for (const chart of charts) chart.destroy();
  charts = [];
  plots.replaceChildren();
  if (!plot) return;
  const isSame = before?.name === plot.name && before.duration === plot.duration && before.start === plot.start;
  if (!isSame) range = { from: plot.start, to: plot.start + plot.duration };
  isSetting = true;
  charts = plot.panels.map((panel) => {
    const others = overs.flatMap(({ name, panels }) => {
      const same = panels.find(({ title }) => title === panel.title);
      return same ? [{ name, panel: same }] : [];
    });
    return chartOf(panel, linesOf(panel, plot.start, others), HEIGHT);
  });
  for (const chart of charts) chart.setScale('x', { min: range.from, max: range.to });
  isSetting = false;
  drawStrips();
}

window.addEventListener('message', ({ data }: MessageEvent<ToPage>) => {
  if (data.type === 'problem') {
    said.textContent = data.text;
    return;
  }
  const [plot] = data.plots;
  const refused = data.scenarios.filter(({ unplayed }) => unplayed !== undefined);
  said.textContent = [...data.remarks, ...refused.map(({ name, unplayed }) => `${name}: ${unplayed ?? ''}`)].join('; ');
  const choices = data.scenarios.map(({ name, unplayed }) => ({
    id: name,
    title: name,
    isDisabled: unplayed !== undefined,
  }));
  fill(first, choices, plot?.name ?? '');
  fill(second, [{ id: '', title: second.dataset['none'] ?? '' }, ...choices], data.second ?? '');
  for (const [button, name] of [
    [log, data.log],
    [earlier, data.earlier],
  ] as const) {
    button.textContent = name === undefined ? (button.dataset['none'] ?? '') : `${name} ×`;
    button.setAttribute('aria-pressed', String(name !== undefined));
  }
  second.parentElement!.hidden = choices.length < 2;
  show(data.plots);
});

const choose = (): void =>
  editor.postMessage({ type: 'choose', names: [first.value, second.value].filter((name) => name !== '') });
first.addEventListener('change', choose);
second.addEventListener('change', choose);
byId('whole').addEventListener('click', () => {
  const { start = 0, duration = 1 } = shown[0] ?? {};
  lookAt(start, start + duration);
});
for (const button of [log, earlier]) button.addEventListener('click', () => editor.postMessage({ type: button.id }));
byId('csv').addEventListener('click', () => editor.postMessage({ type: 'csv' }));

plots.addEventListener('keydown', (event) => {
  const [chart] = charts;
  if (!chart) return;
  const time = chart.data[0];
  const at = chart.cursor.idx ?? chart.valToIdx((range.from + range.to) / 2);
  const step = Math.max(1, Math.round((chart.valToIdx(range.to) - chart.valToIdx(range.from)) / 100));
  const move = (by: number): void => {
    const row = Math.min(time.length - 1, Math.max(0, at + by));
    chart.setCursor({ left: chart.valToPos(time[row]!, 'x'), top: HEIGHT / 2 });
  };
  const zoom = (factor: number): void => {
    const middle = time[at] ?? (range.from + range.to) / 2;
    lookAt(middle - (middle - range.from) * factor, middle + (range.to - middle) * factor);
  };
  const keys: Readonly<Record<string, () => void>> = {
    ArrowLeft: () => move(-step),
    ArrowRight: () => move(step),
    '+': () => zoom(0.5),
    '-': () => zoom(2),
    '0': () => byId('whole').click(),
  };
  const act = keys[event.key];
  if (!act) return;
  event.preventDefault();
  act();
});

new ResizeObserver(() => {
  for (const chart of charts) chart.setSize({ width: plots.clientWidth, height: HEIGHT });
}).observe(plots);
// Another theme: colours are functions that are asked again.
new MutationObserver(() => {
  for (const chart of charts) chart.redraw(false);
}).observe(document.body, { attributes: true, attributeFilter: ['class'] });

editor.postMessage({ type: 'ready' });
