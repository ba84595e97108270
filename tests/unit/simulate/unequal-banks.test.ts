import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { Modes } from '../../../language/src/simulate/modes.js';
import { planOf, run, small } from './designs.js';

const positive = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

describe('modes of banks on one bus', () => {
  test('give the matrix of the rates back, and each the same again', () => {
    const bank = fc.record({
      effect: positive(0.3, 1.6),
      restSlope: fc.oneof(fc.constant(0), positive(1e-9, 1e-3)),
      resistance: positive(1e-4, 0.1),
      loss: positive(0, 1e-6),
    });
    fc.assert(
      fc.property(fc.array(bank, { minLength: 2, maxLength: 5 }), positive(0, 50), (banks, held) => {
        const count = banks.length;
        const steepness = held + banks.reduce((sum, { resistance }) => sum + 1 / resistance, 0);
        const jacobian = (row: number, column: number): number => {
          const [one, other] = [banks[row]!, banks[column]!];
          const own = row === column ? 1 / one.resistance : 0;
          const follows = 1 / (one.resistance * other.resistance * steepness) - own;
          return one.effect * Math.max(1e-12, other.restSlope) * follows - (row === column ? one.loss : 0);
        };
        const stiffness = Float64Array.from(banks, (_, at) => jacobian(at, at));
        const modes = new Modes(count);
        modes.part(stiffness);
        modes.couple(
          {
            size: count,
            banks: Int32Array.from(banks, (_, at) => at),
            effect: Float64Array.from(banks, ({ effect }) => effect),
            restSlope: Float64Array.from(banks, ({ restSlope }) => restSlope),
            resistance: Float64Array.from(banks, ({ resistance }) => resistance),
            steepness,
          },
          stiffness,
        );
        const [ofModes, found] = [new Float64Array(count), new Float64Array(count)];
        for (let column = 0; column < count; column += 1) {
          const unit = new Float64Array(count);
          unit[column] = 1;
          modes.toModes(unit, ofModes);
          modes.toBanks(ofModes, found);
          for (let row = 0; row < count; row += 1) expect(found[row]).toBeCloseTo(unit[row]!, 6);
          for (let mode = 0; mode < count; mode += 1) ofModes[mode]! *= modes.growth[mode]!;
          modes.toBanks(ofModes, found);
          // Turning there and back loses digits by how unlike the scales of the banks are.
          const scale = Math.max(...Array.from({ length: count }, (_, row) => Math.abs(jacobian(row, column))), 1e-9);
          for (let row = 0; row < count; row += 1)
            expect(Math.abs(found[row]! - jacobian(row, column)) / scale).toBeLessThan(1e-6);
        }
      }),
      { numRuns: 300 },
    );
  });
});

/** An invented site whose two banks differ in size, resistance, chemistry and charge. */
const site = (second: string, soc: string): string =>
  small({
    bank: 'capacity: 200 Ah   resistance: 5 mohm',
    generator: 'rated: 6 kW   apparent: 6 kVA   burn: { 0 %: 0.5 L/h, 100 %: 2.4 L/h }',
    load: 'power: 900 W   profile: { 06:00..09:00: 100 %, 17:00..23:00: 250 % }',
    charger: 'currentLimit: 90 A   float: 54 V',
    more: `battery Second { ${second}   cellTemperature: 20 degC }   run SecondRun: Second -> Bar { size: 25 mm2   type: FineStranded90   length: 2 m }`,
    scenario: `at: 05:00   duration: 4 d   soc(Bank): 62 %   soc(Second): ${soc}`,
  });

const SECONDS: Readonly<Record<string, string>> = {
  'a smaller bank of the same cells':
    'chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 120 Ah   resistance: 14 mohm',
  'a bank of other cells': 'chemistry: nmc   voltage: 51.1 V   cells: 14   capacity: 100 Ah   resistance: 20 mohm',
  'a bank of lead':
    'chemistry: agm   voltage: 48 V   cells: 24   capacity: 150 Ah   capacityTime: 20 h   peukert: 1.12   resistance: 18 mohm',
};

describe('two unequal banks on one bus', () => {
  for (const [name, second] of Object.entries(SECONDS))
    test(`${name}: no further off than the tolerance of steps from the same physics in steps of two seconds`, async () => {
      const plan = await planOf(site(second, '40 %'));
      const [usual, fine] = [run(plan), run(plan, { longestStep: 2, looseness: 1e-3 })];
      for (const bank of ['soc(Bank)', 'soc(Second)'])
        expect(Math.abs(usual.of(bank).at(-1)! - fine.of(bank).at(-1)!)).toBeLessThan(1e-6);
      expect(usual.events.map(({ what, of }) => `${what} ${of}`)).toEqual(
        fine.events.map(({ what, of }) => `${what} ${of}`),
      );
      for (const [at, { time }] of usual.events.entries())
        expect(Math.abs(time - fine.events[at]!.time)).toBeLessThan(0.5);
      // Taken each alone, they would need a step every few seconds: some 86,000.
      expect(usual.steps).toBeLessThan(8000);
    });
});
