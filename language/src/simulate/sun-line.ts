import { DAY, INSTANT } from './calendar.js';
import { DaySun } from '../quantities/weather/day-sun.js';
import type { ArrayPlan, SunPlan } from '../quantities/weather/plans.js';

/**
 * What arrays can give over a day as straight lines between the middles of its slots, so that a step may be as long as a slot and
 * nothing jumps at its end. A day gives what its slots give, since lines between middles have the same sum.
 */
export class SunLine {
  /** W and A of each array where it was read last, and how they go on from there, per s. */
  readonly watts: Float64Array;
  readonly amperes: Float64Array;
  readonly wattsRate: Float64Array;
  readonly amperesRate: Float64Array;
  private readonly day: DaySun;

  constructor(plan: SunPlan, arrays: readonly ArrayPlan[], resolution: number) {
    this.day = new DaySun(plan, arrays, resolution);
    const perArray = (): Float64Array => new Float64Array(arrays.length);
    [this.watts, this.amperes, this.wattsRate, this.amperesRate] = [perArray(), perArray(), perArray(), perArray()];
  }

  /** Takes a day of the year; `startsAt` is its midnight in s from the start of the play. */
  fill(dayOfYear: number, clearness: number, startsAt: number, year: number): void {
    this.day.fill(dayOfYear, clearness, startsAt, year);
  }

  /** Reads a time of day (s). Answers whether any array is not where the line before led. */
  read(timeOfDay: number): boolean {
    const { day, watts, amperes, wattsRate, amperesRate } = this;
    const last = day.slots - 1;
    const place = timeOfDay / day.slot - 0.5;
    const knot = Math.floor(place + INSTANT / day.slot);
    const share = Math.max(0, place - knot);
    const [from, to] = [Math.min(last, Math.max(0, knot)), Math.min(last, Math.max(0, knot + 1))];
    let isOther = false;
    for (let at = 0; at < watts.length; at += 1) {
      const [ofDay, currents] = [day.watts[at]!, day.amperes[at]!];
      const rise = ofDay[to]! - ofDay[from]!;
      const before = watts[at]!;
      watts[at] = ofDay[from]! + share * rise;
      wattsRate[at] = rise / day.slot;
      const more = currents[to]! - currents[from]!;
      amperes[at] = currents[from]! + share * more;
      amperesRate[at] = more / day.slot;
      // What was reached along a line differs from where the next begins by rounding alone.
      if (Math.abs(watts[at]! - before) > 1e-9 * Math.max(1, before)) isOther = true;
    }
    return isOther;
  }

  /** Goes on along the lines for s. */
  advance(seconds: number): void {
    const { watts, wattsRate } = this;
    for (let at = 0; at < watts.length; at += 1) watts[at]! += wattsRate[at]! * seconds;
  }

  /** s after midnight at which the lines bend next, behind a time of day; infinite when not before midnight. */
  nextKnot(timeOfDay: number): number {
    const { day } = this;
    if (day.end === 0) return Infinity;
    const knot = Math.floor((timeOfDay + INSTANT) / day.slot - 0.5) + 1;
    const next = Math.max(knot, day.first - 1);
    return next > day.end ? Infinity : Math.min(DAY, (next + 0.5) * day.slot);
  }
}
