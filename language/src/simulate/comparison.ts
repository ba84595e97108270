import type { ComparisonSign } from '../model/conditions.js';
import type { ComparisonPlan } from './plan.js';

const SIGNS: readonly ComparisonSign[] = ['<', '<=', '>', '>=', '==', '!='];

/** The comparisons of the rules in flat lists, judged at every step. */
export class Comparisons {
  private readonly signs: Int32Array;
  private readonly limits: Float64Array;
  /** First term of each comparison in the lists of terms; one more at the end. */
  private readonly first: Int32Array;
  private readonly signals: Int32Array;
  private readonly factors: Float64Array;

  constructor(plans: readonly ComparisonPlan[]) {
    this.signs = Int32Array.from(plans, ({ sign }) => SIGNS.indexOf(sign));
    this.limits = Float64Array.from(plans, ({ limit }) => limit);
    this.signals = Int32Array.from(plans.flatMap(({ signals }) => [...signals]));
    this.factors = Float64Array.from(plans.flatMap(({ factors }) => [...factors]));
    this.first = new Int32Array(plans.length + 1);
    plans.forEach(({ signals }, at) => (this.first[at + 1] = this.first[at]! + signals.length));
  }

  /** Writes 1 where a comparison holds for the values, else 0, and what each is above its limit by. */
  judge(values: Float64Array, truths: Uint8Array, over: Float64Array): void {
    const { signs, limits, first, signals, factors } = this;
    for (let at = 0; at < signs.length; at += 1) {
      let sum = 0;
      for (let term = first[at]!; term < first[at + 1]!; term += 1) sum += factors[term]! * values[signals[term]!]!;
      over[at] = sum - limits[at]!;
      truths[at] = holds(signs[at]!, sum, limits[at]!) ? 1 : 0;
    }
  }
}

function holds(sign: number, sum: number, limit: number): boolean {
  switch (sign) {
    case 0:
      return sum < limit;
    case 1:
      return sum <= limit;
    case 2:
      return sum > limit;
    case 3:
      return sum >= limit;
    case 4:
      return sum === limit;
    default:
      return sum !== limit;
  }
}
