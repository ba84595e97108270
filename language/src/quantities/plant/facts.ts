import { type Derivation, type Result, numberIn } from '../../derivation/index.js';
import { highEnd } from '../ends.js';
import { formatQuantity } from '../../quantity/index.js';

/** Gathers what a play rests on: numbers as they are known, the names of those that lack, and what was taken without being stated. */
export class Facts {
  /** `at`: where in its range a fact counts, at its middle unless its unfavourable end is the high one. */
  constructor(private readonly at: 'middle' | 'high' = 'middle') {}

  readonly missing = new Set<string>();
  readonly refused = new Set<string>();
  readonly assumptions = new Set<string>();

  /** The number of a result in `unit`; NaN, with the facts noted, when there is none. A range counts with its middle, which is noted. */
  number(result: Result, unit: string): number {
    if (result.kind === 'missing') {
      for (const fact of result.missing) this.missing.add(fact);
      return NaN;
    }
    if (result.kind === 'refused') {
      this.refused.add(result.reason);
      return NaN;
    }
    return this.of(result.derivation, unit);
  }

  /** The number of a derivation in `unit`; the middle of a range, which is noted. */
  of(derivation: Derivation, unit: string): number {
    const { value } = derivation;
    if (this.at === 'high') return numberIn(highEnd(derivation), unit);
    if (typeof value === 'object' && value.low !== value.high)
      this.assume(
        `${derivation.name} is taken at the middle of its range, ${formatQuantity({ ...value, low: value.value, high: value.value })}`,
      );
    return numberIn(derivation, unit);
  }

  /** As `number`, for values without which nothing can be divided by: 0 is refused. */
  aboveZero(result: Result, unit: string): number {
    const value = this.number(result, unit);
    if (value <= 0 && result.kind === 'known')
      this.refused.add(`${result.derivation.name} must be more than 0 to be simulated`);
    return value;
  }

  lack(fact: string): number {
    this.missing.add(fact);
    return NaN;
  }

  assume(sentence: string): void {
    this.assumptions.add(sentence);
  }
}
