import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { conductorFunctions } from '../../../language/src/calculate/conductors/index.js';
import {
  type CalculationFunction,
  type GivenArgument,
  type Parameter,
  type QuantityParameter,
  amount,
  callFunction,
  fact,
} from '../../../language/src/calculate/registry.js';
import type { Derivation, Result } from '../../../language/src/derivation/index.js';
import { METRIC_SERIES, unitsOf } from '../../../language/src/quantity/index.js';
import { DIMENSIONS } from '../../../language/src/quantity/dimension.js';
import {
  type Basis,
  nextSize,
  plugConfigurations,
  standardRatings,
  standardSizes,
} from '../../../language/src/reference/index.js';

const find = (name: string): CalculationFunction => conductorFunctions.find((candidate) => candidate.name === name)!;

function value(name: string, given: Record<string, GivenArgument>): number | undefined {
  const result = callFunction(find(name), given);
  return result.kind === 'known' && typeof result.derivation.value === 'object'
    ? result.derivation.value.value
    : undefined;
}

const bases = fc.constantFrom<Basis>('nec', 'iec', 'craft');
const insulations = fc.constantFrom(60, 70, 75, 90, 105);
const ambients = fc.integer({ min: -30, max: 90 });
const sizeArgument = (area: number): Derivation => amount('size', area, 'mm2');

const ampacityArguments = fc
  .record({
    basis: bases,
    metal: fc.constantFrom('copper', 'aluminium'),
    insulation: insulations,
    ambient: ambients,
    conductors: fc.integer({ min: 1, max: 50 }),
    circuits: fc.integer({ min: 1, max: 21 }),
    terminals: fc.constantFrom(60, 75, 90),
    method: fc.constantFrom('A1', 'A2', 'B1', 'B2', 'C', 'D1', 'D2', 'E', 'F', 'G'),
    loaded: fc.constantFrom(2, 3),
  })
  .map((of): { basis: Basis; metal: 'copper' | 'aluminium'; given: Record<string, GivenArgument> } => ({
    basis: of.basis,
    metal: of.metal as 'copper' | 'aluminium',
    given: {
      basis: fact('basis', of.basis),
      metal: fact('metal', of.metal),
      insulation: amount('insulation', of.insulation, 'degC'),
      ambient: amount('ambient', of.ambient, 'degC'),
      conductors: amount('conductors', of.conductors, ''),
      circuits: amount('circuits', of.circuits, ''),
      terminals: amount('terminals', of.terminals, 'degC'),
      method: fact('method', of.method),
      loaded: amount('loaded', of.loaded, ''),
    },
  }));

describe('ampacity', () => {
  test('a larger conductor never carries less', () => {
    fc.assert(
      fc.property(ampacityArguments, ({ basis, metal, given }) => {
        const carried = standardSizes(basis, metal).flatMap(({ area }) => {
          const of = value('ampacity', { ...given, size: sizeArgument(area) });
          return of === undefined ? [] : [of];
        });
        expect(carried).toEqual([...carried].sort((left, right) => left - right));
      }),
    );
  });

  test('a hotter place never lets it carry more', () => {
    fc.assert(
      fc.property(ampacityArguments, ambients, ambients, fc.nat(20), ({ basis, metal, given }, one, other, index) => {
        const sizes = standardSizes(basis, metal);
        const size = sizes[index % Math.max(1, sizes.length)];
        if (!size) return;
        const at = (ambient: number): number =>
          value('ampacity', { ...given, size: sizeArgument(size.area), ambient: amount('ambient', ambient, 'degC') }) ??
          0;
        expect(at(Math.max(one, other))).toBeLessThanOrEqual(at(Math.min(one, other)) + 1e-9);
      }),
    );
  });

  test('more conductors together never carry more each', () => {
    fc.assert(
      fc.property(bases, fc.integer({ min: 1, max: 60 }), fc.integer({ min: 1, max: 60 }), (basis, one, other) => {
        const factor = (count: number): number | undefined =>
          value('bundleFactor', { basis: fact('basis', basis), conductors: amount('conductors', count, '') });
        const few = factor(Math.min(one, other));
        const many = factor(Math.max(one, other));
        if (few !== undefined && many !== undefined) expect(many).toBeLessThanOrEqual(few);
      }),
    );
  });
});

describe('conductorFor', () => {
  test('its size carries the current and the next smaller one does not', () => {
    fc.assert(
      fc.property(ampacityArguments, fc.double({ min: 1, max: 400, noNaN: true }), ({ basis, metal, given }, load) => {
        const current = amount('current', load, 'A');
        const plain = { continuous: fact('continuous', false), protection: fact('protection', false) };
        const area = value('conductorFor', { ...given, ...plain, current });
        if (area === undefined) return;
        const carries = (mm2: number): number => value('ampacity', { ...given, size: sizeArgument(mm2) }) ?? 0;
        expect(carries(area * 1e6)).toBeGreaterThanOrEqual(load * (1 - 1e-9));
        const smaller = standardSizes(basis, metal).filter((size) => size.area < area * 1e6 * (1 - 1e-3));
        for (const size of smaller) expect(carries(size.area)).toBeLessThan(load);
      }),
    );
  });

  test('a continuous load never needs a smaller conductor', () => {
    fc.assert(
      fc.property(ampacityArguments, fc.double({ min: 1, max: 300, noNaN: true }), ({ given }, load) => {
        const current = amount('current', load, 'A');
        const once = value('conductorFor', { ...given, current, continuous: fact('continuous', false) });
        const always = value('conductorFor', { ...given, current, continuous: fact('continuous', true) });
        if (once !== undefined && always !== undefined) expect(always).toBeGreaterThanOrEqual(once);
      }),
    );
  });
});

const run = fc.record({
  basis: bases,
  index: fc.nat(40),
  current: fc.double({ min: 0, max: 500, noNaN: true }),
  length: fc.double({ min: 0, max: 200, noNaN: true }),
  system: fc.constantFrom('dc', 'single', 'three'),
});

describe('voltage drop', () => {
  const dropOf = (of: { basis: Basis; index: number; current: number; length: number; system: string }, unit = 'm') => {
    const sizes = standardSizes(of.basis);
    const size = sizes[of.index % sizes.length]!;
    return value('voltageDrop', {
      basis: fact('basis', of.basis),
      size: sizeArgument(size.area),
      system: fact('system', of.system),
      current: amount('current', of.current, 'A'),
      length: amount('length', unit === 'ft' ? of.length / 0.3048 : of.length, unit),
    });
  };

  test('twice the length or twice the current is twice the drop', () => {
    fc.assert(
      fc.property(run, (of) => {
        const once = dropOf(of);
        if (once === undefined) return;
        expect(dropOf({ ...of, length: 2 * of.length })).toBeCloseTo(2 * once, 9);
        expect(dropOf({ ...of, current: 2 * of.current })).toBeCloseTo(2 * once, 9);
      }),
    );
  });

  test('feet and metres of one length give one drop', () => {
    fc.assert(
      fc.property(run, (of) => {
        const metres = dropOf(of);
        if (metres !== undefined) expect(dropOf(of, 'ft')).toBeCloseTo(metres, 9);
      }),
    );
  });

  test('a larger conductor never drops more', () => {
    fc.assert(
      fc.property(run, (of) => {
        const drops = standardSizes(of.basis).flatMap((_size, index) => dropOf({ ...of, index }) ?? []);
        expect(drops).toEqual([...drops].sort((left, right) => right - left));
      }),
    );
  });

  test('smallestSize keeps the limit and the next smaller size breaks it', () => {
    fc.assert(
      fc.property(
        run,
        fc.constantFrom(12, 24, 48, 120, 240),
        fc.integer({ min: 1, max: 10 }),
        (of, voltage, percent) => {
          const given = {
            basis: fact('basis', of.basis),
            system: fact('system', of.system),
            current: amount('current', of.current, 'A'),
            length: amount('length', of.length, 'm'),
          };
          const area = value('smallestSize', {
            ...given,
            voltage: amount('voltage', voltage, 'V'),
            drop: amount('drop', percent, '%'),
          });
          if (area === undefined) return;
          const limit = (voltage * percent) / 100;
          const at = (mm2: number): number => value('voltageDrop', { ...given, size: sizeArgument(mm2) }) ?? Infinity;
          expect(at(area * 1e6)).toBeLessThanOrEqual(limit * (1 + 1e-6));
          for (const size of standardSizes(of.basis))
            if (nextSize(size.area, of.basis)?.area === area * 1e6) expect(at(size.area)).toBeGreaterThan(limit);
        },
      ),
    );
  });
});

describe('protection', () => {
  const currents = fc.double({ min: 1, max: 900, noNaN: true });

  test('the next rating is a standard one, not below the current, with none between', () => {
    fc.assert(
      fc.property(bases, currents, (basis, current) => {
        const rating = value('nextRating', { basis: fact('basis', basis), current: amount('current', current, 'A') });
        if (rating === undefined) return;
        expect(standardRatings(basis)).toContain(rating);
        expect(rating).toBeGreaterThanOrEqual(current * (1 - 1e-9));
        for (const smaller of standardRatings(basis).filter((candidate) => candidate < rating))
          expect(smaller).toBeLessThan(current);
      }),
    );
  });

  test('more ampacity never allows a smaller device, and iec never one above the ampacity', () => {
    fc.assert(
      fc.property(bases, fc.constantFrom('breaker', 'fuse'), currents, currents, (basis, device, one, other) => {
        const largest = (ampacity: number): number =>
          value('largestProtection', {
            basis: fact('basis', basis),
            device: fact('device', device),
            ampacity: amount('ampacity', ampacity, 'A'),
          }) ?? 0;
        expect(largest(Math.max(one, other))).toBeGreaterThanOrEqual(largest(Math.min(one, other)));
        if (basis === 'iec') expect(largest(one)).toBeLessThanOrEqual(one * (1 + 1e-9));
        if (basis === 'craft') expect(largest(one)).toBeLessThanOrEqual(1.5 * one * (1 + 1e-9));
      }),
    );
  });
});

test('short-time area and current undo each other', () => {
  fc.assert(
    fc.property(
      fc.constantFrom(...METRIC_SERIES.map((size) => size.area).filter((area) => area <= 300)),
      fc.double({ min: 0.01, max: 5, noNaN: true }),
      fc.constantFrom('pvc', 'xlpe', 'rubber'),
      (area, seconds, insulation) => {
        const shared = { time: amount('time', seconds, 's'), insulation: fact('insulation', insulation) };
        const current = value('shortTimeCurrent', { ...shared, size: sizeArgument(area) })!;
        const back = value('shortTimeArea', { ...shared, current: amount('current', current * (1 - 1e-12), 'A') })!;
        expect(back * 1e6).toBeCloseTo(area, 6);
      },
    ),
  );
});

/** A number inside the range of validity, in the parameter's unit: a standard size, a count, or any number. */
function sensible(parameter: QuantityParameter): fc.Arbitrary<number> {
  const { minimum = 0, maximum = 500, unit } = parameter;
  if (unit === 'mm2') {
    const areas = [...standardSizes('nec'), ...standardSizes('iec')].map((size) => size.area);
    return fc.constantFrom(...areas);
  }
  if (unit === 'degC') return fc.oneof(fc.constantFrom(30, 60, 75, 90), fc.double({ min: 25, max: 105, noNaN: true }));
  if (unit === '' && maximum > 1) return fc.integer({ min: Math.ceil(minimum), max: Math.min(maximum, 12) });
  return fc.double({ min: minimum, max: maximum, noNaN: true });
}

/** Any argument of a parameter, sensible or not, in any of its units; sometimes a wrong one altogether. */
function anyArgument(name: string, parameter: Parameter): fc.Arbitrary<GivenArgument | undefined> {
  const number = fc.oneof(
    fc.double({ noNaN: true, noDefaultInfinity: true }),
    fc.double({ min: 0, max: 500, noNaN: true }),
    fc.integer({ min: 0, max: 100 }),
    fc.constantFrom(...standardSizes('nec').map((size) => size.area), ...METRIC_SERIES.map((size) => size.area)),
  );
  const safely = (value: number, unit: string): GivenArgument | undefined => {
    try {
      return amount(name, value, unit);
    } catch {
      return undefined;
    }
  };
  if (parameter.type === 'quantity') {
    const units = parameter.dimensions.flatMap((of) => [
      ...unitsOf(DIMENSIONS[of]).map((unit) => unit.symbol),
      ...(of === 'ratio' ? [''] : []),
      ...(of === 'area' ? ['mm2', 'mm2', 'mm2'] : []),
    ]);
    const own = fc.tuple(number, fc.constantFrom(...(units.length > 0 ? units : [parameter.unit])));
    const wrong = fc.tuple(number, fc.constantFrom('kg', 'V', '', 'degC'));
    return fc
      .oneof(
        { weight: 40, arbitrary: sensible(parameter).map((of): readonly [number, string] => [of, parameter.unit]) },
        { weight: 2, arbitrary: own },
        { weight: 1, arbitrary: wrong },
      )
      .map(([of, unit]) => safely(of, unit));
  }
  if (parameter.type === 'word')
    return fc
      .oneof(
        { weight: 20, arbitrary: fc.constantFrom(...parameter.words) },
        { weight: 1, arbitrary: fc.constant('nonsense') },
      )
      .map((of) => fact(name, of));
  if (parameter.type === 'flag') return fc.boolean().map((of) => fact(name, of));
  if (parameter.type === 'part') {
    const facts = fc.record({
      insulation: fc
        .oneof(fc.constantFrom(60, 75, 90), number)
        .map((of) => safely(of, 'degC') as Derivation | undefined),
      metal: fc.constantFrom('copper', 'aluminium', 'silver').map((of) => fact('metal', of)),
      ampacityTable: fc.constantFrom('power-cable', 'other').map((of) => fact('ampacityTable', of)),
      cores: fc.integer({ min: 0, max: 9 }).map((of) => amount('cores', of, '')),
      rating: number.map((of) => safely(of, 'A') as Derivation | undefined),
      phases: fc.constantFrom('three', 'single').map((of) => fact('phases', of)),
    });
    return fc.tuple(fc.constantFrom(...parameter.partKinds), facts).map(([partKind, of]) => ({
      kind: 'part' as const,
      partKind,
      name: 'Something',
      fact: (property: string) => of[property as keyof typeof of],
    }));
  }
  return fc.string().map((of) => fact(name, of));
}

/** No derivation anywhere in a result may carry a number that is none. */
function expectFinite(derivation: Derivation): void {
  if (typeof derivation.value === 'object') {
    for (const number of [derivation.value.value, derivation.value.low, derivation.value.high])
      expect(Number.isFinite(number), derivation.name).toBe(true);
  }
  for (const inner of [...derivation.inputs, ...Object.values(derivation.parts)]) expectFinite(inner);
}

describe('arguments of any kind give a result or a reason, never an exception or NaN', () => {
  test.each(conductorFunctions.map((definition) => [definition.name, definition] as const))(
    '%s',
    (_name, definition) => {
      let answered = 0;
      const given = fc.record(
        Object.fromEntries(
          Object.entries(definition.parameters).map(([name, parameter]) => [
            name,
            parameter.optional || ('default' in parameter && parameter.default !== undefined)
              ? fc.option(anyArgument(name, parameter), { nil: undefined })
              : anyArgument(name, parameter),
          ]),
        ),
      );
      fc.assert(
        fc.property(given, (of) => {
          const result: Result = callFunction(definition, of);
          answered += result.kind === 'known' ? 1 : 0;
          if (result.kind === 'known') expectFinite(result.derivation);
          else if (result.kind === 'missing') expect(result.missing.length).toBeGreaterThan(0);
          else expect(result.reason.length).toBeGreaterThan(10);
        }),
        { numRuns: 500 },
      );
      // The arguments must be sensible often enough for the test to mean anything.
      expect(answered).toBeGreaterThan(3);
    },
  );
});

test('every plug of the table can be asked for', () => {
  for (const row of plugConfigurations.rows) {
    const plug = {
      kind: 'part' as const,
      partKind: 'plug',
      name: row.name,
      fact: (property: string) => (property === 'rating' ? amount('rating', row.rating, 'A') : undefined),
    };
    expect(value('plugContinuous', { plug }), row.name).toBeCloseTo(0.8 * row.rating, 9);
  }
});
