import { readCsv } from './weather-csv.js';
import { readHourly } from './weather-hours.js';
import type { Weather } from '../quantities/weather/plans.js';
import { Lines, type Unreadable } from './weather-lines.js';

/** What a weather file says of itself, where its format does. */
export interface StationFacts {
  readonly name: string;
  /** °, north and east positive. */
  readonly latitude: number;
  readonly longitude: number;
}

export type ReadWeather = { readonly weather: Weather; readonly station?: StationFacts } | Unreadable;

/**
 * Reads a weather file by what it holds: EPW (its first line begins with `LOCATION,`), TMY3 (its second line begins with `Date (`), else
 * comma-separated columns with names. Answers a sentence, with line and column, where it cannot be read. `start` is the local start of the
 * play as `YYYY-MM-DD` and s after midnight.
 */
export function readWeather(text: string, start: { readonly date: string; readonly timeOfDay: number }): ReadWeather {
  const lines = new Lines(text);
  const first = lines.at(0);
  if (/^\s*LOCATION\s*,/i.test(first)) return readHourly(lines, 'epw');
  if (/^\s*"?Date \(/i.test(lines.at(1))) return readHourly(lines, 'tmy3');
  return readCsv(lines, start);
}
