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
