import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type CalculationFunction,
  type GivenArgument,
  type Parameter,
  callFunction,
  fact,
  stated,
} from '../../../language/src/calculate/index.js';
import { converterFunctions } from '../../../language/src/calculate/sources/index.js';
import { storageFunctions } from '../../../language/src/calculate/storage/index.js';
import { sunFunctions } from '../../../language/src/calculate/sun/index.js';
import { type Derivation } from '../../../language/src/derivation/index.js';
import { DIMENSIONS, plusMinus, quantity, siQuantity } from '../../../language/src/quantity/index.js';

const functions = [...converterFunctions, ...storageFunctions, ...sunFunctions];

/** Numbers a person might write, and numbers nobody would. */
const number = fc.oneof(
  fc.double({ min: -1e3, max: 1e3, noNaN: true }),
  fc.integer({ min: -10, max: 400 }),
  fc.constantFrom(0, 1, -1, 1e-300, 1e300, 1e9, -273.15),
);

function inside(parameter: Extract<Parameter, { type: 'quantity' }>): fc.Arbitrary<number> {
  const low = parameter.minimum ?? 0;
  const high = parameter.maximum ?? Math.max(1, low) * 1000;
  return fc.oneof(
    fc.double({ min: low, max: high, noNaN: true }),
    fc.constantFrom(low, high),
    fc.integer({ min: Math.ceil(low), max: Math.max(Math.ceil(low), Math.floor(high)) }),
  );
}

function argument(name: string, parameter: Parameter): fc.Arbitrary<GivenArgument | undefined> {
  switch (parameter.type) {
    case 'quantity': {
      const fitting = inside(parameter).map((value) => stated(name, quantity(value, parameter.unit)));
      const ranged = fc
        .tuple(inside(parameter), fc.double({ min: 0, max: 0.5, noNaN: true }))
        .filter(() => !DIMENSIONS[parameter.dimensions[0]!].point)
        .map(([value, spread]) => stated(name, plusMinus(quantity(value, parameter.unit), quantity(spread, ''))));
      const wild = number.map((value) => stated(name, siQuantity(value, DIMENSIONS[parameter.dimensions.at(-1)!])));
      const wrong = fc.constant(stated(name, quantity(1, 'kg')));
      const point = DIMENSIONS[parameter.dimensions[0]!].point;
      return fc.oneof(
        { weight: 8, arbitrary: fitting },
        { weight: point ? 0 : 1, arbitrary: ranged },
        { weight: 2, arbitrary: wild },
        { weight: 1, arbitrary: fc.oneof(wrong, fc.constant(undefined)) },
      );
    }
    case 'word':
      return fc.oneof(
        { weight: 8, arbitrary: fc.constantFrom(...parameter.words).map((word) => fact(name, word)) },
        { weight: 1, arbitrary: fc.constantFrom(fact(name, 'nonsense'), fact(name, true), undefined) },
      );
    case 'flag':
      return fc.constantFrom(fact(name, true), fact(name, false), fact(name, 'maybe'), undefined);
    case 'text':
      return fc.oneof(
        fc.date({ noInvalidDate: true }).map((date) => fact(name, date.toISOString())),
        fc
          .date({ min: new Date('1950-01-02'), max: new Date('2050-12-30'), noInvalidDate: true })
          .map((date) => fact(name, date.toISOString())),
        fc.string().map((text) => fact(name, text)),
        number.map((value) => stated(name, quantity(value, 's'))),
        fc.constant(undefined),
      );
    case 'part':
      return fc.constant(undefined);
  }
}

const given = (definition: CalculationFunction): fc.Arbitrary<Record<string, GivenArgument | undefined>> =>
  fc.record(
    Object.fromEntries(
      Object.entries(definition.parameters).map(([name, parameter]) => [name, argument(name, parameter)]),
    ),
  );

function everyValueIsFinite(derivation: Derivation, seen = new Set<Derivation>()): void {
  if (seen.has(derivation)) return;
  seen.add(derivation);
  const { value } = derivation;
  if (typeof value === 'object') {
    expect(Number.isFinite(value.value)).toBe(true);
    expect(Number.isFinite(value.low)).toBe(true);
    expect(Number.isFinite(value.high)).toBe(true);
  }
  for (const inner of [...derivation.inputs, ...Object.values(derivation.parts)]) everyValueIsFinite(inner, seen);
}

describe('functions on sources, storage and the sun', () => {
  test.each(functions.map((definition) => [definition.name, definition] as const))(
    '%s answers any arguments with a finite result, what is missing or why not',
    (_name, definition) => {
      fc.assert(
        fc.property(given(definition), (argumentsGiven) => {
          const result = callFunction(definition, argumentsGiven);
          if (result.kind === 'known') everyValueIsFinite(result.derivation);
          if (result.kind === 'missing') expect(result.missing.length).toBeGreaterThan(0);
          if (result.kind === 'refused') expect(result.reason.length).toBeGreaterThan(10);
        }),
        { numRuns: 300 },
      );
    },
  );

  test.each(functions.map((definition) => [definition.name, definition] as const))(
    '%s is documented and has at least two worked examples',
    (name, definition) => {
      expect(definition.summary).toMatch(/\.$/);
      expect(definition.validity.length).toBeGreaterThan(10);
      expect(definition.sources.length).toBeGreaterThan(0);
      expect(definition.examples.length).toBeGreaterThanOrEqual(2);
      for (const example of definition.examples) {
        expect(example.call.startsWith(`${name}(`)).toBe(true);
        expect(example.source.length).toBeGreaterThan(5);
      }
      for (const parameter of Object.values(definition.parameters)) expect(parameter.doc.length).toBeGreaterThan(3);
    },
  );

  test('no two functions share a name', () => {
    expect(new Set(functions.map((definition) => definition.name)).size).toBe(functions.length);
  });
});
