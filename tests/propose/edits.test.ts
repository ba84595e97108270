import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { composed } from '../../language/src/propose/edits.js';
import { type Edit, edited } from '../../language/src/index.js';

/** Edits that do not overlap, in a text of some length. */
const editsOf = (length: number): fc.Arbitrary<Edit[]> =>
  fc
    .uniqueArray(fc.integer({ min: 0, max: length }), { minLength: 0, maxLength: 8 })
    .chain((points) => {
      const sorted = [...points].sort((a, b) => a - b);
      const pairs = sorted.flatMap((start, index) => (index % 2 === 0 ? [[start, sorted[index + 1] ?? start]] : []));
      return fc.tuple(
        ...pairs.map(([start, end]) =>
          fc.string({ maxLength: 4 }).map((text): Edit => ({ start: start!, end: end!, text })),
        ),
      );
    })
    .map((edits) => edits.filter(({ start, end, text }) => end > start || text !== ''));

describe('two changes one after the other', () => {
  it('are one change of the first text', () => {
    fc.assert(
      fc.property(
        fc.string({ maxLength: 30 }).chain((text) =>
          editsOf(text.length).chain((first) => {
            const between = edited(text, first);
            return editsOf(between.length).map((second) => ({ text, first, second, after: edited(between, second) }));
          }),
        ),
        ({ text, first, second, after }) => {
          const both = composed(text, first, second);
          expect(edited(text, both)).toBe(after);
          // They can be written in any order: none begins where another one lies.
          for (const [index, edit] of both.entries())
            expect(edit.start).toBeGreaterThanOrEqual(both[index - 1]?.end ?? 0);
        },
      ),
      { numRuns: 500 },
    );
  });

  it('touch nothing between the places that they change', () => {
    const both = composed(
      'rating: 10 A   size: 2 AWG',
      [{ start: 8, end: 12, text: '20 A' }],
      [{ start: 21, end: 26, text: '4 AWG' }],
    );
    expect(both).toEqual([
      { start: 8, end: 12, text: '20 A' },
      { start: 21, end: 26, text: '4 AWG' },
    ]);
  });
});
