import { type Derivation, derive, known, numberIn, refused } from '../../derivation/index.js';
import { defineFunction, needs, word } from '../registry.js';

export const TAKE_OFFS = ['end', 'diagonal', 'busbar'] as const;
export type TakeOff = (typeof TAKE_OFFS)[number];

/** Below this ratio of link to string the strings share alike within a billionth. */
const NO_LINKS = 1e-9;

/**
 * Shares of the current in like strings that stand in a row, joined by like links in both poles, summing to 1. `ratio` is the resistance
 * of one link over that of one string, `count` ≥ 1.
 *
 * Between neighbours the difference of the currents is that of the voltages over the resistance of a string. Taking it twice leaves
 * I(k−1) − (2 + 2a)·I(k) + I(k+1) = 0 for every string between two others, whatever the take-off; the ends differ by it. With
 * I(k) + 2a·ΣI behind it the equations at the ends hold, too. The matrix is tridiagonal and dominated by its diagonal.
 */
export function sharesOf(count: number, ratio: number, takeOff: TakeOff): readonly number[] {
  if (count === 1 || takeOff === 'busbar' || ratio < NO_LINKS) return Array.from({ length: count }, () => 1 / count);
  const diagonal = Array.from(
    { length: count },
    (_, index) => (index === 0 || index === count - 1 ? 1 : 2) + 2 * ratio,
  );
  const right = Array.from({ length: count }, () => 0);
  right[0] = takeOff === 'end' ? 2 * ratio : ratio;
  if (takeOff === 'diagonal') right[count - 1]! += ratio;
  for (let at = 1; at < count; at += 1) {
    const factor = 1 / diagonal[at - 1]!;
    diagonal[at]! -= factor;
    right[at]! += factor * right[at - 1]!;
  }
  const shares = Array.from({ length: count }, () => 0);
  for (let at = count - 1; at >= 0; at -= 1) shares[at] = (right[at]! + (shares[at + 1] ?? 0)) / diagonal[at]!;
  return shares;
}

export const stringShare = defineFunction({
  name: 'stringShare',
  group: 'storage',
  summary: 'How much more than its fair share the busiest of several like strings in parallel carries.',
  parameters: {
    strings: needs('ratio', '', 'strings in parallel', { minimum: 1, maximum: 100 }),
    string: needs('resistance', 'ohm', 'resistance of one string, its jumpers included', {
      minimum: 0,
      aboveMinimum: true,
    }),
    jumper: needs('resistance', 'ohm', 'resistance of one link between neighbouring strings', { minimum: 0 }),
    takeOff: word(
      TAKE_OFFS,
      'end: both main cables at the first string; diagonal: at opposite ends; busbar: equal leads',
    ),
  },
  result:
    'current of the busiest string over the mean; `.least` of the least busy, `.string1` … are the shares of the whole',
  worst: 'high',
  validity: 'Like strings of like charge in one row, like links in both poles. New and warm cells share least evenly.',
  sources: ['resistance network of strings and links, solved'],
  examples: [
    {
      call: 'stringShare(strings: 4, string: 20 mohm, jumper: 1.5 mohm, takeOff: end) * 25 A',
      gives: '35.9 A',
      tolerance: 4.2e-3,
      source:
        'widely copied article on interconnecting batteries (from memory): 35.9, 26.2, 20.4 and 17.8 A of 100 A, which sum to 100.3',
    },
    {
      call: 'stringShare(strings: 4, string: 20 mohm, jumper: 1.5 mohm, takeOff: diagonal) * 25 A',
      gives: '26.7 A',
      tolerance: 2e-3,
      source: 'the same article: 26.7, 23.2, 23.2 and 26.7 A',
    },
    {
      call: 'stringShare(strings: 2, string: 10 mohm, jumper: 1 mohm, takeOff: end)',
      gives: '12 / 11',
      source: 'hand calculation: the far string has two links more, 10 and 12 mΩ share 100 A as 6 to 5',
      tolerance: 1e-9,
    },
  ],
  compute: ({ strings, string, jumper, takeOff }) => {
    const count = numberIn(strings, '');
    if (!Number.isInteger(count)) return refused('`strings` of stringShare must be a whole number', 'strings');
    const ratio = numberIn(jumper, 'ohm') / numberIn(string, 'ohm');
    const shares = sharesOf(count, ratio, takeOff);
    const parts: Record<string, Derivation> = {
      least: derive('least busy string over the mean', Math.min(...shares) * count, ''),
    };
    for (const [index, share] of shares.entries())
      parts[`string${index + 1}`] = derive(`share of string ${index + 1}`, share, '');
    return known(
      derive('busiest string over the mean', Math.max(...shares) * count, '', {
        symbol: 's',
        formula: 'solution of the network of strings and links',
        inputs: [strings, string, jumper],
        governing: [{ kind: 'takeOff', at: takeOff }],
        parts,
      }),
    );
  },
});
