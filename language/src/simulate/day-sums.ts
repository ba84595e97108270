/** What adds up over a run, in coherent SI by position in the plan, as it stands at some time of it. */
export interface RunSums {
  /** s, starts and m³ of fuel, by source. */
  readonly runTime: Float64Array;
  readonly starts: Float64Array;
  readonly fuel: Float64Array;
  /** J, by source: what it gave, and what drove it and no bus took. */
  readonly given: Float64Array;
  readonly spare: Float64Array;
  /** C drawn, by bank. */
  readonly drawn: Float64Array;
  /** J, by load. */
  readonly served: Float64Array;
  readonly unserved: Float64Array;
  readonly shed: Float64Array;
  /** J, by array. */
  readonly curtailed: Float64Array;
  readonly taken: Float64Array;
}

/** Seven days, in s. */
export const WEEK = 7 * 86400;
/** Times closer than this are one, in s. */
const INSTANT = 1e-3;

/** Sums at the start of a run, at each midnight and at the end, times in s from the start. */
export type DaySums = readonly { readonly time: number; readonly sums: RunSums }[];

/** The extreme of a sum over seven days in a row, with the time (s from the start) at which they begin. */
export interface WeekSum {
  readonly value: number;
  readonly from: number;
}

/**
 * The most, or the least, by which a sum grows over seven days from midnight to midnight; over the whole of a run that has no seven days.
 * `sumOf` answers the sum as it stands at a time.
 */
export function weekSum(days: DaySums, sumOf: (sums: RunSums) => number, wanted: 'most' | 'least'): WeekSum {
  const values = days.map(({ sums }) => sumOf(sums));
  let found: WeekSum | undefined;
  for (let from = 0, to = 0; from < days.length; from += 1) {
    while (to < days.length && days[to]!.time - days[from]!.time < WEEK - INSTANT) to += 1;
    if (to === days.length) break;
    // A run that begins or ends within a day has stretches that are longer than a week.
    if (days[to]!.time - days[from]!.time > WEEK + INSTANT) continue;
    const value = values[to]! - values[from]!;
    if (!found || (wanted === 'most' ? value > found.value : value < found.value))
      found = { value, from: days[from]!.time };
  }
  return found ?? { value: (values.at(-1) ?? 0) - (values[0] ?? 0), from: 0 };
}
