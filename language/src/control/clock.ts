import { type Comparison, turnOn } from '../model/conditions.js';

/** Seconds of a day. */
export const DAY = 86_400;

/** Times closer than this count as the same instant, in s: sums of time steps do not hit a full hour to the last digit. */
const SAME_INSTANT = 1e-6;

/** A moment: the day (the first of what is played is 1) and the seconds since its midnight. */
export interface Moment {
  readonly day: number;
  readonly timeOfDay: number;
}

/** The moment some seconds later. */
export function later({ day, timeOfDay }: Moment, seconds: number): Moment {
  const time = timeOfDay + seconds;
  if (time < DAY - SAME_INSTANT) return { day, timeOfDay: time };
  const days = Math.floor((time + SAME_INSTANT) / DAY);
  return { day: day + days, timeOfDay: Math.max(0, time - days * DAY) };
}

/** Whether a comparison watches the clock alone, so that its truth follows from the moment. */
export const isOfClock = ({ terms }: Comparison): boolean => terms.every(({ signal }) => signal.kind === 'clock');

/** What a signal of the clock shows at a moment. */
function shownAt(signal: Comparison['terms'][number]['signal'], { day, timeOfDay }: Moment): number {
  if (signal.signal === 'hour') return timeOfDay;
  return signal.signal === 'duty' ? turnOn(signal, day) : day;
}

/** The sum of a clock comparison’s terms at a moment, and how it grows in a second. */
function sumAt({ terms }: Comparison, moment: Moment): { sum: number; rate: number } {
  let [sum, rate] = [0, 0];
  for (const { factor, signal } of terms) {
    sum += factor * shownAt(signal, moment);
    if (signal.signal === 'hour') rate += factor;
  }
  return { sum, rate };
}

/**
 * Whether a comparison of the clock holds. At the very instant of its limit it already holds or no longer holds, whichever is true just
 * after it, so that `hour > 6 h` begins at 06:00. An equality holds for the whole second.
 */
export function clockHolds(comparison: Comparison, moment: Moment): boolean {
  const { sum, rate } = sumAt(comparison, moment);
  const past = sum - comparison.limit.value;
  const isAt = Math.abs(past) <= SAME_INSTANT;
  const isEqual = rate === 0 ? isAt : past >= -SAME_INSTANT && past < 1 - SAME_INSTANT;
  const isGreater = rate === 0 ? past > SAME_INSTANT : rate > 0 ? past >= -SAME_INSTANT : past > SAME_INSTANT;
  switch (comparison.comparison) {
    case '==':
      return isEqual;
    case '!=':
      return !isEqual;
    case '>':
      return isGreater;
    case '>=':
      return isGreater || (rate === 0 && isAt);
    case '<':
      return !(isGreater || (rate === 0 && isAt));
    case '<=':
      return !isGreater;
  }
}

/** Seconds until a comparison of the clock can change: at its limit, a second after an equality, or at midnight. Always more than 0. */
export function untilClockChanges(comparison: Comparison, now: Moment): number {
  // The last instant of a day is the first of the next: rounding must not make it one after which nothing ever comes.
  const moment = later(now, 0);
  const { sum, rate } = sumAt(comparison, moment);
  const toMidnight = DAY - moment.timeOfDay;
  const changes = [toMidnight];
  if (rate !== 0) {
    const toLimit = (comparison.limit.value - sum) / rate;
    changes.push(toLimit);
    if (comparison.comparison === '==' || comparison.comparison === '!=') changes.push(toLimit + 1);
  }
  return Math.min(...changes.filter((seconds) => seconds > SAME_INSTANT));
}

/** Hours of the day from one time to another, which may run over midnight; seconds after midnight. */
export interface Hours {
  readonly from: number;
  readonly to: number;
}

/** Whether a time of day lies in hours: their first instant does, their last does not. */
export function isWithin({ from, to }: Hours, timeOfDay: number): boolean {
  const time = timeOfDay + SAME_INSTANT;
  return from <= to ? time >= from && time < to : time >= from || time < to;
}

/** Seconds until the hours end, for a time within them. */
export function untilEnd({ from, to }: Hours, timeOfDay: number): number {
  if (from === 0 && to === DAY) return Infinity;
  const left = (((to - timeOfDay) % DAY) + DAY) % DAY;
  return left <= SAME_INSTANT ? DAY : left;
}
