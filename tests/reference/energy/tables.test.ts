import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import {
  CHARGER_CLASSES,
  CHEMISTRIES,
  CHEMISTRY_NAMES,
  CODE_LETTERS,
  FUELS,
  FUEL_DIESEL,
  FUEL_DIESEL_SMALL,
  FUEL_NATURAL_GAS,
  FUEL_PROPANE,
  GENERATOR_PRACTICE,
  MEAN_DAYS,
  MODULE_COEFFICIENTS,
  type Point,
  chemistry,
  chemistrySource,
  coldModuleFactor,
  cycleLifePoints,
  fuelFactor,
  generatorPractice,
  heatingValue,
  leadCapacityAt,
  leadTemperatureFactor,
  lithiumCapacityAt,
  lithiumChargeRateAt,
  lockedRotorBand,
  onCurve,
  onExtendedCurve,
  openCircuitCurve,
  openCircuitSlope,
  openCircuitVoltage,
  stateOfChargeAt,
} from '../../../language/src/reference/energy/index.js';

const folder = path.resolve(import.meta.dirname, '../../../language/src/reference/energy');
const files = globSync('*.json', { cwd: folder }).sort();
const PROVENANCES = ['published', 'from memory', 'common practice, no source', 'own derivation'];

const ascending = (values: readonly number[]): boolean =>
  values.every((value, index) => index === 0 || value > values[index - 1]!);

describe('energy tables', () => {
  test('there are tables', () => expect(files.length).toBeGreaterThan(20));

  test.each(files)('%s says what it is and how far it can be trusted', (file) => {
    const table = JSON.parse(readFileSync(path.join(folder, file), 'utf8')) as Record<string, unknown>;
    expect(typeof table['standard']).toBe('string');
    expect(PROVENANCES).toContain(table['provenance']);
    expect(Array.isArray(table['rows'])).toBe(true);
    const rows = table['rows'] as Record<string, unknown>[];
    expect(rows.length).toBeGreaterThan(0);
    for (const row of rows) if ('provenance' in row) expect(PROVENANCES).toContain(row['provenance']);
  });

  test('locked-rotor bands follow each other without gap (NEC Table 430.7(B))', () => {
    const bands = CODE_LETTERS.map((letter) => lockedRotorBand(letter));
    expect(bands).toHaveLength(19);
    bands.slice(1).forEach((band, index) => expect(band.from).toBeCloseTo(bands[index]!.to! + 0.01, 9));
    expect(bands.at(-1)!.to).toBeNull();
    expect(lockedRotorBand('G')).toMatchObject({ from: 5.6, to: 6.29 });
  });

  test('cold module factors rise as it gets colder and cover every degree (NEC Table 690.7(A))', () => {
    const degrees = Array.from({ length: 66 }, (_, index) => 25 - index);
    const factors = degrees.map((degree) => coldModuleFactor(degree)!.factor);
    factors.slice(1).forEach((factor, index) => expect(factor).toBeGreaterThanOrEqual(factors[index]!));
    expect(coldModuleFactor(25)!.factor).toBe(1);
    expect(coldModuleFactor(-10)!.factor).toBe(1.14);
    expect(coldModuleFactor(-40)!.factor).toBe(1.25);
    expect(coldModuleFactor(-41)).toBeUndefined();
    // Between two bands of whole degrees the colder one counts.
    expect(coldModuleFactor(19.5)!.factor).toBe(1.04);
  });

  test('fuel rates rise with load in every row', () => {
    for (const table of [FUEL_DIESEL, FUEL_DIESEL_SMALL, FUEL_NATURAL_GAS, FUEL_PROPANE]) {
      expect(ascending(table.loads)).toBe(true);
      for (const row of table.rows) {
        expect(row.rate).toHaveLength(table.loads.length);
        expect(ascending(row.rate)).toBe(true);
      }
    }
  });

  test('diesel rows yield 2.8 to 3.9 kWh from a litre at full load, as diesel sets do (common practice, no source)', () => {
    for (const row of FUEL_DIESEL.rows) {
      const yieldPerLitre = row.rated / row.rate.at(-1)!;
      expect(yieldPerLitre).toBeGreaterThan(2.8);
      expect(yieldPerLitre).toBeLessThan(3.9);
    }
  });

  test('every fuel has a factor inside its span and a heating value', () => {
    for (const fuel of FUELS) {
      const { factor, from, to } = fuelFactor(fuel);
      expect(factor).toBeGreaterThanOrEqual(from);
      expect(factor).toBeLessThanOrEqual(to);
      expect(heatingValue(fuel).value).toBeGreaterThan(0);
    }
  });

  test('every practice number is there and has a source', () => {
    for (const fact of GENERATOR_PRACTICE) expect(generatorPractice(fact).source.standard.length).toBeGreaterThan(5);
    expect(generatorPractice('clean-share')).toMatchObject({
      value: 0.6,
      source: { provenance: 'common practice, no source' },
    });
    expect(generatorPractice('light-load').value).toBe(0.3);
  });

  test('charger classes stay inside their own spans', () => {
    for (const row of CHARGER_CLASSES) {
      expect(row.efficiencyFrom).toBeLessThanOrEqual(row.efficiency);
      expect(row.efficiency).toBeLessThanOrEqual(row.efficiencyTo);
      expect(row.powerFactorFrom).toBeLessThanOrEqual(row.powerFactor);
      expect(row.powerFactor).toBeLessThanOrEqual(row.powerFactorTo);
    }
  });

  test('voltages of every chemistry stand in the order of practice', () => {
    expect(CHEMISTRIES.map((row) => row.name)).toEqual([...CHEMISTRY_NAMES]);
    for (const row of CHEMISTRIES) {
      expect(row.absorb.from).toBeLessThanOrEqual(row.absorb.to);
      expect(row.absorb.to).toBeLessThanOrEqual(row.chargeMost);
      expect(row.absorbLeast).toBeLessThanOrEqual(row.absorb.from);
      if (row.float) expect(row.float.to).toBeLessThan(row.absorb.from);
      if (row.equalise) expect(row.equalise.to).toBeLessThanOrEqual(row.chargeMost);
      if (row.protection) {
        expect(row.protection.from).toBeLessThan(row.cutOff.from);
        expect(row.protection.to).toBeGreaterThanOrEqual(row.chargeMost);
      }
      expect(row.cutOff.to).toBeLessThan(row.alarmLow);
      expect(row.alarmLow).toBeLessThanOrEqual(row.generatorStart);
      expect(row.generatorStart).toBeLessThan(row.reconnect.from);
      expect(row.chargeRate.usual).toBeLessThanOrEqual(row.chargeRate.most);
      expect(chemistrySource(row.name, 'absorb').standard.length).toBeGreaterThan(5);
    }
  });

  test('lithium takes neither equalisation nor temperature compensation and is not charged below 0 °C', () => {
    for (const name of ['lfp', 'nmc']) {
      const row = chemistry(name)!;
      expect(row.equaliseAllowed).toBe('never');
      expect(row.compensation).toEqual({ allowed: false, coefficient: 0 });
      expect(row.chargeTemperature.from).toBe(0);
      expect(row.gases).toBe(false);
    }
    expect(lithiumChargeRateAt(-0.1).rate).toBe(0);
    expect(lithiumChargeRateAt(5).rate).toBe(0.1);
    expect(lithiumChargeRateAt(25).rate).toBe(0.5);
    expect(chemistrySource('lfp', 'protection').provenance).toBe('published');
    expect(chemistrySource('lfp', 'absorb').provenance).toBe('from memory');
    expect(chemistry('unobtainium')).toBeUndefined();
  });

  test('rest-voltage curves rise from empty to full and read back', () => {
    for (const name of CHEMISTRY_NAMES) {
      const { points } = openCircuitCurve(name)!;
      expect(points[0]![0]).toBe(0);
      expect(points.at(-1)![0]).toBe(1);
      expect(ascending(points.map(([charge]) => charge))).toBe(true);
      expect(ascending(points.map(([, volts]) => volts))).toBe(true);
      for (const charge of [0, 0.1, 0.37, 0.5, 0.99, 1])
        expect(stateOfChargeAt(name, openCircuitVoltage(name, charge)!)).toBeCloseTo(charge, 9);
    }
    expect(openCircuitCurve('unobtainium')).toBeUndefined();
  });

  test('a half-volt sag on 16 cells of the flat curve is 29 % of charge (slope by hand from the data set)', () => {
    expect(0.5 / (16 * openCircuitSlope('lfp', 0.5)!)).toBeCloseTo(0.29, 3);
    expect(openCircuitSlope('lfp', 1.1)).toBeUndefined();
  });

  test('lead-acid loses capacity in the cold, more at fast discharge (handbook page 199)', () => {
    expect(leadCapacityAt(-3.9, 0.25)!.capacity).toBeCloseTo(0.65, 9);
    expect(leadCapacityAt(-3.9, 8)!.capacity).toBeCloseTo(0.765, 9);
    expect(leadCapacityAt(25, 20)!.capacity).toBe(1);
    expect(leadCapacityAt(-30, 8)).toBeUndefined();
    // The IEEE 485 factor agrees with the 15 min row at −3.9 °C: 1/0.65 = 1.54 against 1.52.
    expect(leadTemperatureFactor(-3.9)!.factor * leadCapacityAt(-3.9, 0.25)!.capacity).toBeCloseTo(1, 1);
    expect(lithiumCapacityAt(0)!.capacity).toBeCloseTo(0.88, 9);
    expect(lithiumCapacityAt(60)).toBeUndefined();
  });

  test('shallower cycles give more of them', () => {
    for (const name of CHEMISTRY_NAMES) {
      const { points } = cycleLifePoints(name)!;
      expect(ascending(points.map((point) => point.depth))).toBe(true);
      expect(ascending(points.map((point) => -point.from))).toBe(true);
      for (const point of points) expect(point.to).toBeGreaterThan(point.from);
    }
  });

  test('module coefficients and mean days have their rows', () => {
    expect(MEAN_DAYS.rows).toHaveLength(12);
    for (const row of MODULE_COEFFICIENTS.rows) {
      expect(row.openCircuit.from).toBeLessThan(row.openCircuit.to);
      expect(row.openCircuit.to).toBeLessThan(0);
    }
  });

  test('curves are read between their points and, when asked, beyond them', () => {
    const curve: readonly Point[] = [
      [1, 10],
      [2, 20],
      [4, 0],
    ];
    expect(onCurve(curve, 1.5)).toBe(15);
    expect(onCurve(curve, 0.5)).toBeUndefined();
    expect(onCurve(curve, 5)).toBeUndefined();
    expect(onExtendedCurve(curve, 0)).toBe(0);
    expect(onExtendedCurve(curve, 5)).toBe(-10);
  });
});
