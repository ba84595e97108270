import { type Derivation, displayValue } from '../derivation/index.js';

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
    if (next.origin === 'assumed' || next.origin === 'default') found.add(assumptionText(next));
    else queue.push(...next.inputs);
  }
  return [...found];
}

const assumptionText = (derivation: Derivation): string =>
  `${derivation.name} ${displayValue(derivation)}${derivation.origin === 'assumed' ? ' (assumed)' : ''}`;
