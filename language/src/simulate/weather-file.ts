import type { SunPlan } from './plan.js';

type Weather = NonNullable<SunPlan['weather']>;

/**
 * Reads a weather file: comma-separated columns `time` (ISO 8601 local date and time), `irradiance` (W/m² on the horizontal) and
 * `temperature` (°C of the air), named in the first line, rows in order of time. Answers a sentence where it cannot be read.
 * `start` is the local start of the play as `YYYY-MM-DD` and s after midnight.
 */
export function readWeather(
  text: string,
  start: { readonly date: string; readonly timeOfDay: number },
): { readonly weather: Weather } | { readonly reason: string } {
  const rows = text
    .replace(/^\uFEFF/, '')
    .split(/\r?\n/)
    .map((row, index) => ({ cells: row.split(',').map((cell) => cell.trim()), line: index + 1 }))
    .filter(({ cells }) => cells.some((cell) => cell !== '') && !cells[0]!.startsWith('#'));
  const [head, ...body] = rows;
  const column = (name: string): number => head?.cells.findIndex((cell) => cell.toLowerCase() === name) ?? -1;
  const [time, irradiance, temperature] = ['time', 'irradiance', 'temperature'].map(column) as [number, number, number];
  const lacking = [
    ['time', time],
    ['irradiance', irradiance],
    ['temperature', temperature],
  ].flatMap(([name, at]) => ((at as number) < 0 ? [`\`${name}\``] : []));
  if (lacking.length > 0) return { reason: `its first line names no column ${lacking.join(', ')}` };
  if (body.length < 2) return { reason: 'it holds fewer than two rows of data' };
  const zero = Date.parse(`${start.date}T00:00:00Z`) / 1000 + start.timeOfDay;
  const weather = {
    time: new Float64Array(body.length),
    irradiance: new Float64Array(body.length),
    temperature: new Float64Array(body.length),
  };
  for (let at = 0; at < body.length; at += 1) {
    const { cells, line } = body[at]!;
    const stamp = /^(\d{4}-\d{2}-\d{2})(?:[T ](\d{2}:\d{2})(:\d{2})?)?$/.exec(cells[time] ?? '');
    const seconds = stamp ? Date.parse(`${stamp[1]}T${stamp[2] ?? '00:00'}${stamp[3] ?? ':00'}Z`) / 1000 - zero : NaN;
    if (!Number.isFinite(seconds))
      return { reason: `line ${line}: \`${cells[time] ?? ''}\` is no time such as 2027-01-10T06:00` };
    if (at > 0 && seconds <= weather.time[at - 1]!)
      return { reason: `line ${line}: its time is not after the one before` };
    const number = (column: number): number =>
      cells[column] === '' || cells[column] === undefined ? NaN : Number(cells[column]);
    const [sun, air] = [number(irradiance), number(temperature)];
    if (!(sun >= 0 && sun < 2000))
      return { reason: `line ${line}: the irradiance must be a number from 0 to 2000 W/m²` };
    if (!(air > -90 && air < 70)) return { reason: `line ${line}: the temperature must be a number from −90 to 70 °C` };
    weather.time[at] = seconds;
    weather.irradiance[at] = sun;
    weather.temperature[at] = air;
  }
  return { weather };
}
