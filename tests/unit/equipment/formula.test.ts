import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { derive, numberIn } from '../../../language/src/derivation/index.js';
import {
  type Interval,
  type Leaf,
  type Term,
  bounded,
  compile,
  constant,
  evaluate,
  leaf,
  leavesOf,
  worked,
} from '../../../language/src/equipment/formula/index.js';
import { HYDRO_FACTS, HYDRO_POWER } from '../../../language/src/equipment/hydro-power.js';

const x = leaf('x', 'ratio', 'x');
const y = leaf('y', 'ratio', 'y');

/** Formulas with powers in them: rising, falling, with a flat top, of a sum and of another power. */
const FORMULAS: Readonly<Record<string, Term>> = {
  rising: x.toThe(1.852),
  falling: x.plus(constant(0.5)).toThe(-0.54),
  'flat at its top': x.times(constant(4).minus(x.toThe(1.852))),
  'of a sum': x.plus(y).toThe(0.5),
  'of a power over a power': x
    .toThe(1.852)
    .over(y.plus(constant(1)).toThe(4.87))
    .toThe(2),
};

const range = fc.tuple(fc.double({ min: 0, max: 3, noNaN: true }), fc.double({ min: 0, max: 3, noNaN: true }));
const interval = ([a, b]: readonly [number, number]): Interval => ({ low: Math.min(a, b), high: Math.max(a, b) });

describe('a formula with powers', () => {
  it.each(Object.entries(FORMULAS))('%s lies within its bounds at every point of its ranges', (_, term) => {
    fc.assert(
      fc.property(
        range,
        range,
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (a, b, s, t) => {
          const box = new Map<Leaf, Interval>([
            [x, interval(a)],
            [y, interval(b)],
          ]);
          const { low, high } = bounded(term, (each) => box.get(each), leavesOf(term));
          const at = (each: Leaf, share: number): number => {
            const own = box.get(each)!;
            return own.low + share * (own.high - own.low);
          };
          const value = evaluate(term, (each) => at(each, each === x ? s : t));
          const slack = 1e-9 * Math.max(1, Math.abs(value));
          expect(value).toBeGreaterThanOrEqual(low - slack);
          expect(value).toBeLessThanOrEqual(high + slack);
        },
      ),
    );
  });

  it.each(Object.entries(FORMULAS))('%s is the same worked, at a point and compiled', (_, term) => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 3, noNaN: true }),
        fc.double({ min: 0.01, max: 3, noNaN: true }),
        (a, b) => {
          const of = (each: Leaf): number => (each === x ? a : b);
          const plain = evaluate(term, of);
          expect(compile(term, of, new Map([[x, 0]]))(Float64Array.of(a))).toBe(plain);
          expect(compile(term, of, new Map())(new Float64Array(0))).toBe(plain);
          const result = worked(
            term.named('value', 'z', ''),
            'a thing',
            (each) => derive(each.key, of(each), '', { symbol: each.symbol }),
            (each) => each.key,
          );
          expect(result.kind === 'known' && numberIn(result.derivation, '')).toBeCloseTo(plain, 10);
        },
      ),
    );
  });

  it('finds at which end a bounded value is largest, and none where its top is flat', () => {
    const ends = (term: Term, low: number, high: number): string | undefined =>
      bounded(term, () => ({ low, high }), [x]).ends.get(x);
    expect(ends(x.toThe(1.852), 1, 2)).toBe('high');
    expect(ends(x.toThe(-2), 1, 2)).toBe('low');
    expect(ends(FORMULAS['flat at its top']!, 0.5, 2)).toBeUndefined();
  });

  it('takes no power of what has a dimension', () => {
    expect(() => leaf('u', 'voltage', 'U').toThe(2)).toThrow();
  });
});

describe('the power of water', () => {
  const facts = new Map<Leaf, number>([
    [HYDRO_FACTS.ecologicalFlow, 0],
    [HYDRO_FACTS.head, 100],
    [HYDRO_FACTS.length, 1000],
    [HYDRO_FACTS.diameter, 0.1],
    [HYDRO_FACTS.roughness, 140],
    [HYDRO_FACTS.minorLosses, 0],
    [HYDRO_FACTS.turbineEfficiency, 1],
    [HYDRO_FACTS.generatorEfficiency, 1],
  ]);
  const powerAt = (flow: number): number =>
    evaluate(HYDRO_POWER, (each) => (each === HYDRO_FACTS.stream ? flow : (facts.get(each) ?? NaN)));

  it('is most where the pipe takes 1/2.852 of the head', () => {
    // dP/dQ = 0 with h = k·Q^1.852: H = 2.852·h (own derivation, and published for Hazen-Williams).
    const k = (10.67 * 1000) / (140 ** 1.852 * 0.1 ** 4.8704);
    const best = (100 / 2.852 / k) ** (1 / 1.852);
    const most = powerAt(best);
    expect(most).toBeCloseTo(9806.65 * best * 100 * (1 - 1 / 2.852), 6);
    for (const times of [0.5, 0.9, 0.99, 1.01, 1.1, 1.5]) expect(powerAt(best * times)).toBeLessThan(most);
  });

  it('is nothing once the pipe takes all of the head, and no less', () => {
    expect(powerAt(1)).toBe(0);
  });

  it('is bounded over a range of flow that has the best flow in it by more than its corners', () => {
    const box = (each: Leaf): Interval | undefined => {
      if (each === HYDRO_FACTS.stream) return { low: 0.005, high: 0.035 };
      const value = facts.get(each);
      return value === undefined ? undefined : { low: value, high: value };
    };
    const { high } = bounded(HYDRO_POWER, box, leavesOf(HYDRO_POWER));
    const best = Math.max(...Array.from({ length: 31 }, (_, at) => powerAt(0.005 + at * 0.001)));
    expect(Math.max(powerAt(0.005), powerAt(0.035))).toBeLessThan(best);
    expect(high).toBeGreaterThanOrEqual(best);
  });
});
