import type { PartArgument } from '../../calculate/index.js';
import { type Derivation, type Result, known, missing, refused } from '../../derivation/index.js';
import type { Dimension } from '../../quantity/index.js';

/**
 * The value of an expression while it is worked out: known; pending because a fact is missing (its dimension is still checked); or
 * bad, in which case the problem has already been reported.
 */
export type Evaluated =
  | { readonly kind: 'known'; readonly derivation: Derivation }
  | { readonly kind: 'part'; readonly part: PartArgument }
  | { readonly kind: 'thing'; readonly name: string; readonly thingKind: string }
  | {
      readonly kind: 'pending';
      readonly dimension: Dimension | 'condition' | undefined;
      readonly missing: readonly string[];
    }
  | { readonly kind: 'bad'; readonly reason: string };

export const knownValue = (derivation: Derivation): Evaluated => ({ kind: 'known', derivation });
export const pending = (dimension: Dimension | 'condition' | undefined, ...facts: readonly string[]): Evaluated => ({
  kind: 'pending',
  dimension,
  // Each once: a value used twice would else double the list at every step.
  missing: facts.length > 1 ? [...new Set(facts)] : facts,
});
export const bad = (reason: string): Evaluated => ({ kind: 'bad', reason });

export const missingOf = (value: Evaluated): readonly string[] => (value.kind === 'pending' ? value.missing : []);

export function dimensionOfValue(value: Evaluated): Dimension | undefined {
  if (value.kind === 'known' && typeof value.derivation.value === 'object') return value.derivation.value.dimension;
  return value.kind === 'pending' && value.dimension !== 'condition' ? value.dimension : undefined;
}

/** Whether a value can stand where a condition belongs. What is bad has been reported already. */
export const isCondition = (value: Evaluated): boolean =>
  value.kind === 'bad' ||
  (value.kind === 'known' && typeof value.derivation.value === 'boolean') ||
  (value.kind === 'pending' && (value.dimension === 'condition' || value.dimension === undefined));

/** An evaluated value as the result of a calculation. */
export function asResult(value: Evaluated): Result {
  switch (value.kind) {
    case 'known':
      return known(value.derivation);
    case 'pending':
      return missing(...value.missing);
    case 'bad':
      return refused(value.reason);
    case 'part':
      return refused(`${value.part.name} is a part, not a value`);
    case 'thing':
      return refused(`${value.name} is a ${value.thingKind}, not a value`);
  }
}

/** What lacks where a hole `?` stands in an expression. */
export const OPEN_VALUE = 'a value for `?`';
