import type { BankPlan } from './plan.js';

/** How long each bank goes without being full: told the charge at the end of every step, between which it runs straight. */
export class SinceFull {
  /** s, by bank: the longest so far. */
  readonly longest: Float64Array;
  /** Time in s since which each is not full; not a number while it is. */
  private readonly since: Float64Array;
  private readonly before: Float64Array;
  private readonly full: Float64Array;
  private time = 0;

  constructor(banks: readonly BankPlan[]) {
    this.longest = new Float64Array(banks.length);
    this.full = Float64Array.from(banks, ({ capacity, fullFrom }) => fullFrom * capacity);
    this.before = Float64Array.from(banks, ({ capacity, soc }) => soc * capacity);
    this.since = this.before.map((charge, at) => (charge < this.full[at]! ? 0 : NaN));
  }

  /** Goes on to a time (s) and the charge (C) of the banks there. */
  advance(time: number, charge: Float64Array): void {
    for (let at = 0; at < charge.length; at += 1) {
      const full = this.full[at]!;
      const [from, to] = [this.before[at]!, charge[at]!];
      this.before[at] = to;
      const crossing = (): number => this.time + ((time - this.time) * (full - from)) / (to - from);
      if (from >= full && to < full) this.since[at] = crossing();
      if (this.since[at]! >= 0) {
        const isFull = to >= full;
        this.longest[at] = Math.max(this.longest[at]!, (isFull ? crossing() : time) - this.since[at]!);
        if (isFull) this.since[at] = NaN;
      }
    }
    this.time = time;
  }
}
