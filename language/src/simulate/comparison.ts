import type { ComparisonPlan } from './plan.js';

/** Whether a comparison holds for the engine's values: 1 or 0. */
export function comparisonTruth({ signals, factors, sign, limit }: ComparisonPlan, values: Float64Array): 0 | 1 {
  let sum = 0;
  for (let at = 0; at < signals.length; at += 1) sum += factors[at]! * values[signals[at]!]!;
  switch (sign) {
    case '<':
      return sum < limit ? 1 : 0;
    case '<=':
      return sum <= limit ? 1 : 0;
    case '>':
      return sum > limit ? 1 : 0;
    case '>=':
      return sum >= limit ? 1 : 0;
    case '==':
      return sum === limit ? 1 : 0;
    case '!=':
      return sum !== limit ? 1 : 0;
  }
}
