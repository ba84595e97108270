import { DAYS_IN_MONTH, leapDay } from '../quantities/weather/dates.js';
import type { Weather } from '../quantities/weather/plans.js';
import {
  BEAM,
  type Bounds,
  DIFFUSE,
  IRRADIANCE,
  type Lines,
  TEMPERATURE,
  type Unreadable,
  WIND,
  cellsOf,
  numberOf,
  shown,
  wrong,
} from './weather-lines.js';
import type { StationFacts } from './weather-file.js';

/** Rows of a leap year by the hour, and room for the heads. */
const MOST_LINES = 8784 + 50;

/** What is read of each row, with the number from which on a value stands for one that lacks. */
interface Column {
  readonly name: 'irradiance' | 'beam' | 'diffuse' | 'temperature' | 'wind';
  readonly bounds: Bounds;
  readonly isMissing: (value: number) => boolean;
}

const COLUMNS: readonly Column[] = [
  { name: 'irradiance', bounds: IRRADIANCE, isMissing: (value) => value >= 9999 || value <= -9900 },
  { name: 'beam', bounds: BEAM, isMissing: (value) => value >= 9999 || value <= -9900 },
  { name: 'diffuse', bounds: DIFFUSE, isMissing: (value) => value >= 9999 || value <= -9900 },
  { name: 'temperature', bounds: TEMPERATURE, isMissing: (value) => value === 99.9 || value <= -9900 },
  { name: 'wind', bounds: WIND, isMissing: (value) => value === 999 || value <= -9900 },
];

/** How a format lays out its file. */
interface Layout {
  readonly title: string;
  /** Lines before the first row. */
  readonly heads: number;
  readonly station: (head: readonly string[]) => { name: string; latitude: number; longitude: number; zone: number };
  /** Position of each column by name; −1 where the file lacks it. */
  readonly positions: (lines: Lines) => Readonly<Record<Column['name'], number>>;
  /** Month, day and hour (1 to 24, which it ends) of a row, with the columns they stand in. */
  readonly stamp: (cells: readonly string[]) => {
    month: number;
    day: number;
    hour: number;
    columns: readonly [number, number, number];
  };
}

/** EnergyPlus weather format as its documentation has it: eight lines, then 35 columns without names. */
const EPW: Layout = {
  title: 'EPW',
  heads: 8,
  station: (head) => ({
    name: head[1] ?? '',
    latitude: numberOf(head[6]),
    longitude: numberOf(head[7]),
    zone: numberOf(head[8]),
  }),
  positions: () => ({ irradiance: 13, beam: 14, diffuse: 15, temperature: 6, wind: 21 }),
  stamp: (cells) => ({
    month: numberOf(cells[1]),
    day: numberOf(cells[2]),
    hour: numberOf(cells[3]),
    columns: [1, 2, 3],
  }),
};

/** Typical years of the third collection (NREL/TP-581-43156): a line on the station, a line of names, 68 columns. */
const TMY3: Layout = {
  title: 'TMY3',
  heads: 2,
  station: (head) => ({
    name: head[1] ?? '',
    zone: numberOf(head[3]),
    latitude: numberOf(head[4]),
    longitude: numberOf(head[5]),
  }),
  positions: (lines) => {
    const names = cellsOf(lines.at(1)).map((name) => name.toLowerCase());
    const at = (start: string): number => names.findIndex((name) => name.startsWith(start));
    return {
      irradiance: at('ghi (w'),
      beam: at('dni (w'),
      diffuse: at('dhi (w'),
      temperature: at('dry-bulb (c'),
      wind: at('wspd (m'),
    };
  },
  stamp: (cells) => {
    const date = /^(\d{1,2})\/(\d{1,2})\/\d{4}$/.exec(cells[0] ?? '');
    const time = /^(\d{1,2}):00$/.exec(cells[1] ?? '');
    return {
      month: Number(date?.[1] ?? NaN),
      day: Number(date?.[2] ?? NaN),
      hour: Number(time?.[1] ?? NaN),
      columns: [0, 0, 1],
    };
  },
};

const LAYOUTS = { epw: EPW, tmy3: TMY3 } as const;

const at = (line: number, column: number): string => `line ${line + 1}, column ${column + 1}`;

/** Reads hours of days of a year, whichever years they are from. */
export function readHourly(
  lines: Lines,
  format: keyof typeof LAYOUTS,
): { readonly weather: Weather; readonly station: StationFacts } | Unreadable {
  const layout = LAYOUTS[format];
  if (lines.length > MOST_LINES)
    return { reason: `it holds more than the ${MOST_LINES} lines that a year of ${layout.title} can have` };
  const { zone, ...station } = layout.station(cellsOf(lines.at(0)));
  if (!(Math.abs(station.latitude) <= 90) || !(Math.abs(station.longitude) <= 180) || !(Math.abs(zone) <= 15))
    return { reason: `line 1: latitude, longitude and hours from universal time of the station cannot be read` };
  const positions = layout.positions(lines);
  for (const { name, bounds } of COLUMNS)
    if (positions[name] < 0 && name !== 'wind') return { reason: `line 2: it names no column for the ${bounds.title}` };
  const columns = COLUMNS.filter(({ name }) => positions[name] >= 0);
  const rows: number[] = [];
  for (let line = layout.heads; line < lines.length; line += 1) if (lines.at(line).trim() !== '') rows.push(line);
  if (rows.length === 0) return { reason: 'it holds no rows of data' };
  const values = new Map(columns.map(({ name }) => [name, new Float64Array(rows.length)]));
  const rowOfDay = new Int32Array(366).fill(-1);
  // Wind is read where every row has it: only a wind turbine needs it.
  let windLacks: string | undefined;
  let last = { day: -1, hour: 24 };
  for (let row = 0; row < rows.length; row += 1) {
    const line = rows[row]!;
    const cells = cellsOf(lines.at(line));
    const stamp = layout.stamp(cells);
    const fault = stampFault(stamp, cells, line);
    if (fault) return fault;
    const day = leapDay(stamp.month, stamp.day);
    const isNext =
      last.hour === 24 ? stamp.hour === 1 && rowOfDay[day] === -1 : day === last.day && stamp.hour === last.hour + 1;
    if (!isNext) return { reason: `${at(line, stamp.columns[2])}: its hour does not follow on the one before` };
    if (stamp.hour === 1) rowOfDay[day] = row;
    last = { day, hour: stamp.hour };
    for (const { name, bounds, isMissing } of columns) {
      const value = numberOf(cells[positions[name]]);
      const where = at(line, positions[name]);
      if (isMissing(value)) {
        if (name !== 'wind') return { reason: `${where}: the ${bounds.title} is missing` };
        windLacks ??= `${where}: the ${bounds.title} is missing`;
        continue;
      }
      const bad = wrong(value, bounds, line + 1, positions[name] + 1);
      if (bad) return bad;
      values.get(name)![row] = value;
    }
  }
  if (last.hour !== 24) return { reason: `line ${rows.at(-1)! + 1}: its last day has no 24 hours` };
  const wind = windLacks === undefined ? values.get('wind') : undefined;
  return {
    station,
    weather: {
      kind: 'hours',
      zoneHours: zone,
      rowOfDay,
      irradiance: values.get('irradiance')!,
      beam: values.get('beam')!,
      diffuse: values.get('diffuse')!,
      temperature: values.get('temperature')!,
      ...(wind ? { wind } : {}),
    },
  };
}

function stampFault(
  { month, day, hour, columns }: ReturnType<Layout['stamp']>,
  cells: readonly string[],
  line: number,
): Unreadable | undefined {
  const text = (column: number): string => `\`${shown(cells[column])}\``;
  if (!(Number.isInteger(month) && month >= 1 && month <= 12))
    return { reason: `${at(line, columns[0])}: ${text(columns[0])} is no month` };
  const days = DAYS_IN_MONTH[month - 1]! + (month === 2 ? 1 : 0);
  if (!(Number.isInteger(day) && day >= 1 && day <= days))
    return { reason: `${at(line, columns[1])}: ${text(columns[1])} is no day of this month` };
  if (!(Number.isInteger(hour) && hour >= 1 && hour <= 24))
    return { reason: `${at(line, columns[2])}: ${text(columns[2])} is no hour from 1 to 24` };
  return undefined;
}
