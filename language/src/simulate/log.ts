import { DIMENSIONS, type Dimension, dimensionName, findUnit, toSi } from '../quantity/index.js';

/** What a logger wrote down of one signal, in coherent SI. */
export interface LogColumn {
  /** `soc(Bank)`, `power(Genset)`, `running(Genset)`, `runTime(Genset)`. */
  readonly name: string;
  readonly dimension: Dimension;
  /** NaN where nothing was written. */
  readonly values: Float64Array;
}

/** A log of a site, with times in s from the start of the scenario that it is held against. */
export interface MeasuredLog {
  readonly time: Float64Array;
  readonly columns: readonly LogColumn[];
  /** Headings that name nothing this log is read for. */
  readonly ignored: readonly string[];
}

export interface LogClock {
  /** Local start of the scenario: date, and s after midnight. */
  readonly start: { readonly date: string; readonly timeOfDay: number };
  /** How far the clock of the site is before Greenwich at that start, in s; undefined where its time zone is not stated. */
  readonly beforeGreenwich?: number;
  /** How far the clock of the logger runs ahead, in s. */
  readonly ahead?: number;
}

const SIGNALS: Readonly<Record<string, Dimension>> = {
  soc: DIMENSIONS.ratio,
  voltage: DIMENSIONS.voltage,
  current: DIMENSIONS.current,
  power: DIMENSIONS.power,
  running: DIMENSIONS.ratio,
  runTime: DIMENSIONS.time,
  fuel: DIMENSIONS.volume,
};
/** Units that values have where their heading names none, which is that of the series that `simulate` writes. */
const PLAIN: Readonly<Record<string, string>> = { soc: '', running: '' };

const HEADING = /^(\w+)\(([^()]+)\)\s*(.*)$/;
const STAMP = /^(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2})(:\d{2}(?:\.\d+)?)?(Z|[+-]\d{2}:?\d{2})?$/;

interface Heading {
  readonly name: string;
  readonly dimension: Dimension;
  readonly at: number;
  readonly toSi: (value: number) => number;
}

/**
 * Reads a log: comma-separated, its first line the headings. `time` is ISO 8601, by the clock of the site or with its offset from Greenwich
 * (`2027-01-10T06:00+01:00`). The other columns are named as `simulate --csv` names them, a signal with its thing and its unit
 * (`power(Genset) kW`, `soc(Bank) %`, `voltage(Bank) V`, `current(Bank) A`), `running(Genset)` (0 or 1), or a meter that counts up
 * (`runTime(Genset) h`, `fuel(Genset) L`). An empty cell is a gap. Lines that begin with `#` are remarks. Answers a sentence where it cannot
 * be read.
 */
export function readLog(
  text: string,
  { start, beforeGreenwich, ahead = 0 }: LogClock,
): { readonly log: MeasuredLog } | { readonly reason: string } {
  const rows = text
    .replace(/^\uFEFF/, '')
    .split(/\r?\n/)
    .map((row, index) => ({
      cells: row.split(',').map((cell) => cell.trim().replace(/^"(.*)"$/, '$1')),
      line: index + 1,
    }))
    .filter(({ cells }) => cells.some((cell) => cell !== '') && !cells[0]!.startsWith('#'));
  const [head, ...body] = rows;
  const timeAt = head?.cells.findIndex((cell) => cell.toLowerCase() === 'time') ?? -1;
  if (timeAt < 0) return { reason: 'its first line names no column `time`' };
  const headings: Heading[] = [];
  const ignored: string[] = [];
  for (const [at, cell] of head!.cells.entries()) {
    if (at === timeAt) continue;
    const heading = headingOf(cell, at);
    if (typeof heading === 'string') return { reason: `${heading} in the heading \`${cell}\`` };
    if (heading && headings.some(({ name }) => name === heading.name))
      return { reason: `${heading.name} has two columns` };
    if (heading) headings.push(heading);
    else if (cell !== '') ignored.push(cell);
  }
  if (headings.length === 0)
    return { reason: 'no column is named as a signal of the design, such as `soc(Bank) %` or `power(Genset) W`' };
  if (body.length < 2) return { reason: 'it holds fewer than two rows of data' };
  const zero = Date.parse(`${start.date}T00:00:00Z`) / 1000 + start.timeOfDay;
  const time = new Float64Array(body.length);
  const values = headings.map(() => new Float64Array(body.length));
  for (const [row, { cells, line }] of body.entries()) {
    const seconds = secondsOf(cells[timeAt] ?? '', beforeGreenwich);
    if (typeof seconds === 'string') return { reason: `line ${line}: ${seconds}` };
    time[row] = seconds - zero - ahead;
    if (row > 0 && time[row]! <= time[row - 1]!)
      return {
        reason: `line ${line}: its time is not after the one before; where a clock was set back, write times with their offset from Greenwich`,
      };
    for (const [index, { at, toSi: convert, name }] of headings.entries()) {
      const cell = cells[at] ?? '';
      const value = cell === '' ? Number.NaN : Number(cell);
      if (cell !== '' && !Number.isFinite(value))
        return { reason: `line ${line}: \`${cell}\` of ${name} is no number` };
      values[index]![row] = convert(value);
    }
  }
  return {
    log: {
      time,
      columns: headings.map(({ name, dimension }, index) => ({ name, dimension, values: values[index]! })),
      ignored,
    },
  };
}

/** The signal and unit of a heading; undefined where it names no signal, a sentence where its unit does not fit. */
function headingOf(cell: string, at: number): Heading | string | undefined {
  const [, signal = '', of = '', written = ''] = HEADING.exec(cell) ?? [];
  const dimension = SIGNALS[signal];
  if (!dimension) return undefined;
  const name = `${signal}(${of.trim()})`;
  const plain = PLAIN[signal];
  if (written === '') {
    if (plain === undefined) return 'there is no unit';
    return { name, dimension, at, toSi: (value) => value };
  }
  const unit = findUnit(written);
  if (!unit) return `\`${written}\` is no unit`;
  if (unit.dimension !== dimension) return `\`${written}\` is no unit of ${dimensionName(dimension)}`;
  return { name, dimension, at, toSi: (value) => toSi(value, unit) };
}

/** Seconds of the clock of the site since 1970; a sentence where the text is no time, or cannot be told without the zone of the site. */
function secondsOf(text: string, beforeGreenwich: number | undefined): number | string {
  const [, date, clock, seconds = ':00', offset] = STAMP.exec(text) ?? [];
  const at = date === undefined ? Number.NaN : Date.parse(`${date}T${clock}${seconds}Z`) / 1000;
  if (!Number.isFinite(at)) return `\`${text}\` is no time such as 2027-01-10T06:00 or 2027-01-10T06:00+01:00`;
  if (offset === undefined) return at;
  if (beforeGreenwich === undefined)
    return `\`${text}\` has an offset from Greenwich, and the site states no \`timeZone\``;
  const [, sign, hours, minutes] = /^([+-])(\d{2}):?(\d{2})$/.exec(offset) ?? [];
  const own = sign === undefined ? 0 : (sign === '-' ? -1 : 1) * (Number(hours) * 3600 + Number(minutes) * 60);
  return at - own + beforeGreenwich;
}
