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
  /** What whoever reads the comparison should know of it, one sentence each. */
  readonly remarks: readonly string[];
}

export interface LogClock {
  /** Local start of the scenario: date, and s after midnight. */
  readonly start: { readonly date: string; readonly timeOfDay: number };
  /** How far the clock of the site is before Greenwich at that start, in s; undefined where its time zone is not stated. */
  readonly beforeGreenwich?: number;
  /** Whether that clock is put forward or back within the scenario, which keeps the time of its start. */
  readonly isChanged?: boolean;
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

/** What loggers write where they have no value. */
const GAPS: ReadonlySet<string> = new Set(['', '-', '--', 'n/a', 'na', 'nan', 'null', 'none']);
/** States of charge beyond these are no shares of full, but percent that were not said to be: the meter of a bank may overrun a little. */
const SHARES = { least: -0.2, most: 1.5 } as const;

const HEADING = /^(\w+)\(([^()]+)\)\s*(.*)$/;
const STAMP = /^(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2})(:\d{2}(?:\.\d+)?)?(Z|[+-]\d{2}:?\d{2})?$/;

interface Heading {
  readonly name: string;
  readonly dimension: Dimension;
  readonly at: number;
  readonly toSi: (value: number) => number;
}

/**
 * Reads a log: separated by commas, or by semicolons or tabs and then with decimal commas too; its first line the headings. `time` is ISO 8601, by the clock of the site or with its offset from Greenwich
 * (`2027-01-10T06:00+01:00`). The other columns are named as `simulate --csv` names them, a signal with its thing and its unit
 * (`power(Genset) kW`, `soc(Bank) %`, `voltage(Bank) V`, `current(Bank) A`), `running(Genset)` (0 or 1), or a meter that counts up
 * (`runTime(Genset) h`, `fuel(Genset) L`). An empty cell, or one that says `n/a`, is a gap. Lines that begin with `#` are remarks. Answers a sentence where it cannot
 * be read.
 */
export function readLog(
  text: string,
  { start, beforeGreenwich, isChanged = false, ahead = 0 }: LogClock,
): { readonly log: MeasuredLog } | { readonly reason: string } {
  const lines = text
    .replace(/^\uFEFF/, '')
    .split(/\r?\n/)
    .map((row, index) => ({ row, line: index + 1 }))
    .filter(({ row }) => /[^\s,;]/.test(row) && !row.trimStart().startsWith('#'));
  const [first] = lines;
  if (!first) return { reason: 'it is empty' };
  const separator = SEPARATORS.find((each) => first.row.includes(each)) ?? ',';
  const [head, ...body] = lines.map(({ row, line }) => ({ cells: cellsOf(row, separator), line }));
  const timeAt = head!.cells.findIndex((cell) => cell.toLowerCase() === 'time');
  if (timeAt < 0)
    return { reason: `its first line names no column \`time\`, but ${head!.cells.slice(0, 4).join(', ')}` };
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
      const isGap = GAPS.has(cell.toLowerCase());
      const value = isGap ? Number.NaN : numberOf(cell, separator);
      if (!isGap && !Number.isFinite(value)) return { reason: `line ${line}: \`${cell}\` of ${name} is no number` };
      values[index]![row] = convert(value);
      if (name.startsWith('soc(') && (convert(value) > SHARES.most || convert(value) < SHARES.least))
        return {
          reason: `line ${line}: \`${cell}\` of ${name} is no state of charge; without a unit it is a share of full, in percent write \`${name} %\` as the heading`,
        };
    }
  }
  // Times of a clock that is put forward leave no trace but an hour that is missing.
  const isLocal = body.some(({ cells }) => !/(?:Z|[+-]\d{2}:?\d{2})$/.test(cells[timeAt]!));
  return {
    log: {
      time,
      columns: headings.map(({ name, dimension }, index) => ({ name, dimension, values: values[index]! })),
      ignored,
      remarks:
        isChanged && isLocal
          ? [
              'the clock of the site is put forward or back within this time, and the simulation keeps that of its start: rows of a logger that follows the clock are an hour off from then on; write times with their offset from Greenwich',
            ]
          : [],
    },
  };
}

/** What may stand between cells; a comma only where the headings hold none of the others, since it may be the sign of decimals. */
const SEPARATORS = ['\t', ';'] as const;

/** The cells of a line, each without its quotation marks; within these a separator is text. */
function cellsOf(row: string, separator: string): string[] {
  if (!row.includes('"')) return row.split(separator).map((cell) => cell.trim());
  const cells = [''];
  let isQuoted = false;
  for (const character of row)
    if (character === '"') isQuoted = !isQuoted;
    else if (character === separator && !isQuoted) cells.push('');
    else cells[cells.length - 1] += character;
  return cells.map((cell) => cell.trim());
}

/** A number, with a comma for its decimals where that separates no cells; `1,234.5` is none, since it may be either. */
function numberOf(cell: string, separator: string): number {
  const isDecimalComma = /^[+-]?\d+,\d+(?:[eE][+-]?\d+)?$/.test(cell) && separator !== ',';
  return cell === '' ? Number.NaN : Number(isDecimalComma ? cell.replace(',', '.') : cell);
}

/** Signals by their names in small letters, as loggers write them in any. */
const SPELLED = new Map(Object.keys(SIGNALS).map((signal) => [signal.toLowerCase(), signal]));

/** The signal and unit of a heading; undefined where it names no signal, a sentence where its unit does not fit. */
function headingOf(cell: string, at: number): Heading | string | undefined {
  const [, spelled = '', of = '', written = ''] = HEADING.exec(cell) ?? [];
  const signal = SPELLED.get(spelled.toLowerCase()) ?? '';
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
