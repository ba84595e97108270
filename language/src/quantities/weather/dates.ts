export const DAYS_IN_MONTH = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] as const;

export const isLeap = (year: number): boolean => (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0;

/** Month (0 to 11) of a day of the year (1 to 366). */
export function monthOf(dayOfYear: number, year: number): number {
  let left = dayOfYear;
  for (let month = 0; month < 11; month += 1) {
    const days = DAYS_IN_MONTH[month]! + (month === 1 && isLeap(year) ? 1 : 0);
    if (left <= days) return month;
    left -= days;
  }
  return 11;
}

/** A day of a month (1 to 12) counted as in a leap year, 1 January 0. */
export function leapDay(month: number, day: number): number {
  let before = 0;
  for (let each = 1; each < month; each += 1) before += DAYS_IN_MONTH[each - 1]! + (each === 2 ? 1 : 0);
  return before + day - 1;
}

/** Last day of February in a year that is not a leap year, days counted from 1. */
const FEBRUARY_ENDS = 59;

/** A day of a year (from 1) counted as in a leap year, 1 January 0. */
export const dayOfLeapYear = (dayOfYear: number, year: number): number =>
  dayOfYear - 1 + (!isLeap(year) && dayOfYear > FEBRUARY_ENDS ? 1 : 0);
