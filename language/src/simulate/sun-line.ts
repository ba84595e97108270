import { DAY, INSTANT } from './calendar.js';
import { DaySun } from '../quantities/weather/day-sun.js';
import type { ArrayPlan, SunPlan } from '../quantities/weather/plans.js';

/** Share of what an array gives in full sun by which the lines of its day may lie off its slots. */
const STRAIGHT = 1e-3;

/**
 * What arrays can give over a day as straight lines between the middles of its slots, so that nothing jumps at the end of a step. Slots
 * that lie on a line within a thousandth of what the array gives in full sun are put on it, so that a step may be as long as the line.
 * A day gives what its slots give: lines between middles have the same sum, and what is put on lines is brought back to it.
 */
export class SunLine {
  /** W and A of each array where it was read last, and how they go on from there, per s. */
  readonly watts: Float64Array;
  readonly amperes: Float64Array;
  readonly wattsRate: Float64Array;
  readonly amperesRate: Float64Array;
  private readonly day: DaySun;
  /** Everything that runs along lines, with how far it may lie off them; and the slopes that keep within that, as seen from the last bend. */
  private readonly lines: readonly { readonly slots: Float64Array; readonly within: number }[];
  private readonly flattest: Float64Array;
  private readonly steepest: Float64Array;
  private readonly sums: Float64Array;
  /** Slots at whose middle a line bends. */
  private readonly bends: Uint8Array;

  constructor(plan: SunPlan, arrays: readonly ArrayPlan[], resolution: number) {
    this.day = new DaySun(plan, arrays, resolution);
    const perArray = (): Float64Array => new Float64Array(arrays.length);
    [this.watts, this.amperes, this.wattsRate, this.amperesRate] = [perArray(), perArray(), perArray(), perArray()];
    this.lines = arrays.flatMap(({ watts, amperes }, at) => [
      { slots: this.day.watts[at]!, within: STRAIGHT * watts },
      { slots: this.day.amperes[at]!, within: STRAIGHT * amperes },
    ]);
    this.flattest = new Float64Array(this.lines.length);
    this.steepest = new Float64Array(this.lines.length);
    this.sums = new Float64Array(this.lines.length);
    this.bends = new Uint8Array(this.day.slots);
  }

  /** Takes a day of the year; `startsAt` is its midnight in s from the start of the play. */
  fill(dayOfYear: number, clearness: number, startsAt: number, year: number): void {
    this.day.fill(dayOfYear, clearness, startsAt, year);
    const { lines, bends } = this;
    const { first, end, slots } = this.day;
    bends.fill(0);
    if (end === 0) return;
    const last = Math.min(slots - 1, end);
    for (let at = 0; at < lines.length; at += 1) this.sums[at] = sumOf(lines[at]!.slots);
    let from = Math.max(0, first - 1);
    bends[from] = 1;
    while (from < last) {
      let to = from + 1;
      this.flattest.fill(-Infinity);
      this.steepest.fill(Infinity);
      while (to < last && this.mayRunPast(from, to)) to += 1;
      this.straighten(from, to);
      bends[to] = 1;
      from = to;
    }
    for (let at = 0; at < lines.length; at += 1) {
      const { slots: values } = lines[at]!;
      const sum = sumOf(values);
      if (sum > 0) for (let slot = 0; slot < slots; slot += 1) values[slot]! *= this.sums[at]! / sum;
    }
  }

  /** Whether lines from the middle of a slot may run past that of another, to the one behind it at least. */
  private mayRunPast(from: number, to: number): boolean {
    const { lines, flattest, steepest } = this;
    for (let at = 0; at < lines.length; at += 1) {
      const { slots, within } = lines[at]!;
      const rise = slots[to]! - slots[from]!;
      flattest[at] = Math.max(flattest[at]!, (rise - within) / (to - from));
      steepest[at] = Math.min(steepest[at]!, (rise + within) / (to - from));
      const slope = (slots[to + 1]! - slots[from]!) / (to + 1 - from);
      if (!(slope >= flattest[at]! && slope <= steepest[at]!)) return false;
    }
    return true;
  }

  /** Puts what lies between the middles of two slots on lines between them. */
  private straighten(from: number, to: number): void {
    for (let at = 0; at < this.lines.length; at += 1) {
      const { slots } = this.lines[at]!;
      const slope = (slots[to]! - slots[from]!) / (to - from);
      for (let slot = from + 1; slot < to; slot += 1) slots[slot] = slots[from]! + slope * (slot - from);
    }
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
    const { day, bends } = this;
    if (day.end === 0) return Infinity;
    let next = Math.max(Math.floor((timeOfDay + INSTANT) / day.slot - 0.5) + 1, day.first - 1);
    while (next >= 0 && next < day.slots && !bends[next]) next += 1;
    return next > day.end ? Infinity : Math.min(DAY, (next + 0.5) * day.slot);
  }
}

function sumOf(values: Float64Array): number {
  let sum = 0;
  for (let at = 0; at < values.length; at += 1) sum += values[at]!;
  return sum;
}
