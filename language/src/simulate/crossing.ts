import { INSTANT } from './calendar.js';

/** Share of what is left to search by which a guess goes to one side, so that the next one closes in from the other. */
const NUDGE = 1e-5;
/** Looks after which half of what is left must be gone, or the next goes to its middle. */
const PATIENCE = 2;

/**
 * Searches a step for the moment at which something first switches, from what comparisons miss their limits by at its ends: straight
 * lines between them say where to look. What is not a comparison says nothing of that, and is closed in by halves. Which side a moment
 * lies on is told by what really holds there, so that a poor guess costs time alone.
 */
export class Crossing {
  /** s from the start of the step: nothing has switched up to `low`, something has by `high`. */
  low = 0;
  high = 0;
  private readonly lowOver: Float64Array;
  private readonly highOver: Float64Array;
  private readonly highTruths: Uint8Array;
  private width = Infinity;
  private looks = 0;
  private isFromAbove = true;

  constructor(
    private readonly comparisons: number,
    conditions: number,
    /** How closely the moment is to be found, s. */
    private readonly closeness = INSTANT,
  ) {
    this.lowOver = new Float64Array(comparisons);
    this.highOver = new Float64Array(comparisons);
    this.highTruths = new Uint8Array(conditions);
  }

  /** Begins with a step of so many s; `over` is what comparisons are above their limits by at its start, `overEnd` and `truthsEnd` what holds at its end. */
  begin(length: number, over: Float64Array, overEnd: Float64Array, truthsEnd: Uint8Array): void {
    [this.low, this.high, this.width, this.looks, this.isFromAbove] = [0, length, length, 0, true];
    this.lowOver.set(over);
    this.highOver.set(overEnd);
    this.highTruths.set(truthsEnd);
  }

  get isFound(): boolean {
    return this.high - this.low <= this.closeness;
  }

  /** Where to look next; `truths` is what holds at the start of the step. */
  next(truths: Uint8Array): number {
    const { low, high } = this;
    const width = high - low;
    const middle = low + width / 2;
    this.looks += 1;
    if (this.looks > PATIENCE) {
      const isSlow = width > this.width / 2;
      [this.width, this.looks] = [width, 0];
      if (isSlow) return middle;
    }
    const guess = this.guess(truths);
    if (!(guess > low && guess < high)) return middle;
    const nudge = Math.max(0.4 * this.closeness, NUDGE * width);
    const at = Math.max(INSTANT, this.isFromAbove ? guess + nudge : guess - nudge);
    this.isFromAbove = !this.isFromAbove;
    return at > low && at < high ? at : middle;
  }

  /** Takes what was found there. */
  take(at: number, isQuiet: boolean, over: Float64Array, truths: Uint8Array): void {
    if (isQuiet) {
      this.low = at;
      this.lowOver.set(over);
      return;
    }
    this.high = at;
    this.highOver.set(over);
    this.highTruths.set(truths);
  }

  /** The first crossing of a straight line; NaN where anything else switches too. */
  private guess(truths: Uint8Array): number {
    let first = Infinity;
    for (let at = 0; at < truths.length; at += 1) {
      if (truths[at] === this.highTruths[at]) continue;
      if (at >= this.comparisons) return NaN;
      const [from, to] = [this.lowOver[at]!, this.highOver[at]!];
      const place = this.low + ((this.high - this.low) * from) / (from - to);
      if (!(place >= first)) first = place;
    }
    return first;
  }
}
