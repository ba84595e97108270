import type { Weather } from '../quantities/weather/plans.js';
import {
  BEAM,
  type Bounds,
  DIFFUSE,
  IRRADIANCE,
  type Lines,
  MOST_LINES,
  TEMPERATURE,
  type Unreadable,
  WIND,
  cellsOf,
  numberOf,
  shown,
  wrong,
} from './weather-lines.js';

/** Columns by their name in the first line; those that may be left out come last. */
const COLUMNS = [
  { name: 'irradiance', bounds: IRRADIANCE, isNeeded: true },
  { name: 'temperature', bounds: TEMPERATURE, isNeeded: true },
  { name: 'beam', bounds: BEAM, isNeeded: false },
  { name: 'diffuse', bounds: DIFFUSE, isNeeded: false },
  { name: 'wind', bounds: WIND, isNeeded: false },
] as const satisfies readonly { name: string; bounds: Bounds; isNeeded: boolean }[];

type ColumnName = (typeof COLUMNS)[number]['name'];

/**
 * Reads comma-separated columns `time` (ISO 8601 local date and time), `irradiance` (W/m² on the horizontal), `temperature` (°C of the air),
 * and where they are there `beam` (W/m² across the beam), `diffuse` (W/m² on the horizontal) and `wind` (m/s), named in the first line, rows in order of time.
 */
export function readCsv(
  lines: Lines,
  start: { readonly date: string; readonly timeOfDay: number },
): { readonly weather: Weather } | Unreadable {
  if (lines.isTooLong) return { reason: `it holds more than ${MOST_LINES} lines` };
  const rows: number[] = [];
  for (let line = 0; line < lines.length; line += 1) if (!/^\s*(#|$|,[\s,]*$)/.test(lines.at(line))) rows.push(line);
  const [head, ...body] = rows;
  const names = head === undefined ? [] : cellsOf(lines.at(head)).map((cell) => cell.toLowerCase());
  const time = names.indexOf('time');
  const lacking = ['time', ...COLUMNS.filter(({ isNeeded }) => isNeeded).map(({ name }) => name)].filter(
    (name) => !names.includes(name),
  );
  if (lacking.length > 0)
    return { reason: `its first line names no column ${lacking.map((name) => `\`${name}\``).join(', ')}` };
  if (names.includes('beam') !== names.includes('diffuse'))
    return { reason: 'its first line names one of `beam` and `diffuse` without the other' };
  if (body.length < 2) return { reason: 'it holds fewer than two rows of data' };
  const zero = Date.parse(`${start.date}T00:00:00Z`) / 1000 + start.timeOfDay;
  const columns = COLUMNS.flatMap(({ name, bounds }) => {
    const at = names.indexOf(name);
    return at < 0 ? [] : [{ name, bounds, at, values: new Float64Array(body.length) }];
  });
  const times = new Float64Array(body.length);
  for (let row = 0; row < body.length; row += 1) {
    const line = body[row]!;
    const cells = cellsOf(lines.at(line));
    const stamp = /^(\d{4}-\d{2}-\d{2})(?:[T ](\d{2}:\d{2})(:\d{2})?)?$/.exec(cells[time] ?? '');
    const seconds = stamp ? Date.parse(`${stamp[1]}T${stamp[2] ?? '00:00'}${stamp[3] ?? ':00'}Z`) / 1000 - zero : NaN;
    const place = `line ${line + 1}, column ${time + 1}`;
    if (!Number.isFinite(seconds))
      return { reason: `${place}: \`${shown(cells[time])}\` is no time such as 2027-01-10T06:00` };
    if (row > 0 && seconds <= times[row - 1]!) return { reason: `${place}: its time is not after the one before` };
    times[row] = seconds;
    for (const { bounds, at, values } of columns) {
      values[row] = numberOf(cells[at]);
      const fault = wrong(values[row]!, bounds, line + 1, at + 1);
      if (fault) return fault;
    }
  }
  const values = (name: ColumnName): Float64Array | undefined => columns.find((each) => each.name === name)?.values;
  const [beam, diffuse, wind] = [values('beam'), values('diffuse'), values('wind')];
  return {
    weather: {
      kind: 'points',
      time: times,
      irradiance: values('irradiance')!,
      temperature: values('temperature')!,
      ...(beam && diffuse ? { beam, diffuse } : {}),
      ...(wind ? { wind } : {}),
    },
  };
}
