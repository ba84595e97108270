import type { Place } from '../derivation/index.js';
import type { Quantity, Comparison as Sign } from '../quantity/index.js';
import type { Instance } from './types.js';

/** What a thing shows while time runs. */
export type StateSignal = 'soc' | 'voltage' | 'current' | 'power' | 'temperature';

/**
 * What rules alone ask of a thing: the time for which a set has turned since the beginning (s), and whether the management of a bank lets it
 * be charged or discharged (1 or 0).
 */
export type RuleSignal = 'runTime' | 'mayCharge' | 'mayDischarge';

/**
 * What a rule watches. Values are in coherent SI: `soc` as a share of 0 to 1, V, A, W, and °C for temperatures. `hour` is the time of day
 * in seconds after midnight; `day` counts the days of what is played, the first being 1, so that it changes at midnight. `duty` is whose turn it
 * is among several that take turns by days, from 0: it changes at midnight too.
 */
export type Signal =
  | { readonly kind: 'of'; readonly signal: StateSignal | RuleSignal; readonly of: Instance }
  | { readonly kind: 'clock'; readonly signal: 'hour' | 'day' }
  | DutySignal;

/** Whose turn it is of `among` things, each for `days` days. It stands in comparisons of its own. */
export interface DutySignal {
  readonly kind: 'clock';
  readonly signal: 'duty';
  readonly days: number;
  readonly among: number;
}

/** Whose turn it is on a day, the first being 1. */
export const turnOn = ({ days, among }: DutySignal, day: number): number => Math.floor((day - 1) / days) % among;

export type ComparisonSign = Sign;

/** One signal of a comparison, times a factor. With a factor that has a dimension (`soc(Bank) * Bank.capacity`) it counts in coherent SI. */
export interface SignalTerm {
  readonly factor: number;
  readonly signal: Signal;
}

/**
 * Signals, added up, against a constant: `power(Inv) > 0.8 * Inv.continuous`, `soc(A) < soc(B)` (terms `soc(A)` and −1 × `soc(B)`, limit
 * 0). A comparison of a single signal has the factor 1 and a limit in that signal's own dimension. Every signal stands once; no factor
 * is 0.
 */
export interface Comparison {
  readonly type: 'comparison';
  /** At least one. */
  readonly terms: readonly SignalTerm[];
  readonly comparison: ComparisonSign;
  /** What the sum of the terms is compared with; a range where the text gives one. */
  readonly limit: Quantity;
  readonly place: Place;
  /** Place of the limit alone, for fixes: the side without signals, else the right side. */
  readonly limitPlace: Place;
}

/** When a rule acts, or quiet hours make their exception. */
export type Condition =
  | Comparison
  | { readonly type: 'all' | 'any'; readonly of: readonly Condition[]; readonly place: Place }
  | { readonly type: 'not'; readonly of: Condition; readonly place: Place };

/** A key that is the same for the same signal of the same thing. */
export function signalKey(signal: Signal): string {
  if (signal.kind === 'of') return `${signal.signal}(${signal.of.name})`;
  return signal.signal === 'duty' ? `duty of ${signal.among} every ${signal.days} d` : signal.signal;
}

/** The comparisons a condition consists of, in the order of the text. */
export function comparisonsOf(condition: Condition): readonly Comparison[] {
  switch (condition.type) {
    case 'comparison':
      return [condition];
    case 'not':
      return comparisonsOf(condition.of);
    default:
      return condition.of.flatMap(comparisonsOf);
  }
}

/** The signals a condition watches, each once. */
export function signalsOf(condition: Condition): readonly Signal[] {
  const signals = new Map<string, Signal>();
  for (const { terms } of comparisonsOf(condition))
    for (const { signal } of terms) signals.set(signalKey(signal), signal);
  return [...signals.values()];
}

/** Whether a comparison holds for a sum of its terms, in coherent SI. A range as limit counts with its middle. */
export function comparisonHolds({ comparison, limit }: Comparison, sum: number): boolean {
  switch (comparison) {
    case '<':
      return sum < limit.value;
    case '<=':
      return sum <= limit.value;
    case '>':
      return sum > limit.value;
    case '>=':
      return sum >= limit.value;
    case '==':
      return sum === limit.value;
    case '!=':
      return sum !== limit.value;
  }
}

/** Whether a condition holds, with the truth of each of its comparisons. */
export function conditionHolds(condition: Condition, truth: (comparison: Comparison) => boolean): boolean {
  switch (condition.type) {
    case 'comparison':
      return truth(condition);
    case 'not':
      return !conditionHolds(condition.of, truth);
    case 'all':
      return condition.of.every((each) => conditionHolds(each, truth));
    case 'any':
      return condition.of.some((each) => conditionHolds(each, truth));
  }
}
