import { dayOfLeapYear } from './dates.js';
import type { HourWeather } from './plans.js';

const DAYS = 366;
const LEAP_DAY = 59;

/** The first row of a day, the days counted as in a leap year from 0; −1 where the file has none. A file without 29 February has 28 February twice. */
function rowOf(rowOfDay: Int32Array, day: number): number {
  const at = (day + DAYS) % DAYS;
  return rowOfDay[at]! < 0 && at === LEAP_DAY ? rowOfDay[at - 1]! : rowOfDay[at]!;
}

/** Whether a file has a day, the days counted as in a leap year from 0. */
export const hasDay = ({ rowOfDay }: HourWeather, day: number): boolean => rowOf(rowOfDay, day) >= 0;

/**
 * The row for an hour of a day by the clock of the play, which may stand apart from that of the file. Hours that fall on a day before or after
 * that the file does not have are those at the edge of the day.
 */
export function rowAt(weather: HourWeather, dayOfYear: number, year: number, hour: number, zoneHours: number): number {
  const day = dayOfLeapYear(dayOfYear, year);
  const inFile = Math.floor(hour + weather.zoneHours - zoneHours + 1e-9);
  const own = rowOf(weather.rowOfDay, day);
  if (inFile >= 0 && inFile < 24) return own + inFile;
  const [other, left] = inFile < 0 ? [day - 1, inFile + 24] : [day + 1, inFile - 24];
  // The day before or after 29 February in years that have none.
  const stepped = other === LEAP_DAY && weather.rowOfDay[LEAP_DAY]! < 0 ? other + Math.sign(other - day) : other;
  const row = rowOf(weather.rowOfDay, stepped);
  return row >= 0 ? row + left : own + (inFile < 0 ? 0 : 23);
}
