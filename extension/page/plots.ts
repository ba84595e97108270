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

interface Lines {
  readonly data: uPlot.AlignedData;
  /** Names with the values as they are, where lines lie on top of each other. */
  readonly names: readonly string[];
  readonly own: readonly (readonly (number | null)[])[];
  readonly isStacked: boolean;
  /** How many of the lines belong to the first scenario. */
  readonly count: number;
}

/** The lines of a panel, with those of the same panel of a second scenario, on one axis of time. */
function linesOf(panel: Panel, start: number, over: Panel | undefined, overName: string): Lines {
  const time = panel.time.map((at) => at + start);
  const isStacked = panel.isStacked && !over;
  const own = panel.values;
  const data = [time, ...(isStacked ? stacked(own) : own)] as unknown as uPlot.AlignedData;
  if (!over) return { data, names: panel.names, own, isStacked, count: own.length };
  const others = [over.time.map((at) => at + start), ...over.values] as unknown as uPlot.AlignedData;
  return {
    data: uPlot.join([data, others]),
    names: [...panel.names, ...over.names.map((name) => `${name} (${overName})`)],
    own: [],
    isStacked,
    count: own.length,
  };
}

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

function chartOf(panel: Panel, lines: Lines, height: number): uPlot {
  const { data, names, own, isStacked, count } = lines;
  const rowOf = (index: number, row: number): number | null | undefined =>
    isStacked ? own[index]?.[row] : data[index + 1]?.[row];
  const chart = new uPlot(
    {
      width: plots.clientWidth,
      height,
      title: panel.title,
      cursor: { sync: { key: 'time' }, drag: { x: true, y: false, uni: 20 }, focus: { prox: 30 } },
      legend: { live: true },
      scales: {
        x: { time: true },
        ...(panel.domain ? { y: { range: [...panel.domain] as [number, number] } } : {}),
      },
      series: [
        { label: '', value: (_, at) => (at === null ? '' : clock(at)) },
        ...names.map((label, index): uPlot.Series => ({
          label,
          stroke: () => ink(index % Math.max(1, count)),
          width: index < count ? 1.6 : 1.2,
          dash: index < count ? [...DASHES[index % DASHES.length]!] : [3, 3],
          points: { show: false },
          spanGaps: index >= count || names.length > count,
          value: (_, __, ___, row) => (row === null ? '' : valueText(rowOf(index, row), panel.unit)),
        })),
      ],
      ...(isStacked
        ? {
            bands: names.slice(1).map((_, index): uPlot.Band => ({
              series: [index + 2, index + 1],
              fill: () => `color-mix(in srgb, ${ink(index + 1)} 25%, transparent)`,
            })),
          }
        : {}),
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
    return each.series.slice(1).map(({ label }, line) => {
      const unit = shown[0]!.panels[panel]!.unit;
      const isOwn = shown.length === 1 && shown[0]!.panels[panel]!.isStacked;
      const value = isOwn ? shown[0]!.panels[panel]!.values[line]?.[row] : each.data[line + 1]?.[row];
      return `${typeof label === 'string' ? label : ''} ${valueText(value, unit)}`;
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
  const [plot, over] = next;
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
    const other = over?.panels.find(({ title }) => title === panel.title);
    return chartOf(panel, linesOf(panel, plot.start, other, over?.name ?? ''), HEIGHT);
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
  const [plot, over] = data.plots;
  const refused = data.scenarios.filter(({ unplayed }) => unplayed !== undefined);
  said.textContent = refused.map(({ name, unplayed }) => `${name}: ${unplayed ?? ''}`).join('; ');
  const choices = data.scenarios.map(({ name, unplayed }) => ({
    id: name,
    title: name,
    isDisabled: unplayed !== undefined,
  }));
  fill(first, choices, plot?.name ?? '');
  fill(second, [{ id: '', title: second.dataset['none'] ?? '' }, ...choices], over?.name ?? '');
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
