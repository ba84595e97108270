import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  ALL_KINDS,
  DIMENSIONS,
  QUANTITIES,
  UNITS,
  UNIT_PATTERN,
  type Unit,
  dimensionName,
  divideDimensions,
  findUnit,
  fromSi,
  multiplyDimensions,
  toSi,
  unit,
} from '../../../language/src/index.js';

/** What one unit is worth in the coherent SI unit. */
const worth = (symbol: string): number => toSi(1, unit(symbol));

// Exact definitions that all customary units rest on: international yard and pound (1959), standard gravity (3rd CGPM, 1901).
const INCH = 0.0254;
const FOOT = 12 * INCH;
const POUND = 0.45359237;
const GRAVITY = 9.80665;
const POUND_FORCE = POUND * GRAVITY;

/** Units by their exact definition. Source of the definitions: NIST SP 811 (2008), appendix B.6 to B.8. */
const DEFINITIONS: Readonly<Record<string, number>> = {
  in: INCH,
  ft: FOOT,
  yd: 3 * FOOT,
  mi: 5280 * FOOT,
  in2: INCH ** 2,
  ft2: FOOT ** 2,
  kcmil: 1000 * (Math.PI / 4) * (INCH / 1000) ** 2,
  ft3: FOOT ** 3,
  gal: 231 * INCH ** 3,
  lb: POUND,
  oz: POUND / 16,
  psi: POUND_FORCE / INCH ** 2,
  lbin: POUND_FORCE * INCH,
  lbft: POUND_FORCE * FOOT,
  hp: 550 * POUND_FORCE * FOOT,
  mph: (5280 * FOOT) / 3600,
  cfm: FOOT ** 3 / 60,
  kn: 1852 / 3600,
  bar: 1e5,
  Wh: 3600,
  Ah: 3600,
  kWh: 3.6e6,
  min: 60,
  h: 3600,
  d: 86400,
  wk: 7 * 86400,
  yr: 365 * 86400,
  L: 1e-3,
  t: 1000,
  g: 1e-3,
  kg: 1,
  deg: Math.PI / 180,
  rpm: 1 / 60,
  mm2: 1e-6,
  '%': 0.01,
};

/**
 * The same factors as they are printed in the tables of NIST SP 811 (2008), appendix B.8, rounded there to seven digits; from memory.
 * They catch a slip in the definitions above.
 */
const PRINTED: Readonly<Record<string, number>> = {
  ft: 3.048e-1,
  mi: 1.609344e3,
  in2: 6.4516e-4,
  kcmil: 5.067075e-7,
  ft3: 2.831685e-2,
  gal: 3.785412e-3,
  lb: 4.535924e-1,
  oz: 2.834952e-2,
  psi: 6.894757e3,
  lbin: 1.129848e-1,
  lbft: 1.355818,
  hp: 7.456999e2,
  mph: 4.4704e-1,
  cfm: 4.719474e-4,
  kn: 5.144444e-1,
  deg: 1.745329e-2,
};

describe('the table of units', () => {
  it.each(Object.entries(DEFINITIONS))('%s is worth what it is defined as', (symbol, value) => {
    expect(worth(symbol) / value).toBeCloseTo(1, 12);
  });

  it.each(Object.entries(PRINTED))('%s agrees with the printed table', (symbol, value) => {
    expect(Math.abs(worth(symbol) / value - 1)).toBeLessThan(5e-7);
  });

  it('knows the fixed points of the temperature scales', () => {
    // ITS-90 and the definition of the Fahrenheit scale: 32 °F is 0 °C, 212 °F is 100 °C, both meet at −40.
    expect(toSi(32, unit('degF'))).toBeCloseTo(0, 12);
    expect(toSi(212, unit('degF'))).toBeCloseTo(100, 12);
    expect(toSi(-40, unit('degF'))).toBeCloseTo(-40, 12);
  });

  it('has the prefixes of the SI', () => {
    // BIPM SI Brochure, 9th edition, table 7.
    const prefixes = { micro: 1e-6, milli: 1e-3, centi: 1e-2, hecto: 1e2, kilo: 1e3, mega: 1e6, giga: 1e9 };
    let seen = 0;
    for (const { symbol, name } of UNITS) {
      for (const [word, value] of Object.entries(prefixes)) {
        const base = UNITS.find((each) => `${word}${each.name}` === name);
        if (!base) continue;
        seen += 1;
        expect(worth(symbol) / (value * worth(base.symbol)), symbol).toBeCloseTo(1, 12);
      }
    }
    expect(seen).toBeGreaterThan(40);
  });

  it('gives every spelling to one unit', () => {
    const owner = new Map<string, Unit>();
    for (const each of UNITS)
      for (const spelling of [each.symbol, ...each.aliases]) {
        expect(owner.get(spelling)?.symbol ?? each.symbol, spelling).toBe(each.symbol);
        owner.set(spelling, each);
      }
  });

  it('names the source, name and dimension of every unit', () => {
    for (const each of UNITS) {
      expect(each.source, each.symbol).not.toBe('');
      expect(each.name, each.symbol).not.toBe('');
      expect(each.multiply, each.symbol).toBeGreaterThan(0);
      expect(each.divide, each.symbol).toBeGreaterThan(0);
      expect(dimensionName(each.dimension), each.symbol).not.toMatch(/undefined/);
    }
  });

  it('finds every spelling whole in a text', () => {
    const whole = new RegExp(`^${UNIT_PATTERN}$`);
    for (const each of UNITS) for (const spelling of [each.symbol, ...each.aliases]) expect(spelling).toMatch(whole);
  });

  it.each([
    ['W/m2', DIMENSIONS.irradiance, 1],
    ['kWh/m2', DIMENSIONS.irradiation, 3.6e6],
    ['L/h', DIMENSIONS.flow, 1e-3 / 3600],
    ['gal/h', DIMENSIONS.flow, 0.003785411784 / 3600],
    ['mohm/m', DIMENSIONS.resistancePerLength, 1e-3],
    ['ohm/ft', DIMENSIONS.resistancePerLength, 1 / 0.3048],
    ['%/K', DIMENSIONS.ratioPerTemperature, 0.01],
    ['mV/degC', DIMENSIONS.voltagePerTemperature, 1e-3],
    ['mV/degF', DIMENSIONS.voltagePerTemperature, 1e-3 * 1.8],
    ['m/s', DIMENSIONS.speed, 1],
    ['kbit/s', DIMENSIONS.bitRate, 1e3],
  ] as const)('%s is made of its parts', (spelling, dimension, value) => {
    expect(unit(spelling).dimension).toBe(dimension);
    expect(toSi(1, unit(spelling)) / value).toBeCloseTo(1, 12);
  });

  it.each(['', 'x', 'V/', '/V', 'V//A', 'V A', 'kAWG', 'constructor', '__proto__'])(
    'does not take %j for a unit',
    (text) => {
      expect(findUnit(text)).toBeUndefined();
    },
  );
});

describe('conversion', () => {
  const anyUnit = fc.constantFrom(...UNITS);
  const number = fc.double({ min: -1e9, max: 1e9, noNaN: true });

  it('to SI and back gives the number again', () => {
    fc.assert(
      fc.property(anyUnit, number, (each, value) => {
        const back = fromSi(toSi(value, each), each);
        expect(Math.abs(back - value)).toBeLessThanOrEqual(
          1e-12 * Math.max(1, Math.abs(value), Math.abs(each.offset)) * 10,
        );
      }),
    );
  });

  it('keeps the order of values', () => {
    fc.assert(
      fc.property(anyUnit, number, number, (each, left, right) => {
        if (left < right) expect(toSi(left, each)).toBeLessThanOrEqual(toSi(right, each));
      }),
    );
  });

  it('undoes a product of dimensions by a quotient', () => {
    const dimension = fc.constantFrom(...Object.values(DIMENSIONS).filter(({ point }) => !point));
    fc.assert(
      fc.property(dimension, dimension, (left, right) => {
        expect(divideDimensions(multiplyDimensions(left, right), right)).toBe(left);
        expect(multiplyDimensions(left, right)).toBe(multiplyDimensions(right, left));
      }),
    );
  });
});

describe('names', () => {
  it('of properties differ from every unit, so that a number never swallows the property behind it', () => {
    const spellings = new Set(UNITS.flatMap(({ symbol, aliases }) => [symbol, ...aliases]));
    for (const { kind, properties } of ALL_KINDS)
      for (const { name } of properties) expect(spellings.has(name), `${name} of ${kind}`).toBe(false);
  });

  it('of computed quantities differ from the properties of the same kind', () => {
    // `protection: unknown` says that the device of an existing cable is not known, which is just what the quantity lacks then.
    const isSaidUnknown = (name: string, kind: string): boolean => name === 'protection' && kind === 'run';
    for (const { name, kinds } of QUANTITIES)
      for (const kind of kinds)
        if (!isSaidUnknown(name, kind))
          expect(
            ALL_KINDS.find((each) => each.kind === kind)?.properties.map((property) => property.name) ?? [],
            `${name} of ${kind}`,
          ).not.toContain(name);
  });

  it('of properties stand once in each kind', () => {
    for (const { kind, properties } of ALL_KINDS) {
      const names = properties.map(({ name }) => name);
      expect([...new Set(names)], kind).toEqual(names);
    }
  });
});
