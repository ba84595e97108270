import { beforeAll, describe, expect, it } from 'vitest';
import { type Derivation, displayValue, numberIn } from '../../../language/src/index.js';
import { type Expressions, expressions } from '../../helpers/expressions.js';
import { derivationOf } from '../../helpers/quantities.js';

/* Where one rule of a conductor gives way to another: a limit met to the ampere, a second limit behind the first. */

let evaluate: Expressions['evaluate'];
let valueOf: Expressions['valueOf'];
beforeAll(async () => {
  ({ evaluate, valueOf } = await expressions());
});

const shown = (text: string): string => displayValue(valueOf(text));

describe('a conductor for a load', () => {
  // NEC 310.15(C)(1): 40 % for 31 to 40 conductors. 14 AWG: 25 A · 0.4 = 10 A, which may have a device of 10 A (240.4(B)), and a continuous load
  // of 10 A asks for one of 15 A. 12 AWG: 30 A · 0.4 = 12 A may have 15 A.
  it('is no smaller than its device allows, though 240.4(D) would allow that device', () => {
    expect(shown('conductorFor(current: 10 A, conductors: 31, insulation: 90 degC)')).toBe('12 AWG');
    expect(shown('conductorFor(current: 8 A, conductors: 31, insulation: 90 degC)')).toBe('14 AWG');
  });

  // NEC 215.2(A)(1), 110.14(C): 250 A before correction; 4/0 AWG has 260 A at 90 °C and 230 A at 75 °C.
  it('is held before correction to the lower of table and terminals', () => {
    expect(shown('conductorFor(current: 200 A, insulation: 90 degC)')).toBe('250 kcmil');
    expect(shown('conductorFor(current: 200 A, insulation: 90 degC, terminals: 90 degC)')).toBe('4/0 AWG');
  });

  it('carries its current to the ampere', () => {
    // NEC Table 310.16: 8 AWG 50 A, 6 AWG 65 A at 75 °C.
    const least = (amperes: number): string =>
      shown(`conductorFor(current: ${amperes} A, continuous: no, insulation: 75 degC)`);
    expect(least(50)).toBe('8 AWG');
    expect(least(50.01)).toBe('6 AWG');
  });
});

describe('rubber cables', () => {
  // BS 7671 Table 4F1A, 60 °C: 10 mm² 51 A with two cores, 47 A with three.
  it('are read by the number of their cores', () => {
    const of = (loaded: number): string =>
      shown(`ampacity(size: 10 mm2, cord: H07RN-F, loaded: ${loaded}, basis: iec)`);
    expect(of(2)).toBe('51 A');
    expect(of(3)).toBe('47 A');
  });

  // BS 7671 4F1A stands at 30 °C around and 60 °C in the conductor: √((60 − 40)/(60 − 30)).
  it('are corrected by the temperature that their table is made for', () => {
    const warm = valueOf('ampacity(size: 10 mm2, cord: H07RN-F, ambient: 40 degC, basis: iec)');
    expect(numberIn(warm.parts['ambientFactor']!, '')).toBeCloseTo(Math.sqrt(20 / 30), 9);
  });
});

describe('the ambient correction', () => {
  const correction = (text: string): Derivation => valueOf(text);

  it('is 1 by definition at the temperature a table is made for, however the rest is known', () => {
    const at = (degrees: number) =>
      correction(`ambientFactor(ambient: ${degrees} degC, insulation: 70 degC, basis: iec)`).source?.provenance;
    expect(at(30)).toBe('own derivation');
    expect(at(35)).not.toBe('own derivation');
  });

  // 33 CFR 183.425 publishes the column of 105 °C; the others are told from memory.
  it('knows which columns are published', () => {
    const at = (insulation: number) =>
      correction(`ambientFactor(ambient: 50 degC, insulation: ${insulation} degC, basis: craft)`).source?.provenance;
    expect(at(105)).toBe('published');
  });

  it('says that it took a lower column, and only where it did', () => {
    const notes = (insulation: number): string =>
      correction(`ambientFactor(ambient: 40 degC, insulation: ${insulation} degC)`).notes.join();
    expect(notes(90)).not.toContain('no column');
    expect(notes(85)).toContain('no column for 85 degC');
  });
});

describe('the ampacity says what decided it', () => {
  it('the table, or the corrections where there are any', () => {
    const by = (text: string) => valueOf(text).governing?.map((reason) => ('by' in reason ? reason.by : reason.kind));
    expect(by('ampacity(size: 6 AWG, insulation: 60 degC)')).toEqual(['table']);
    expect(by('ampacity(size: 6 AWG, insulation: 60 degC, ambient: 40 degC)')).toEqual(['corrections']);
  });

  it('what is taken for the conductors of a cord', () => {
    const notes = (text: string): string => {
      const all = (derivation: Derivation): string[] => [...derivation.notes, ...derivation.inputs.flatMap(all)];
      const value = valueOf(text);
      return [value, ...Object.values(value.parts)].flatMap(all).join();
    };
    expect(notes('ampacity(size: 6 AWG, insulation: 75 degC)')).not.toContain('one conductor by itself');
    expect(notes('ampacity(size: 6 AWG, insulation: 75 degC, basis: craft)')).toContain('one conductor by itself');
  });

  it.each([
    ['ampacity(size: 25 mm2, method: F, loaded: 3, insulation: 90 degC, basis: iec)', 'in trefoil', true],
    ['ampacity(size: 25 mm2, method: F, loaded: 2, insulation: 90 degC, basis: iec)', 'in trefoil', false],
    ['ampacity(size: 25 mm2, method: G, loaded: 3, insulation: 90 degC, basis: iec)', 'horizontal row', true],
    ['ampacity(size: 25 mm2, method: E, loaded: 3, insulation: 90 degC, basis: iec)', 'horizontal row', false],
  ])('%s', (text, words, isSaid) => {
    const notes = (derivation: Derivation): string[] => [...derivation.notes, ...derivation.inputs.flatMap(notes)];
    const all = notes(valueOf(text)).join();
    expect(all.includes(words)).toBe(isSaid);
  });
});

describe('the bounds of what may be asked', () => {
  const isRefused = (text: string): boolean => evaluate(text).result.kind !== 'known';

  it('are 0 A and 100 %', () => {
    expect(shown('requiredAmpacity(continuous: 20 A, noncontinuous: 0.5 A)')).toBe('25.5 A');
    expect(numberIn(valueOf('shortTimeArea(current: 0.5 A, time: 1 s)'), 'mm2')).toBeCloseTo(0.5 / 115, 9);
    expect(isRefused('voltageDrop(current: 1 A, length: 1 m, size: 10 AWG, system: single, powerFactor: 1)')).toBe(
      false,
    );
    expect(isRefused('voltageDrop(current: 1 A, length: 1 m, size: 10 AWG, system: single, powerFactor: 1.01)')).toBe(
      true,
    );
    expect(isRefused('smallestSize(current: 1 A, length: 1 m, voltage: 12 V, drop: 100 %)')).toBe(false);
    expect(isRefused('smallestSize(current: 1 A, length: 1 m, voltage: 12 V, drop: 101 %)')).toBe(true);
  });
});

describe('resistance aboard', () => {
  // Copper has 17.241 ohm·mm²/km at 20 °C (IEC 60028): 10 mm² 1.7241 mohm a metre.
  it('follows from the area and the resistivity of copper', () => {
    const of = (area: number): number =>
      numberIn(valueOf(`resistance(size: ${area} mm2, temperature: 20 degC, basis: craft)`), 'mohm');
    expect(of(12)).toBeCloseTo(17.241 / 12, 3);
    expect(of(24)).toBeCloseTo(17.241 / 24, 3);
  });
});

describe('the drop of a direct current', () => {
  it('knows no power factor, that of an alternating one does', () => {
    const names = (system: string): string[] =>
      valueOf(`voltageDrop(current: 10 A, length: 10 m, size: 10 AWG, system: ${system})`).inputs.map(
        ({ symbol, name }) => symbol ?? name,
      );
    expect(names('single')).toContain('cos φ');
    expect(names('dc')).not.toContain('cos φ');
  });
});

describe('ratings say by which rule they stand', () => {
  it('a standard one at the ampacity, else the next above', () => {
    const rule = (amperes: number) =>
      valueOf(`largestProtection(ampacity: ${amperes} A)`).governing?.flatMap((reason) =>
        'clause' in reason ? [reason.clause] : [],
      );
    expect(rule(50)).toEqual(['standardRating']);
    expect(rule(55)).toEqual(['nextRatingAbove']);
  });

  // NEC 240.6(A): 1, 3, 6, 10 and 601 A are ratings of fuses.
  it('of fuses only, where they are', () => {
    const notes = (amperes: number): string => valueOf(`nextRating(current: ${amperes} A)`).notes.join();
    expect(notes(5)).toContain('fuses only');
    expect(notes(20)).not.toContain('fuses only');
  });
});

describe('portable power cables', () => {
  // NEC Table 400.5(A)(2), 2 AWG at 90 °C, from memory: one conductor 190 A (D), two 174 A (E), three 152 A (F).
  it('are read in the column for as many conductors as carry current', () => {
    const of = (conductors: number): number =>
      numberIn(valueOf(`ampacity(size: 2 AWG, cord: TypeW, conductors: ${conductors})`).parts['uncorrected']!, 'A');
    expect([1, 2, 3].map(of)).toEqual([190, 174, 152]);
  });
});

describe('a cord that does not say what it stands', () => {
  // NEC 400.4 and Table 400.5(A)(1): cords are made from 60 °C on; at 40 °C √((60 − 40)/(60 − 30)) of 25 A are 20.4 A, by the table 0.82, 20.5 A.
  it('is taken for 60 °C', async () => {
    const text = `part cord Plain { material: rubber   strand: flexible   basis: nec }
design Camp {
  basis: nec 2023
  grid Post { voltage: 120 V   rating: 30 A   neutralBond: bonded }
  load Heater { power: 1 kW }
  run Cord: Post -> Heater { size: 10 AWG   type: Plain   length: 5 m   ambient: 40 degC   conductors: 3 }
}
`;
    expect(numberIn(await derivationOf(text, 'Cord', 'ampacity'), 'A')).toBeCloseTo(20.5, 9);
  });
});

describe('the diameter of a conductor', () => {
  // NEC Chapter 9 Table 8: 4/0 AWG stranded is 0.528 in overall.
  it('is told of the strands as well as of the metal', () => {
    expect(numberIn(valueOf('diameterOf(size: 4/0 AWG)').parts['stranded']!, 'mm')).toBeCloseTo(0.528 * 25.4, 6);
  });
});

describe('arguments', () => {
  it.each([
    ['protectionFor(current: 0.5 A)', '1 A'],
    ['nextRating(current: 0.5 A)', '1 A'],
    ['largestProtection(ampacity: 0.5 A)', '1 A'],
    ['requiredAmpacity(continuous: 0.4 A)', '500 mA'],
    ['requiredAmpacity(continuous: 0 A, noncontinuous: 0.5 A)', '500 mA'],
    ['faultCurrent(voltage: 50 V, resistance: 1 ohm, strings: 10000)', '500 kA'],
    // 2 · 1 A · 1 m · 4.07 mohm/m (NEC Chapter 9 Table 8).
    ['voltageDrop(current: 1 A, length: 1 m, size: 10 AWG, voltage: 0.5 V)', '8.136 mV'],
  ])('may be small or many: %s', (text, value) => {
    expect(shown(text)).toBe(value);
  });

  it('end somewhere', () => {
    expect(() => valueOf('faultCurrent(voltage: 50 V, resistance: 1 ohm, strings: 10001)')).toThrow(/10000/);
  });
});
