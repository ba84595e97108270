import type { Derivation } from '../derivation/index.js';
import { assumptionText } from '../glossary/assumed-words.js';

/** Steps looked at for one finding: a value used twice is found once, and no text can make this long. */
const MOST_STEPS = 400;

/** `ambient 30 °C`, `length 25 m (assumed)`: what numbers rest on that nobody stated, each once, in the order in which it counts. */
export function assumptionsOf(numbers: readonly Derivation[]): readonly string[] {
  const found = new Set<string>();
  const seen = new Set<Derivation>();
  const queue = [...numbers];
  for (let next = queue.shift(); next && seen.size < MOST_STEPS; next = queue.shift()) {
    if (seen.has(next)) continue;
    seen.add(next);
    if (next.origin === 'assumed' || (next.origin === 'default' && !isNeutral(next))) found.add(assumptionText(next));
    else if (next.origin === 'default') continue;
    else queue.push(...next.inputs);
  }
  return [...found];
}

/** A factor of one, one string or no allowance changes nothing: that nobody stated it counts for nothing. */
const isNeutral = ({ value, fact }: Derivation): boolean =>
  typeof value === 'object'
    ? value.low === value.high && (value.value === 0 || (value.value === 1 && !isCount(fact)))
    : false;

/** Modules and strings are counted: that one is taken matters. */
const isCount = (fact: string | undefined): boolean => fact === 'series' || fact === 'parallel';
