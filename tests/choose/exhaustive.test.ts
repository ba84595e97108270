import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { analyseText } from '../helpers/analyse.js';
import { bestOf, filled } from '../helpers/choose.js';

/* Every combination is written into the text and judged by itself: nothing of the search is used. */

/** NEC 2023 240.6(A), a stretch of it. */
const RATINGS = ['35 A', '40 A', '45 A', '50 A', '60 A', '70 A', '80 A'];
const SIZES = ['10 AWG', '8 AWG', '6 AWG', '4 AWG', '3 AWG'];

interface Scene {
  readonly power: number;
  readonly length: number;
  readonly ambient: number;
  readonly drop: number;
  readonly isMarked: boolean;
}

const scene: fc.Arbitrary<Scene> = fc.record({
  power: fc.integer({ min: 6, max: 16 }).map((count) => count * 100),
  length: fc.integer({ min: 1, max: 12 }),
  ambient: fc.constantFrom(25, 40, 50),
  drop: fc.constantFrom(0.2, 0.5, 1, 3),
  isMarked: fc.boolean(),
});

const textOf = (
  { power, length, ambient, drop, isMarked }: Scene,
  rating: string,
  size: string,
): string => `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..${ambient} degC }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse F1 { class: T   rating: ${rating} }
  load Heater { power: ${power} W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: ${size}   type: THHN   length: ${length} m   conductors: 2   ${isMarked ? 'terminals: 75 degC' : ''} }
  require Line.voltageDrop < ${drop} V
}
`;

/** Errors, of which an open marking is one, then warnings; undefined where something cannot be worked out. */
async function judged(text: string): Promise<readonly [number, number] | undefined> {
  const { findings, questions } = await analyseText(text);
  const standing = findings.filter(({ accepted }) => !accepted);
  if (questions.some(({ isRefused }) => isRefused)) return undefined;
  const errors = standing.filter(({ severity }) => severity === 'error').length;
  const marks = questions.filter(({ isOfMarking }) => isOfMarking).length;
  return errors > 0 ? undefined : [marks, standing.filter(({ severity }) => severity === 'warning').length];
}

/** The best of all combinations, each judged by itself. */
async function exhaustively(given: Scene): Promise<readonly [string, string] | undefined> {
  let best: { readonly values: readonly [string, string]; readonly score: readonly number[] } | undefined;
  for (const [first, rating] of RATINGS.entries())
    for (const [second, size] of SIZES.entries()) {
      const told = await judged(textOf(given, rating, size));
      if (!told) continue;
      const score = [...told, first + second, first];
      const at = best ? score.findIndex((each, index) => each !== best!.score[index]) : 0;
      if (!best || (at >= 0 && score[at]! < best.score[at]!)) best = { values: [rating, size], score };
    }
  // What rests on a marking that nobody has read is asked about, not answered.
  return best && best.score[0] === 0 ? best.values : undefined;
}

describe('the best answer', () => {
  it('is that of a search through every combination, and any value wanted more brings something back', async () => {
    await fc.assert(
      fc.asyncProperty(scene, async (given) => {
        const open = textOf(given, `? in ${RATINGS[0]}..${RATINGS.at(-1)}`, `? in ${SIZES[0]}..${SIZES.at(-1)}`);
        const found = await bestOf(open);
        const expected = await exhaustively(given);
        expect(found).toEqual(expected ? { 'F1.rating': expected[0], 'Line.size': expected[1] } : {});
        if (!expected) return;
        const here = await judged(filled(open, expected));
        expect(here).toBeDefined();
        for (const [index, series] of [RATINGS, SIZES].entries()) {
          const before = series[series.indexOf(expected[index]!) - 1];
          if (before === undefined) continue;
          const there = await judged(filled(open, index === 0 ? [before, expected[1]] : [expected[0], before]));
          expect(there === undefined || there[0] > here![0] || there[1] > here![1]).toBe(true);
        }
      }),
      { numRuns: 6 },
    );
  });

  it('does not hang on the order in which the holes are written', async () => {
    const given: Scene = { power: 1500, length: 6, ambient: 40, drop: 1, isMarked: true };
    const text = textOf(given, '?', '?');
    const lines = text.split('\n');
    const fuse = lines.findIndex((line) => line.includes('fuse F1'));
    const run = lines.findIndex((line) => line.includes('run Line'));
    const turned = lines.map((line, index) => (index === fuse ? lines[run]! : index === run ? lines[fuse]! : line));
    expect(await bestOf(turned.join('\n'))).toEqual(await bestOf(text));
  });
});
