import type { Place } from '../derivation/index.js';

/**
 * What reading a text can find wrong, as data. The checks of the group "Text and meaning" put it into words and add the fixes, so that
 * the model knows no wording.
 */
export type Problem = { readonly place: Place; readonly subject: string } & (
  | {
      readonly code: 'syntax-error';
      readonly message: string;
      /** Whether the text behind it is not read at all. */
      readonly endsReading?: true;
    }
  | {
      readonly code: 'unknown-name';
      readonly name: string;
      /** What was looked for: `part`, `property of a battery`, `terminal of Rect`, `value of fuel` … */
      readonly wanted: string;
      /** Names that would be right here. */
      readonly candidates: readonly string[];
      /** Those of them that the word means although it is spelt otherwise: `rated` for `continuous`. */
      readonly meant?: readonly string[];
      readonly hint?: string;
      /** What the thing has to state to have it, and the edit that writes it. */
      readonly needs?: { readonly statement: string; readonly place: Place; readonly text: string };
    }
  | { readonly code: 'duplicate-name'; readonly name: string; readonly what: string; readonly first: Place }
  | { readonly code: 'unused-part'; readonly name: string; readonly whole: Place }
  | {
      readonly code: 'contradictory-ratings';
      readonly part: string;
      readonly lower: { readonly name: string; readonly text: string };
      readonly higher: { readonly name: string; readonly text: string };
      readonly isBelow: boolean;
    }
  | { readonly code: 'missing-rating'; readonly part: string; readonly missing: readonly string[] }
  | { readonly code: 'import-loop'; readonly chain: readonly string[] }
  | { readonly code: 'extends-loop'; readonly chain: readonly string[] }
  | {
      readonly code: 'import-outside';
      readonly path: string;
      readonly reason: 'outside' | 'not-relative';
      /** What would allow it. */
      readonly mend?: string;
    }
  | {
      readonly code: 'wrong-dimension';
      /** What it is for: `capacity` of a battery, or the operation. */
      readonly what: string;
      /** Dimensions that fit, in words. */
      readonly expected: string;
      /** What stands there, in words, and its text. */
      readonly found: string;
      readonly text: string;
      /** The text as it was probably meant. */
      readonly proposals: readonly string[];
    }
  | {
      readonly code: 'wrong-type';
      readonly what: string;
      readonly expected: string;
      readonly text: string;
      readonly proposals: readonly string[];
    }
  | { readonly code: 'value-out-of-range'; readonly what: string; readonly text: string; readonly reason: string }
  | {
      /** A variant removes what something else that it keeps rests on. */
      readonly code: 'lost-end';
      /** What is left behind: `run GenCord`. */
      readonly thing: string;
      readonly removed: string;
      /** Whether it ends at it, commands it, or only speaks of it. */
      readonly how: 'ends' | 'commands' | 'speaks';
      /** Where the variant removes it. */
      readonly removal: Place;
      /** Its name, where it can be removed too. */
      readonly name?: string;
    }
  | { readonly code: 'not-evaluated'; readonly what: string; readonly count: number; readonly reason: string }
);

export type ProblemCode = Problem['code'];

/** Distributes `Omit` over the union, so that each kind of problem keeps its own facts. */
type Facts<T> = T extends unknown ? Omit<T, 'place' | 'subject'> : never;
export type ProblemFacts = Facts<Problem>;
