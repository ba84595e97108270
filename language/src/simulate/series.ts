import type { Column, ScenarioEvent, ScenarioResult, Series } from './types.js';

const DAY = 86400;

/** Date and time of a moment of a play as on the clock of its site: `2027-01-10T06:30:00`. `seconds` counts from the start. */
export function clockTime({ start }: Pick<ScenarioResult, 'start'>, seconds: number): string {
  const moment = Date.parse(`${start.date}T00:00:00Z`) + Math.round((start.timeOfDay + seconds) * 1000);
  return new Date(moment).toISOString().slice(0, 19);
}

/** Values of a column at steady intervals from the start to the end; where it jumps, the value after the jump. */
export function sampled(
  { time }: Pick<Series, 'time'>,
  values: Float64Array,
  interval: number,
  duration: number,
): Float64Array {
  const count = Math.floor(duration / interval + 1e-9) + 1;
  const samples = new Float64Array(count);
  let row = 0;
  for (let at = 0; at < count; at += 1) {
    const moment = at * interval;
    while (row + 1 < time.length && time[row + 1]! <= moment) row += 1;
    const next = Math.min(row + 1, time.length - 1);
    const span = time[next]! - time[row]!;
    const share = span > 0 ? Math.min(1, (moment - time[row]!) / span) : 0;
    samples[at] = values[row]! + share * (values[next]! - values[row]!);
  }
  return samples;
}

/** Significant digits of numbers in tables: what a double keeps beyond them is no news. */
const DIGITS = 9;

/** The recorded values at steady intervals as comma-separated text, a row at a time, heads first. Times are those of the site's clock. */
export function* csvRows(result: ScenarioResult, interval: number): Generator<string> {
  const { series, duration } = result;
  yield `${['time', 'seconds', ...series.columns.map(({ name, unit }) => (unit === '1' ? name : `${name} ${unit}`))].join(',')}\n`;
  const columns = series.columns.map(({ values }) => sampled(series, values, interval, duration));
  const count = columns[0]?.length ?? Math.floor(duration / interval) + 1;
  for (let at = 0; at < count; at += 1) {
    const seconds = at * interval;
    const cells = columns.map((column) => String(Number(column[at]!.toPrecision(DIGITS))));
    yield `${[clockTime(result, seconds), String(Number(seconds.toPrecision(DIGITS))), ...cells].join(',')}\n`;
  }
}

/** Something that lasts, in s from the start. */
export interface Stretch {
  readonly from: number;
  readonly to: number;
}

const ENDS: Readonly<Record<string, ScenarioEvent['what']>> = {
  start: 'stop',
  lost: 'back',
  trip: 'restart',
  open: 'close',
  shed: 'restored',
};

/** What lasts between events that begin and end it, by thing: running sets (`start`), what is lost, tripped, open, shed. */
export function stretchesOf(
  result: Pick<ScenarioResult, 'events' | 'duration'>,
  begin: keyof typeof ENDS,
): Map<string, Stretch[]> {
  const found = new Map<string, Stretch[]>();
  const open = new Map<string, number>();
  for (const { time, what, of } of result.events) {
    if (what === begin && !open.has(of)) open.set(of, time);
    const from = open.get(of);
    if (what !== ENDS[begin] || from === undefined) continue;
    open.delete(of);
    found.set(of, [...(found.get(of) ?? []), { from, to: time }]);
  }
  for (const [of, from] of open) found.set(of, [...(found.get(of) ?? []), { from, to: result.duration }]);
  return found;
}

/** The columns of a signal. */
export const columnsOfSignal = (
  { series }: Pick<ScenarioResult, 'series'>,
  signal: Column['signal'],
): readonly Column[] => series.columns.filter((column) => column.signal === signal);

/** Whole days a play touches, from its first midnight, in s from the start. */
export function midnights({ start, duration }: Pick<ScenarioResult, 'start' | 'duration'>): number[] {
  const first = (DAY - start.timeOfDay) % DAY;
  const times: number[] = [];
  for (let time = first; time <= duration; time += DAY) times.push(time);
  return times;
}
