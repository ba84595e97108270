import type { System } from '../model/types.js';

/** Says of facts that lack because what is stated of them is wrong that they are stated. */
export const asStated = ({ wrongFacts }: System, facts: readonly string[]): readonly string[] =>
  facts.map((fact) => (wrongFacts.has(fact) ? `${fact} (what is stated of it is wrong)` : fact));
