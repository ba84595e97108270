import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Branch, type Source, solveCircuit } from '../../../language/src/solve/circuit.js';
import { mixedShare } from '../../../language/src/quantities/storage/string-mix.js';
import { call, numberOf, of } from '../../reference/energy/call.js';

const row = (strings: number, string: number, jumper: number, takeOff: string) =>
  call('stringShare', { strings: of(strings), string: of(string, 'ohm'), jumper: of(jumper, 'ohm'), takeOff });

/** Currents of the strings when 100 A are taken from all of them. */
const currents = (...given: Parameters<typeof row>): number[] =>
  Array.from({ length: given[0] }, (_, index) => 100 * numberOf(row(...given), '', `string${index + 1}`));

/** The same row as a network: poles as nodes, 1 V sources behind the strings, links in both poles; 1 A is taken. */
function solved(
  strings: number,
  string: number | readonly number[],
  jumper: number,
  takeOff: 'end' | 'diagonal',
): number[] {
  const positive = (index: number): number => 1 + index;
  const negative = (index: number): number => (index === 0 ? 0 : strings + index);
  const branches: Branch[] = Array.from({ length: strings - 1 }, (_, index) => [
    { from: positive(index), to: positive(index + 1), resistance: jumper },
    { from: negative(index), to: negative(index + 1), resistance: jumper },
  ]).flat();
  const sources: Source[] = Array.from({ length: strings }, (_, index) => ({
    positive: positive(index),
    negative: negative(index),
    voltage: { re: 12, im: 0 },
    resistance: typeof string === 'number' ? string : string[index]!,
  }));
  const load = {
    kind: 'current' as const,
    from: positive(0),
    to: negative(takeOff === 'end' ? 0 : strings - 1),
    current: 1,
  };
  const solution = solveCircuit({ nodes: 2 * strings, branches, sources, loads: [load] });
  if (!solution.solved) throw new Error(solution.reason);
  return solution.sourceCurrents.map(({ re }) => re);
}

describe('strings in a row', () => {
  test('published examples come out: four units of 1 mΩ, links of 1 and of 0.1 mΩ, main cables at opposite ends', () => {
    // Forum examples on parallel batteries, 16 and 17.
    for (const [index, published] of [37.5, 12.5, 12.5, 37.5].entries())
      expect(currents(4, 1e-3, 1e-3, 'diagonal')[index]).toBeCloseTo(published, 6);
    for (const [index, published] of [27.3, 22.7, 22.7, 27.3].entries())
      expect(Math.abs(currents(4, 1e-3, 1e-4, 'diagonal')[index]! - published)).toBeLessThanOrEqual(0.05);
  });

  test('an article from about 1980 comes out: 20 mΩ, links of 1.5 mΩ, both cables at one end (from memory)', () => {
    // The published values 35.9, 26.2, 20.4 and 17.8 A sum to 100.3 A: rounding, 0.15 A at most.
    for (const [index, published] of [35.9, 26.2, 20.4, 17.8].entries())
      expect(Math.abs(currents(4, 0.02, 1.5e-3, 'end')[index]! - published)).toBeLessThanOrEqual(0.15);
    for (const [index, published] of [26.7, 23.2, 23.2, 26.7].entries())
      expect(Math.abs(currents(4, 0.02, 1.5e-3, 'diagonal')[index]! - published)).toBeLessThanOrEqual(0.1);
  });

  test('a bus bar, links without resistance and a single string share alike', () => {
    expect(currents(5, 0.01, 1e-3, 'busbar')).toEqual([20, 20, 20, 20, 20]);
    expect(currents(5, 0.01, 0, 'end')).toEqual([20, 20, 20, 20, 20]);
    expect(numberOf(row(1, 0.01, 1e-3, 'end'), '')).toBe(1);
  });

  test('any row shares as the solved network of its strings and links does', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 24 }),
        fc.double({ min: 5e-3, max: 0.5, noNaN: true }),
        fc.double({ min: 0.01, max: 2, noNaN: true }),
        fc.constantFrom('end' as const, 'diagonal' as const),
        (strings, string, ratio, takeOff) => {
          const expected = solved(strings, string, string * ratio, takeOff);
          for (const [index, current] of currents(strings, string, string * ratio, takeOff).entries())
            expect(current / 100).toBeCloseTo(expected[index]!, 8);
        },
      ),
      { numRuns: 60 },
    );
  });

  test('shares sum to one, opposite ends are never worse than one end, and longer links are never better', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 100 }),
        fc.double({ min: 1e-6, max: 10, noNaN: true }),
        (strings, ratio) => {
          const sum = currents(strings, 1, ratio, 'end').reduce((so, next) => so + next, 0);
          expect(sum).toBeCloseTo(100, 6);
          const end = numberOf(row(strings, 1, ratio, 'end'), '');
          const diagonal = numberOf(row(strings, 1, ratio, 'diagonal'), '');
          expect(diagonal).toBeLessThanOrEqual(end * (1 + 1e-9));
          expect(numberOf(row(strings, 1, ratio * 2, 'end'), '')).toBeGreaterThanOrEqual(end * (1 - 1e-9));
          expect(numberOf(row(strings, 1, ratio, 'end'), '', 'least')).toBeLessThanOrEqual(1);
        },
      ),
    );
  });

  test('half a string is refused', () => {
    expect(row(2.5, 0.01, 1e-3, 'end')).toMatchObject({ kind: 'refused', argument: 'strings' });
  });
});

describe('strings that differ', () => {
  /** The largest share of any string over every mix of ends of their resistances, solved as a network. */
  const overEveryMix = (strings: number, low: number, high: number, jumper: number, takeOff: 'end' | 'diagonal') => {
    let most = 0;
    for (let mix = 0; mix < 2 ** strings; mix += 1) {
      const ohms = Array.from({ length: strings }, (_, index) => ((mix >> index) & 1 ? high : low));
      const shares = solved(strings, ohms, jumper, takeOff).map((each) => each * strings);
      most = Math.max(most, ...shares);
    }
    return most;
  };

  // Hand calculation: 10 mΩ beside 30 mΩ carries three quarters; beside two of 30 mΩ three fifths, 1.8 times the mean.
  test('on busbars the one that resists least carries by the conductances', () => {
    const row = { low: 0.01, high: 0.03, jumper: 0, takeOff: 'busbar' } as const;
    expect(mixedShare({ strings: 2, ...row })).toBeCloseTo(1.5, 12);
    expect(mixedShare({ strings: 3, ...row })).toBeCloseTo(1.8, 12);
    expect(mixedShare({ strings: 1, ...row })).toBe(1);
    expect(mixedShare({ strings: 3, ...row, high: 0.01 })).toBeCloseTo(1, 12);
    expect(mixedShare({ strings: 3, ...row, low: 0, high: 0 })).toBe(1);
  });

  test('in a row no mix of ends gives any string more', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 6 }),
        fc.double({ min: 1e-3, max: 0.05, noNaN: true }),
        fc.double({ min: 1, max: 4, noNaN: true }),
        fc.double({ min: 0.01, max: 1, noNaN: true }),
        fc.constantFrom('end' as const, 'diagonal' as const),
        (strings, low, spread, ratio, takeOff) => {
          const high = low * spread;
          const jumper = low * ratio;
          const found = mixedShare({ strings, low, high, jumper, takeOff });
          expect(found).toBeCloseTo(overEveryMix(strings, low, high, jumper, takeOff), 9);
        },
      ),
      { numRuns: 60 },
    );
  });
});
