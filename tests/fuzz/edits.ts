import fc from 'fast-check';
import { TABLE_WORDS } from './vocabulary.js';

/** One change of a text. `at` and `to` are shares of its length, so that one edit fits every text. */
export type Edit =
  | { readonly kind: 'insert'; readonly at: number; readonly text: string }
  | { readonly kind: 'delete'; readonly at: number; readonly to: number }
  | { readonly kind: 'swap'; readonly at: number; readonly to: number; readonly length: number }
  | { readonly kind: 'duplicate'; readonly at: number; readonly to: number; readonly length: number }
  | { readonly kind: 'truncate'; readonly at: number }
  | { readonly kind: 'replace-token'; readonly at: number; readonly text: string }
  | { readonly kind: 'swap-tokens'; readonly at: number; readonly to: number }
  | { readonly kind: 'drop-token'; readonly at: number };

const share = fc.double({ min: 0, max: 1, noNaN: true, noDefaultInfinity: true });

/** What a slip of the hand, a paste or a malicious sender puts into a text. */
const splinter = fc.oneof(
  { weight: 6, arbitrary: fc.constantFrom(...TABLE_WORDS) },
  { weight: 2, arbitrary: fc.string({ maxLength: 8 }) },
  { weight: 1, arbitrary: fc.string({ unit: 'binary', maxLength: 8 }) },
);

const edit: fc.Arbitrary<Edit> = fc.oneof(
  fc.record({ kind: fc.constant('insert' as const), at: share, text: splinter.map((text) => ` ${text} `) }),
  fc.record({ kind: fc.constant('insert' as const), at: share, text: splinter }),
  fc.record({ kind: fc.constant('delete' as const), at: share, to: share }),
  fc.record({ kind: fc.constant('swap' as const), at: share, to: share, length: fc.nat(60) }),
  fc.record({ kind: fc.constant('duplicate' as const), at: share, to: share, length: fc.nat(200) }),
  fc.record({ kind: fc.constant('truncate' as const), at: share }),
  { weight: 4, arbitrary: fc.record({ kind: fc.constant('replace-token' as const), at: share, text: splinter }) },
  { weight: 2, arbitrary: fc.record({ kind: fc.constant('swap-tokens' as const), at: share, to: share }) },
  { weight: 2, arbitrary: fc.record({ kind: fc.constant('drop-token' as const), at: share }) },
);

/** A handful of edits; most texts get few, so that much of their meaning stays. */
export const edits: fc.Arbitrary<readonly Edit[]> = fc.array(edit, { minLength: 1, maxLength: 6 });

const TOKEN =
  /\/\/[^\n]*|\/\*[\s\S]*?\*\/|"(?:\\.|[^"\\\n])*"|[\w.-]+(?:[ \t]*(?:%|AWG|kcmil|[A-Za-z]+\/?[A-Za-z]*)(?=\s))?|\S/g;

function tokenAt(text: string, at: number): { from: number; to: number } | undefined {
  const tokens = [...text.matchAll(TOKEN)];
  const found = tokens[Math.min(tokens.length - 1, Math.floor(at * tokens.length))];
  return found && { from: found.index, to: found.index + found[0].length };
}

const spliced = (text: string, from: number, to: number, by: string): string =>
  text.slice(0, from) + by + text.slice(to);

export function applyEdit(text: string, change: Edit): string {
  const at = Math.floor(change.at * text.length);
  switch (change.kind) {
    case 'insert':
      return spliced(text, at, at, change.text);
    case 'delete': {
      // A short stretch more often than a long one.
      const length = Math.floor(change.to ** 4 * (text.length - at));
      return spliced(text, at, at + length, '');
    }
    case 'swap': {
      const other = Math.floor(change.to * text.length);
      const [first, second] = at < other ? [at, other] : [other, at];
      const length = Math.min(change.length, second - first, text.length - second);
      const [left, right] = [text.slice(first, first + length), text.slice(second, second + length)];
      return spliced(spliced(text, second, second + length, left), first, first + length, right);
    }
    case 'duplicate': {
      const target = Math.floor(change.to * text.length);
      return spliced(text, target, target, text.slice(at, at + change.length));
    }
    case 'truncate':
      return text.slice(0, Math.floor(text.length * (1 - change.at ** 3)));
    case 'replace-token': {
      const token = tokenAt(text, change.at);
      return token ? spliced(text, token.from, token.to, change.text) : text;
    }
    case 'drop-token': {
      const token = tokenAt(text, change.at);
      return token ? spliced(text, token.from, token.to, '') : text;
    }
    case 'swap-tokens': {
      const [one, two] = [tokenAt(text, change.at), tokenAt(text, change.to)];
      if (!one || !two || one.from === two.from) return text;
      const [first, second] = one.from < two.from ? [one, two] : [two, one];
      const late = spliced(text, second.from, second.to, text.slice(first.from, first.to));
      return spliced(late, first.from, first.to, text.slice(second.from, second.to));
    }
  }
}

export const edited = (text: string, changes: readonly Edit[]): string => changes.reduce(applyEdit, text);
