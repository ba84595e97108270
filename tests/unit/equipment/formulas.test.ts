import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { derive, deriveQuantity, numberIn } from '../../../language/src/derivation/index.js';
import {
  CHARGER_AROUND,
  CHARGER_FACTS,
  HELD_VOLTAGE,
  INPUT_POWER_LIMIT,
  OUTPUT_CURRENT,
} from '../../../language/src/equipment/charging.js';
import {
  type Interval,
  type Leaf,
  Least,
  type Named,
  bounded,
  compile,
  constant,
  evaluate,
  leaf,
  leavesOf,
  worked,
} from '../../../language/src/equipment/formula/index.js';
import { INVERTER_FACTS, INVERTER_INPUT } from '../../../language/src/equipment/inverting.js';
import { DIMENSIONS, DimensionMismatch, siQuantity } from '../../../language/src/quantity/index.js';

/** Usual spans of the facts, in SI. */
const SPANS: ReadonlyMap<Leaf, Interval> = new Map<Leaf, Interval>([
  [CHARGER_FACTS.setting, { low: 5, high: 150 }],
  [CHARGER_FACTS.rating, { low: 5, high: 150 }],
  [CHARGER_FACTS.power, { low: 200, high: 8000 }],
  [CHARGER_FACTS.inputSetting, { low: 2, high: 40 }],
  [CHARGER_FACTS.inputRating, { low: 2, high: 40 }],
  [CHARGER_FACTS.efficiency, { low: 0.7, high: 0.98 }],
  [CHARGER_FACTS.powerFactor, { low: 0.6, high: 1 }],
  [CHARGER_FACTS.temperatureCompensation, { low: -0.12, high: 0 }],
  [CHARGER_AROUND.volts, { low: 10, high: 60 }],
  [CHARGER_AROUND.supplyVolts, { low: 90, high: 260 }],
  [CHARGER_AROUND.lines, { low: 1, high: Math.sqrt(3) }],
  [CHARGER_AROUND.passed, { low: 0, high: 2000 }],
  [CHARGER_AROUND.supplyPower, { low: 0, high: 6000 }],
  [CHARGER_AROUND.drive, { low: 0, high: 6000 }],
  [CHARGER_AROUND.modulePower, { low: 0, high: 6000 }],
  [CHARGER_AROUND.moduleCurrent, { low: 0, high: 60 }],
  [CHARGER_AROUND.point, { low: 13, high: 60 }],
  [CHARGER_AROUND.cells, { low: -20, high: 50 }],
  [INVERTER_FACTS.rated, { low: 300, high: 12_000 }],
  [INVERTER_FACTS.efficiency, { low: 0.8, high: 0.97 }],
  [INVERTER_FACTS.idle, { low: 0, high: 120 }],
  [INVERTER_FACTS.onShare, { low: 0, high: 1 }],
  [INVERTER_FACTS.linearPart, { low: 0, high: 1 }],
  [INVERTER_FACTS.output, { low: 0, high: 6000 }],
]);

/** Facts that only bound where they are stated. */
const optional = (term: Least | Named): readonly Leaf[] =>
  term instanceof Least ? term.bounds.map(({ when }) => when) : [];

const FORMULAS: readonly (readonly [string, Least | Named])[] = [
  ['what a charger gives', OUTPUT_CURRENT],
  ['what its input lets a charger take', INPUT_POWER_LIMIT],
  ['a set point in the cold and the heat', HELD_VOLTAGE],
  ['what an inverter takes', INVERTER_INPUT],
];

interface Drawn {
  readonly box: ReadonlyMap<Leaf, Interval>;
  readonly point: ReadonlyMap<Leaf, number>;
}

/** A box of facts and a point in it; each optional fact stated or not, at least one of them stated. */
function drawn(term: Least | Named): fc.Arbitrary<Drawn> {
  const leaves = [...leavesOf(term)];
  const may = new Set(optional(term));
  return fc
    .array(
      fc.tuple(
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.boolean(),
      ),
      {
        minLength: leaves.length,
        maxLength: leaves.length,
      },
    )
    .map((dice) => {
      const box = new Map<Leaf, Interval>();
      const point = new Map<Leaf, number>();
      leaves.forEach((each, at) => {
        const [first, second, inside, isStated] = dice[at]!;
        if (may.has(each) && !isStated) return;
        const { low, high } = SPANS.get(each)!;
        const [a, b] = [low + (high - low) * Math.min(first, second), low + (high - low) * Math.max(first, second)];
        box.set(each, { low: a, high: b });
        point.set(each, a + (b - a) * inside);
      });
      return { box, point };
    })
    .filter(({ box }) => may.size === 0 || [...may].some((each) => box.has(each)));
}

describe.each(FORMULAS)('%s', (_, term) => {
  it('is the same to the last bit as plain numbers, compiled with any facts left open, and as a derivation', () => {
    fc.assert(
      fc.property(drawn(term), fc.nat(), ({ point }, open) => {
        const of = (each: Leaf): number => point.get(each) ?? NaN;
        const plain = evaluate(term, of);
        const leaves = [...point.keys()];
        const free = new Map(leaves.filter((__, at) => (open >> at) & 1).map((each, at) => [each, at] as const));
        const slots = Float64Array.from(free.keys(), of);
        expect(compile(term, of, free)(slots)).toBe(plain);
        const result = worked(
          term,
          'Thing',
          (each) =>
            point.has(each)
              ? deriveQuantity(each.key, siQuantity(of(each), each.dimension), {
                  symbol: each.symbol,
                  origin: 'stated',
                })
              : undefined,
          ({ key }) => key,
        );
        if (!Number.isFinite(plain)) return;
        if (result.kind !== 'known') expect.fail(JSON.stringify(result));
        const { value } = result.derivation;
        expect(typeof value === 'object' ? value.value : NaN).toBe(plain);
      }),
      { numRuns: 400 },
    );
  });

  it('lies within its bounds wherever its facts lie in theirs', () => {
    fc.assert(
      fc.property(drawn(term), ({ box, point }) => {
        const { low, high } = bounded(term, (each) => box.get(each), leavesOf(term));
        const value = evaluate(term, (each) => point.get(each) ?? NaN);
        const slack = 1e-12 * Math.max(1, Math.abs(value));
        expect(value).toBeGreaterThanOrEqual(low - slack);
        expect(value).toBeLessThanOrEqual(high + slack);
      }),
      { numRuns: 800 },
    );
  });
});

describe('a formula as a value', () => {
  const volts = leaf('volts', 'voltage', 'U');
  const amperes = leaf('amperes', 'current', 'I');

  it('is refused where its dimensions do not go together', () => {
    expect(() => volts.plus(amperes)).toThrow(DimensionMismatch);
    expect(() => volts.atMost(amperes)).toThrow(DimensionMismatch);
    const cells = leaf('cells', 'temperature', 'T');
    expect(() => cells.plus(cells)).toThrow(DimensionMismatch);
    expect(volts.times(amperes).dimension).toBe(DIMENSIONS.power);
  });

  it('prints itself as it is worked out, with brackets where they are needed', () => {
    const power = volts
      .plus(constant(1, 'voltage', '1 V'))
      .times(amperes)
      .named('power', 'P', 'W');
    const facts = new Map<Leaf, number>([
      [volts, 11],
      [amperes, 2],
    ]);
    const result = worked(
      power,
      'Thing',
      (each) => derive(each.key, facts.get(each)!, each === volts ? 'V' : 'A', { symbol: each.symbol }),
      ({ key }) => key,
    );
    if (result.kind !== 'known') expect.fail(JSON.stringify(result));
    expect(numberIn(result.derivation, 'W')).toBe(24);
    expect(result.derivation.formula).toBe('(U + 1 V)·I');
  });

  it('names the bound that governs, works out the others when asked, and says which facts lack', () => {
    const stated = new Map<Leaf, readonly [number, string]>([
      [CHARGER_FACTS.setting, [80, 'A']],
      [CHARGER_FACTS.power, [2000, 'W']],
      [CHARGER_AROUND.volts, [50, 'V']],
    ]);
    const read = (lacking: Leaf | undefined) =>
      worked(
        OUTPUT_CURRENT,
        'Rect',
        (each) => {
          const fact = each === lacking ? undefined : stated.get(each);
          return fact && derive(each.key, ...fact, { symbol: each.symbol, origin: 'stated' });
        },
        ({ key }) => `${key} of Rect`,
      );
    const result = read(undefined);
    if (result.kind !== 'known') expect.fail(JSON.stringify(result));
    expect(numberIn(result.derivation, 'A')).toBe(40);
    expect(numberIn(result.derivation.parts['setting']!, 'A')).toBe(80);
    expect(read(CHARGER_AROUND.volts)).toEqual({ kind: 'missing', missing: ['volts of Rect'] });
  });
});
