import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  DIMENSIONS,
  DimensionMismatch,
  NotFinite,
  type Quantity,
  add,
  awgArea,
  compare,
  divide,
  extreme,
  formatPair,
  formatQuantity,
  inUnit,
  multiply,
  negate,
  parseGauge,
  plusMinus,
  power,
  quantity,
  range,
  ratio,
  sizeText,
  subtract,
} from '../../../language/src/index.js';

const finite = (q: Quantity): boolean => [q.value, q.low, q.high].every(Number.isFinite) && q.low <= q.high;

describe('arithmetic', () => {
  it('gives volts times amperes as watts', () => {
    expect(inUnit(multiply(quantity(48, 'V'), quantity(100, 'A')), 'kW')).toBeCloseTo(4.8, 12);
  });

  it('gives ampere-hours times volts as watt-hours', () => {
    expect(inUnit(multiply(quantity(280, 'Ah'), quantity(51.2, 'V')), 'kWh')).toBeCloseTo(14.336, 9);
  });

  it('adds a span to a temperature, and takes the span between two', () => {
    expect(inUnit(add(quantity(20, 'degC'), quantity(15, 'K')), 'degC')).toBeCloseTo(35, 12);
    expect(inUnit(subtract(quantity(50, 'degF'), quantity(32, 'degF')), 'K')).toBeCloseTo(10, 12);
  });

  it.each([
    ['two temperatures', () => add(quantity(20, 'degC'), quantity(20, 'degC'))],
    ['metres and seconds', () => add(quantity(1, 'm'), quantity(1, 's'))],
    ['euros and dollars', () => add(quantity(1, 'EUR'), quantity(1, 'USD'))],
    ['a doubled temperature', () => multiply(quantity(20, 'degC'), ratio(2))],
    ['a length as an exponent', () => power(ratio(2), quantity(1, 'm'))],
    ['volts below amperes', () => compare(quantity(1, 'V'), '<', quantity(1, 'A'))],
    ['a span of a temperature that is a temperature', () => plusMinus(quantity(20, 'degC'), quantity(5, 'degC'))],
  ])('refuses %s', (_, compute) => {
    expect(compute).toThrow(DimensionMismatch);
  });

  it.each([
    ['a division by zero', () => divide(ratio(1), ratio(0))],
    ['a division by a range around zero', () => divide(ratio(1), range(ratio(-1), ratio(1)))],
    ['a root of a negative number', () => power(ratio(-2), ratio(0.5))],
    ['what is too large', () => multiply(ratio(1e300), ratio(1e300))],
  ])('says that %s has no value', (_, compute) => {
    expect(compute).toThrow(NotFinite);
  });

  it('takes each bound of a range', () => {
    const supply = range(quantity(216, 'V'), quantity(264, 'V'));
    const current = divide(quantity(2400, 'W'), supply);
    expect([inUnit({ ...current, value: current.low }, 'A'), inUnit({ ...current, value: current.high }, 'A')]).toEqual(
      [2400 / 264, 2400 / 216],
    );
  });

  it('takes ± of a value and of a share of it', () => {
    expect(plusMinus(quantity(48, 'V'), quantity(5, '%'))).toMatchObject({ low: 45.6, high: 50.4 });
    expect(plusMinus(quantity(-10, 'degC'), quantity(5, 'K'))).toMatchObject({ low: -15, high: -5 });
    expect(plusMinus(quantity(-48, 'V'), quantity(5, '%')).low).toBeCloseTo(-50.4, 12);
  });

  it('squares a range around zero to one that begins at zero', () => {
    expect(power(range(ratio(-2), ratio(3)), ratio(2))).toMatchObject({ low: 0, high: 9 });
  });

  it('compares at the worst corner', () => {
    const window = range(quantity(216, 'V'), quantity(264, 'V'));
    expect(compare(window, '<=', quantity(264, 'V'))).toBe(true);
    expect(compare(window, '<', quantity(264, 'V'))).toBe(false);
    expect(compare(window, '>', quantity(230, 'V'))).toBe(false);
    expect(compare(ratio(0.1 + 0.2), '==', ratio(0.3))).toBe(true);
  });

  it('keeps the bounds of extremes apart', () => {
    expect(extreme('max', range(ratio(1), ratio(9)), range(ratio(3), ratio(4)))).toMatchObject({ low: 3, high: 9 });
  });
});

describe('properties of arithmetic', () => {
  const symbol = fc.constantFrom('V', 'A', 'W', 'm', 'ft', 'Ah', 'kWh', 'mohm', 'L/h', '%', 'degC', 'degF', 'K', 'EUR');
  const number = fc.double({ min: -1e6, max: 1e6, noNaN: true });
  const any = fc.tuple(number, number, symbol).map(([from, to, of]) => range(quantity(from, of), quantity(to, of)));
  const operations = [add, subtract, multiply, divide, plusMinus, power, range] as const;

  it('never yields a value that is not finite, or bounds in the wrong order', () => {
    fc.assert(
      fc.property(any, any, fc.constantFrom(...operations), (left, right, operation) => {
        try {
          expect(finite(operation(left, right))).toBe(true);
        } catch (error) {
          expect(error instanceof DimensionMismatch || error instanceof NotFinite).toBe(true);
        }
      }),
      { numRuns: 1000 },
    );
  });

  it('holds every pair of single values inside the range it gives', () => {
    const share = fc.double({ min: 0, max: 1, noNaN: true });
    const at = (q: Quantity, s: number): number => q.low + (q.high - q.low) * s;
    fc.assert(
      fc.property(any, any, share, share, (left, right, s, t) => {
        const [a, b] = [at(left, s), at(right, t)];
        const check = (operation: () => Quantity, value: number): void => {
          let q: Quantity;
          try {
            q = operation();
          } catch {
            return;
          }
          // Quotients of numbers next to zero overflow in this test, not in the range.
          if (!Number.isFinite(value)) return;
          const slack = 1e-9 * Math.max(1, Math.abs(q.low), Math.abs(q.high));
          expect(value).toBeGreaterThanOrEqual(q.low - slack);
          expect(value).toBeLessThanOrEqual(q.high + slack);
        };
        check(() => add(left, right), a + b);
        check(() => subtract(left, right), a - b);
        check(() => multiply(left, right), a * b);
        check(() => divide(left, right), a / b);
      }),
      { numRuns: 500 },
    );
  });

  it('gives sums and products of the same dimension in either order', () => {
    fc.assert(
      fc.property(number, number, (a, b) => {
        const [left, right] = [quantity(a, 'ft'), quantity(b, 'm')];
        expect(add(left, right)).toMatchObject({ value: add(right, left).value, dimension: DIMENSIONS.length });
        expect(multiply(left, right)).toMatchObject({ value: multiply(right, left).value, dimension: DIMENSIONS.area });
        expect(negate(negate(left)).value).toBe(left.value);
      }),
    );
  });

  it('shows two different values as two different texts', () => {
    fc.assert(
      fc.property(number, number, (a, b) => {
        const [left, right] = formatPair(quantity(a, 'V'), quantity(b, 'V'));
        if (Math.abs(a - b) > 1e-9 * Math.max(Math.abs(a), Math.abs(b))) expect(left).not.toBe(right);
      }),
    );
  });

  it('shows every value as text that reads as a number with a unit', () => {
    fc.assert(
      fc.property(any, (q) => {
        expect(formatQuantity(q)).not.toMatch(/NaN|undefined|Infinity/);
      }),
    );
  });
});

describe('conductor sizes', () => {
  // ASTM B258-18, table 1: diameters 0.4600 in (4/0), 0.3249 in (1/0), 0.1019 in (10), 0.0641 in (14), 0.005 in (36); from memory.
  it.each([
    ['4/0', 0.46],
    ['1/0', 0.3249],
    ['10', 0.1019],
    ['14', 0.0641],
    ['36', 0.005],
  ])('%s AWG has the diameter of the standard', (text, inches) => {
    const area = awgArea(parseGauge(text)!);
    const diameter = (2 * Math.sqrt(area / Math.PI)) / 25.4;
    expect(diameter).toBeCloseTo(inches, 4);
  });

  it('is a tenth of the area after ten gauges, nearly', () => {
    // Common rule of the trade: ten gauge numbers are a factor of about ten in area (92^(20/39) = 10.16).
    expect(awgArea(0) / awgArea(10)).toBeCloseTo(92 ** (20 / 39), 9);
  });

  it('is written as the trade writes it', () => {
    expect(sizeText(awgArea(-3))).toBe('4/0 AWG');
    expect(sizeText(inUnit(quantity(250, 'kcmil'), 'mm2'))).toBe('250 kcmil');
    expect(sizeText(35)).toBe('35 mm2');
    expect(sizeText(36.2)).toBe('36.2 mm2');
  });

  it.each(['5/0', '0/0', '41', '1.5', 'x', ''])('does not take %j for a gauge', (text) => {
    expect(parseGauge(text)).toBeUndefined();
  });
});
