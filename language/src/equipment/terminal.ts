/** What a terminal carries. */
export type Carries = 'ac' | 'dc' | 'any';

export interface Terminal {
  readonly name: string;
  readonly carries: Carries;
  /** Whether power can leave, enter, or both. */
  readonly direction: 'out' | 'in' | 'both';
}

/** What a thing states, as far as its terminals and abilities hang on it. */
export interface StatedFacts {
  /** Whether it has a value, a default included. */
  readonly has: (property: string) => boolean;
  readonly word: (property: string) => string | undefined;
  readonly flag: (property: string) => boolean | undefined;
}

/** A condition on what a thing states: that it states a property at all, says yes to one, or says a certain word. */
export type OnlyIf<P extends string = string> =
  | { readonly states: P }
  | { readonly says: P }
  | { readonly word: P; readonly is: string }
  | { readonly any: readonly OnlyIf<P>[] };

/** Whether a condition is met; it is where there is none. */
export function isMet(condition: OnlyIf | undefined, facts: StatedFacts): boolean {
  if (!condition) return true;
  if ('any' in condition) return condition.any.some((each) => isMet(each, facts));
  if ('states' in condition) return facts.has(condition.states);
  if ('says' in condition) return facts.flag(condition.says) === true;
  return facts.word(condition.word) === condition.is;
}
