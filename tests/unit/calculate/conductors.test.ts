import { describe, expect, test } from 'vitest';
import { governingText } from '../../../language/src/glossary/reason-text.js';
import { conductorFunctions } from '../../../language/src/calculate/conductors/index.js';
import {
  type GivenArgument,
  type PartArgument,
  amount,
  callFunction,
  fact,
  stated,
} from '../../../language/src/calculate/registry.js';
import { type Derivation, displayValue, numberIn } from '../../../language/src/derivation/index.js';
import { range, quantity } from '../../../language/src/quantity/index.js';
import {
  areaOfName,
  nextSize,
  sizeAtLeast,
  standardRatings,
  standardSizes,
} from '../../../language/src/reference/index.js';

const call = (name: string, given: Record<string, GivenArgument>) =>
  callFunction(
    conductorFunctions.find((candidate) => candidate.name === name)!,
    given,
  );

function answer(name: string, given: Record<string, GivenArgument>): Derivation {
  const result = call(name, given);
  if (result.kind !== 'known') throw new Error(JSON.stringify(result));
  return result.derivation;
}
function reason(name: string, given: Record<string, GivenArgument>): string {
  const result = call(name, given);
  if (result.kind !== 'refused') throw new Error(`${name} gave ${result.kind}`);
  return result.reason;
}
const size = (name: string): Derivation => amount('size', areaOfName(name), 'mm2');
const degC = (name: string, value: number): Derivation => amount(name, value, 'degC');
const amperes = (name: string, value: number): Derivation => amount(name, value, 'A');

const part = (partKind: string, name: string, facts: Record<string, Derivation>): PartArgument => ({
  kind: 'part',
  partKind,
  name,
  fact: (property) => facts[property],
});
const thermoplastic = part('conductor', 'Thermoplastic90', {
  insulation: degC('insulation', 90),
  metal: fact('metal', 'aluminium'),
  strand: fact('strand', 'stranded'),
});
const cord = part('cord', 'HardUsage', { insulation: degC('insulation', 60), metal: fact('metal', 'copper') });
const powerCable = part('cord', 'Portable', {
  insulation: degC('insulation', 90),
  metal: fact('metal', 'copper'),
  ampacityTable: fact('ampacityTable', 'power-cable'),
});

describe('the registered list', () => {
  test('every function of the section is there, with two examples, validity and a source', () => {
    const names =
      'resistance ampacity ambientFactor bundleFactor voltageDrop smallestSize conductorFor requiredAmpacity protectionFor nextRating largestProtection smallConductorLimit earthConductor electrodeConductor shortTimeArea shortTimeCurrent faultCurrent bankResistance areaOf diameterOf craftArea plugContinuous plugPower';
    expect(conductorFunctions.map((definition) => definition.name)).toEqual(names.split(' '));
    for (const { name, examples, validity, sources, parameters } of conductorFunctions) {
      expect(examples.length, name).toBeGreaterThanOrEqual(2);
      expect(validity, name).toBeTruthy();
      expect(sources.length, name).toBeGreaterThan(0);
      for (const parameter of Object.values(parameters)) expect(parameter.doc, name).toBeTruthy();
    }
  });
});

describe('ampacity shows what led to it', () => {
  const hot = answer('ampacity', {
    size: size('6 AWG'),
    ambient: degC('ambient', 45),
    conductors: amount('conductors', 6, ''),
  });

  test('the parts are the table value, both factors and the terminal limit', () => {
    expect(Object.keys(hot.parts).sort()).toEqual([
      'ambientFactor',
      'bundleFactor',
      'corrected',
      'terminalLimit',
      'uncorrected',
    ]);
    expect(numberIn(hot.parts['uncorrected']!, 'A')).toBe(75);
    expect(numberIn(hot.parts['ambientFactor']!, '')).toBe(0.87);
    expect(numberIn(hot.parts['bundleFactor']!, '')).toBe(0.8);
    expect(numberIn(hot.parts['terminalLimit']!, 'A')).toBe(65);
    expect(numberIn(hot, 'A')).toBeCloseTo(52.2, 9);
    expect(governingText(hot)).toBe('correction and adjustment');
  });

  test('the equation codes allow stands beside the banded factor', () => {
    expect(hot.parts['ambientFactor']!.notes.join()).toContain(
      '√((Tc − Ta)/(Tc − 30 degC)) that codes allow instead gives 0.866',
    );
  });

  test('defaults say that they are defaults', () => {
    const insulation = hot.parts['uncorrected']!.inputs.find((input) => input.name === 'insulation')!;
    expect(insulation.origin).toBe('default');
    expect(displayValue(insulation)).toBe('90 degC');
    expect(insulation.notes.join()).toContain('not stated');
    const terminals = hot.parts['terminalLimit']!.inputs.find((input) => input.name === 'terminals')!;
    expect(terminals.origin).toBe('default');
    expect(terminals.notes.join()).toContain('110.14(C)');
  });

  test('a 90 °C conductor is held to the column of its terminals', () => {
    const cool = answer('ampacity', { size: size('2/0 AWG'), insulation: degC('insulation', 90) });
    expect(numberIn(cool, 'A')).toBe(175);
    expect(governingText(cool)).toContain('what its terminals allow');
    expect(numberIn(answer('ampacity', { size: size('2/0 AWG'), terminals: degC('terminals', 60) }), 'A')).toBe(145);
  });

  test('values from memory say so, confirmed ones do not', () => {
    const iec = { basis: fact('basis', 'iec'), method: fact('method', 'C') };
    const pvc = answer('ampacity', { ...iec, size: size('10 mm2'), insulation: degC('insulation', 70) });
    const xlpe = answer('ampacity', { ...iec, size: size('10 mm2'), insulation: degC('insulation', 90) });
    expect(pvc.source?.provenance).toBe('published');
    expect(xlpe.source?.provenance).toBe('from memory');
  });

  test('a range of ambient is taken at its hot end', () => {
    const site = stated('ambient', range(quantity(-20, 'degC'), quantity(42, 'degC')));
    const over = answer('ampacity', { size: size('6 AWG'), ambient: site, terminals: degC('terminals', 90) });
    expect(numberIn(over, 'A')).toBeCloseTo(75 * 0.87, 9);
    expect(governingText(over)).toContain('ambient 42 degC');
  });
});

describe('ampacity takes facts from the type', () => {
  test('metal and insulation of the conductor type', () => {
    const derived = answer('ampacity', { size: size('2 AWG'), type: thermoplastic, terminals: degC('terminals', 90) });
    expect(numberIn(derived, 'A')).toBe(100);
  });
  test('an argument goes before the type', () => {
    const given = { size: size('2 AWG'), type: thermoplastic, metal: fact('metal', 'copper') };
    expect(numberIn(answer('ampacity', { ...given, terminals: degC('terminals', 90) }), 'A')).toBe(130);
  });
  test('a metal without tables is refused by name', () => {
    const silver = part('conductor', 'Plated', { metal: fact('metal', 'silver') });
    expect(reason('ampacity', { size: size('2 AWG'), type: silver })).toContain('Plated states metal `silver`');
  });
  test('insulation above the last NEC column takes that column and says so', () => {
    const battery = part('conductor', 'FineStranded105', { insulation: degC('insulation', 105) });
    const derived = answer('ampacity', { size: size('2/0 AWG'), type: battery, terminals: degC('terminals', 90) });
    expect(numberIn(derived, 'A')).toBe(195);
    expect(derived.parts['uncorrected']!.notes.join()).toContain('no column for 105 degC');
  });
});

describe('cords are read in the cord tables', () => {
  const carries = (given: Record<string, GivenArgument>): number => numberIn(answer('ampacity', given), 'A');
  const conductors = (count: number): Derivation => amount('conductors', count, '');

  test('NEC Table 400.5(A)(1), 10 AWG: 30 A with two, 25 A with three, 80 % of that with four', () => {
    expect(carries({ size: size('10 AWG'), cord, conductors: conductors(2) })).toBe(30);
    expect(carries({ size: size('10 AWG'), cord, conductors: conductors(3) })).toBe(25);
    expect(carries({ size: size('10 AWG'), cord, conductors: conductors(4) })).toBe(20);
  });
  test('a cord given as type is read as a cord, in the lower column when nothing says how many conductors', () => {
    const derived = answer('ampacity', { size: size('10 AWG'), type: cord });
    expect(numberIn(derived, 'A')).toBe(25);
    expect(derived.source?.table).toBe('Table 400.5(A)(1)');
  });
  test('the cores of a cord, less the earth, count', () => {
    const threeCore = part('cord', 'ThreeCore', { cores: amount('cores', 3, '') });
    expect(carries({ size: size('10 AWG'), cord: threeCore })).toBe(30);
  });
  test('NEC Table 400.5(A)(2), 2/0 AWG portable cable: 237 A with three at 90 °C, held to 175 A by 75 °C terminals', () => {
    const free = answer('ampacity', { size: size('2/0 AWG'), cord: powerCable });
    expect(numberIn(free.parts['uncorrected']!, 'A')).toBe(237);
    expect(numberIn(free, 'A')).toBe(175);
  });
  test('a size the building-wire table does not list has no terminal limit', () => {
    const derived = answer('ampacity', { size: size('17 AWG'), cord, conductors: conductors(2) });
    expect(numberIn(derived, 'A')).toBe(12);
    expect(derived.notes.join()).toContain('no terminal limit');
  });
  test('rubber cables under iec: BS 7671 4F1A, 16 mm² two-core 73 A', () => {
    expect(carries({ size: size('16 mm2'), cord, basis: fact('basis', 'iec') })).toBe(73);
  });
  test('afloat, cords are read as ashore: gauge sizes under nec, metric ones in the rubber-cable tables', () => {
    const basis = fact('basis', 'craft');
    const gauge = answer('ampacity', { size: size('10 AWG'), cord, basis, conductors: conductors(2) });
    expect(numberIn(gauge, 'A')).toBe(30);
    expect(gauge.notes.join()).toContain('no cord table of its own');
    expect(carries({ size: size('16 mm2'), cord, basis })).toBe(73);
  });
});

describe('sizes that a table does not list', () => {
  const iec = fact('basis', 'iec');
  // NEC Table 310.16: 2 AWG (33.6 mm²) 115 A at the 75 °C of the terminals, 130 A at 90 °C; 12 AWG (3.31 mm²) 25 A and 30 A.
  test('a metric size under nec takes the row of the next smaller gauge, and says so', () => {
    const derivation = answer('ampacity', { size: size('35 mm2') });
    expect(numberIn(derivation, 'A')).toBe(115);
    expect(numberIn(derivation.parts.uncorrected!, 'A')).toBe(130);
    expect(derivation.parts.uncorrected!.notes.join()).toMatch(/no 35 mm2; the row of the next smaller size, 2 AWG/);
    expect(numberIn(answer('ampacity', { size: size('4 mm2') }), 'A')).toBe(25);
  });
  test('a gauge under iec takes the row of the next smaller metric size', () => {
    const derivation = answer('ampacity', { size: size('4 AWG'), basis: iec, insulation: degC('insulation', 70) });
    expect(numberIn(derivation, 'A')).toBe(
      numberIn(answer('ampacity', { size: size('16 mm2'), basis: iec, insulation: degC('insulation', 70) }), 'A'),
    );
    expect(derivation.parts.uncorrected!.notes.join()).toContain('16 mm2');
  });
  // IEC 60228 class 2, 35 mm²: 0.524 ohm/km at 20 °C; NEC Chapter 9 Table 8, 4 AWG: 0.308 ohm per 1000 ft at 75 °C.
  test('resistance is that of the standard a conductor is made to, whatever the practice', () => {
    const metric = { size: size('35 mm2'), length: amount('length', 1, 'km'), temperature: degC('temperature', 20) };
    expect(numberIn(answer('resistance', metric), 'ohm')).toBeCloseTo(0.524, 9);
    const gauge = { size: size('4 AWG'), length: amount('length', 1000, 'ft'), basis: iec };
    expect(numberIn(answer('resistance', gauge), 'ohm')).toBeCloseTo(0.308, 9);
  });
  // NEC 240.4(D) by the gauge below: 6 mm² is more than 10 AWG (30 A), 10 mm² more than 8 AWG, which it does not limit.
  test('a small metric conductor has the limit of the gauge below it', () => {
    expect(numberIn(answer('smallConductorLimit', { size: size('1.5 mm2') }), 'A')).toBe(10);
    expect(numberIn(answer('smallConductorLimit', { size: size('2.5 mm2') }), 'A')).toBe(15);
    expect(numberIn(answer('smallConductorLimit', { size: size('6 mm2') }), 'A')).toBe(30);
    expect(reason('smallConductorLimit', { size: size('10 mm2') })).toContain('does not limit');
  });
  test('an area that is no standard size is refused with the two nearest names', () => {
    expect(reason('ampacity', { size: amount('size', 36.5, 'mm2') })).toBe(
      'NEC Table 310.16 has no 36.5 mm2; its nearest sizes are 2 AWG and 1 AWG',
    );
  });
  test('a size below the table’s smallest is refused', () => {
    expect(reason('ampacity', { size: size('0.5 mm2') })).toContain('its smallest size is 18 AWG');
  });
  test('circular mils of the book and exact gauge areas are one size', () => {
    expect(numberIn(answer('ampacity', { size: amount('size', 211.6, 'kcmil') }), 'A')).toBe(230);
  });
  test('beyond the last size only the last one is named', () => {
    expect(reason('ampacity', { size: size('2500 kcmil') })).toContain('its largest size is 2000 kcmil');
  });
});

describe('tables of the design’s own', () => {
  const own = (property: string, key: string, value: number, unit: string): PartArgument => ({
    ...thermoplastic,
    fact: (name) => (name === 'insulation' ? degC('insulation', 90) : undefined),
    table: (name) =>
      name === property ? [{ key: quantity(areaOfName(key), 'mm2'), value: quantity(value, unit) }] : undefined,
  });
  test('an ampacity goes before the table of the practice and is corrected like it', () => {
    const type = own('ampacities', '4 AWG', 100, 'A');
    const given = { size: size('4 AWG'), type, ambient: degC('ambient', 45), terminals: degC('terminals', 90) };
    // 100 A · 0.87 (NEC Table 310.15(B)(1), 90 °C, 41 to 45 °C); the terminals allow 95 A (Table 310.16).
    const derivation = answer('ampacity', given);
    expect(numberIn(derivation, 'A')).toBeCloseTo(87, 9);
    expect(derivation.parts.uncorrected!.source).toEqual({
      standard: 'own table of the design',
      table: 'ampacities of Thermoplastic90',
      provenance: 'data sheet',
    });
    // A size it does not list is read in the practice's table.
    expect(numberIn(answer('ampacity', { ...given, size: size('6 AWG') }), 'A')).toBeCloseTo(75 * 0.87, 9);
  });
  test('a resistance goes before the stored tables, at 20 °C', () => {
    const type = own('resistances', '16 mm2', 1.1, 'mohm/m');
    const at = (temperature: number): number =>
      numberIn(
        answer('resistance', { size: size('16 mm2'), type, temperature: degC('temperature', temperature) }),
        'mohm',
      );
    expect(at(20)).toBeCloseTo(1.1, 9);
    expect(at(70)).toBeCloseTo(1.1 * (1 + 0.00393 * 50), 3);
  });
});

describe('small flexible cords', () => {
  const iec = fact('basis', 'iec');
  // Ratings of flexible cords quoted on public pages: 1 mm² 10 A; 2.5 mm² 20 A (from memory 25 A in BS 7671 Table 4F3A).
  test('below 4 mm² the cord table is read, from 4 mm² the rubber-cable table', () => {
    const carries = (name: string): Derivation => answer('ampacity', { size: size(name), cord, basis: iec });
    expect(numberIn(carries('1 mm2'), 'A')).toBe(10);
    expect(carries('1 mm2').source?.provenance).toBe('published');
    expect(numberIn(carries('2.5 mm2'), 'A')).toBe(20);
    expect(carries('2.5 mm2').source).toMatchObject({ table: 'Table 4F3A', provenance: 'from memory' });
    expect(numberIn(carries('4 mm2'), 'A')).toBe(30);
    expect(carries('4 mm2').source?.table).toBe('Table 4F1A');
  });
});

describe('between the two places of small craft', () => {
  const factor = (ambient: number): Derivation =>
    answer('ambientFactor', {
      ambient: degC('ambient', ambient),
      insulation: degC('insulation', 105),
      basis: fact('basis', 'craft'),
    });
  test('the equation stands between 30 °C outside and 50 °C inside engine spaces', () => {
    expect(numberIn(factor(30), '')).toBe(1);
    expect(numberIn(factor(35), '')).toBeCloseTo(Math.sqrt(70 / 75), 9);
    expect(factor(35).source?.provenance).toBe('own derivation');
    // The equation gives 0.856 at 50 °C and the printed factor is 0.85: the equation never falls below it.
    expect(numberIn(factor(49.9), '')).toBeGreaterThanOrEqual(0.85);
    expect(numberIn(factor(50), '')).toBe(0.85);
  });
});

describe('practices are never mixed', () => {
  test('2/0 AWG copper: 175 A in raceway under nec, 330 A in free air at 105 °C afloat', () => {
    expect(numberIn(answer('ampacity', { size: size('2/0 AWG') }), 'A')).toBe(175);
    const craft = { size: size('2/0 AWG'), basis: fact('basis', 'craft'), insulation: degC('insulation', 105) };
    expect(numberIn(answer('ampacity', craft), 'A')).toBe(330);
    expect(numberIn(answer('ampacity', { ...craft, terminals: degC('terminals', 75) }), 'A')).toBe(265);
    expect(numberIn(answer('ampacity', { ...craft, ambient: degC('ambient', 50) }), 'A')).toBeCloseTo(330 * 0.85, 9);
  });
  test('bundling afloat counts from 50 V', () => {
    const craft = { basis: fact('basis', 'craft'), conductors: amount('conductors', 5, '') };
    expect(numberIn(answer('bundleFactor', { ...craft, voltage: amount('voltage', 12, 'V') }), '')).toBe(1);
    expect(numberIn(answer('bundleFactor', { ...craft, voltage: amount('voltage', 120, 'V') }), '')).toBe(0.6);
    expect(numberIn(answer('bundleFactor', craft), '')).toBe(0.6);
  });
  test('metric sizes afloat are read in ISO 13297, from memory, with its own engine-space factor', () => {
    const craft = { size: size('35 mm2'), basis: fact('basis', 'craft'), insulation: degC('insulation', 105) };
    const cool = answer('ampacity', craft);
    expect(numberIn(cool, 'A')).toBe(210);
    expect(cool.source).toMatchObject({ standard: 'ISO 13297', provenance: 'from memory' });
    const engine = answer('ampacity', { ...craft, engineSpace: fact('engineSpace', true) });
    expect(numberIn(engine, 'A')).toBeCloseTo(210 * 0.86, 9);
    const gauge = answer('ampacity', { ...craft, size: size('2 AWG'), engineSpace: fact('engineSpace', true) });
    expect(numberIn(gauge, 'A')).toBeCloseTo(210 * 0.85, 9);
  });
  test('sizing afloat stays in the series asked for', () => {
    const given = {
      current: amperes('current', 150),
      basis: fact('basis', 'craft'),
      insulation: degC('insulation', 105),
      protection: fact('protection', false),
    };
    expect(displayValue(answer('conductorFor', given))).toBe('4 AWG');
    expect(displayValue(answer('conductorFor', { ...given, series: fact('series', 'metric') }))).toBe('25 mm2');
    expect(nextSize(35, 'craft')?.name).toBe('50 mm2');
    expect(nextSize(areaOfName('2 AWG'), 'craft')?.name).toBe('1 AWG');
  });
  test('no aluminium afloat', () => {
    const given = { current: amperes('current', 10), metal: fact('metal', 'aluminium'), basis: fact('basis', 'craft') };
    expect(reason('conductorFor', given)).toBe('craft practice has no aluminium conductors');
  });
});

describe('ambient', () => {
  test('a band holds up to and including its end, also when written in °F', () => {
    const insulation = degC('insulation', 75);
    const at = (ambient: Derivation): number => numberIn(answer('ambientFactor', { ambient, insulation }), '');
    expect(at(degC('ambient', 40))).toBe(0.88);
    expect(at(amount('ambient', 104, 'degF'))).toBe(0.88);
    expect(at(degC('ambient', 40.1))).toBe(0.82);
    expect(at(degC('ambient', -40))).toBe(1.2);
  });
  test('where the table leaves nothing, nothing is given', () => {
    expect(reason('ambientFactor', { ambient: degC('ambient', 58), insulation: degC('insulation', 60) })).toBe(
      'NEC Table 310.15(B)(1) leaves no ampacity to 60 degC insulation at an ambient of 58 degC',
    );
  });
  test('methods in the ground have their own table', () => {
    const given = { ambient: degC('ambient', 30), insulation: degC('insulation', 90), basis: fact('basis', 'iec') };
    expect(numberIn(answer('ambientFactor', { ...given, method: fact('method', 'D1') }), '')).toBe(0.93);
    expect(numberIn(answer('ambientFactor', given), '')).toBe(1);
  });
  test('half a conductor is refused', () => {
    expect(reason('bundleFactor', { conductors: amount('conductors', 3.5, '') })).toContain('no whole number');
  });
});

describe('resistance and drop', () => {
  test('fine-stranded conductors under nec are 4 % above the stranded row, from memory', () => {
    const derived = answer('resistance', {
      size: size('2/0 AWG'),
      length: amount('length', 1000, 'ft'),
      strand: fact('strand', 'flexible'),
    });
    expect(numberIn(derived, 'ohm')).toBeCloseTo(0.0967 * 1.04, 9);
  });
  test('stranding comes from the type; a solid type is stranded where no solid conductor is listed', () => {
    const cable = part('conductor', 'HouseCable', { strand: fact('strand', 'solid') });
    const perThousandFeet = (name: string): number =>
      numberIn(answer('resistance', { size: size(name), length: amount('length', 1000, 'ft'), type: cable }), 'ohm');
    expect(perThousandFeet('12 AWG')).toBeCloseTo(1.93, 9);
    expect(perThousandFeet('6 AWG')).toBeCloseTo(0.491, 9);
  });
  test('solid large conductors and flexible aluminium are refused', () => {
    expect(reason('resistance', { size: size('2 AWG'), strand: fact('strand', 'solid') })).toContain(
      'no solid conductor of 2 AWG',
    );
    const flexible = { size: size('25 mm2'), strand: fact('strand', 'flexible'), metal: fact('metal', 'aluminium') };
    expect(reason('resistance', { ...flexible, basis: fact('basis', 'iec') })).toContain('no flexible aluminium');
  });
  const run = { current: amperes('current', 100), length: amount('length', 100, 'ft'), size: size('500 kcmil') };
  test('large conductors on alternating current have the resistance of Table 9', () => {
    // 2 · 100 A · 100 ft · 0.027 ohm per 1000 ft; direct current 0.0258.
    expect(numberIn(answer('voltageDrop', { ...run, system: fact('system', 'single') }), 'V')).toBeCloseTo(0.54, 9);
    expect(numberIn(answer('voltageDrop', run), 'V')).toBeCloseTo(0.516, 9);
  });
  test('at a power factor below 1 reactance counts: Zeff of Table 9, 500 kcmil at 0.85', () => {
    const given = { ...run, system: fact('system', 'three'), powerFactor: amount('powerFactor', 0.85, '') };
    const impedance = 0.027 * 0.85 + 0.039 * Math.sqrt(1 - 0.85 ** 2);
    expect(numberIn(answer('voltageDrop', given), 'V')).toBeCloseTo(Math.sqrt(3) * 100 * 0.1 * impedance, 9);
  });
  test('a power factor on direct current is refused', () => {
    expect(reason('voltageDrop', { ...run, powerFactor: amount('powerFactor', 0.8, '') })).toContain(
      'system single or three',
    );
  });
  test('a limit in volts and the same limit in percent give one size', () => {
    const given = {
      current: amperes('current', 60),
      length: amount('length', 5, 'm'),
      voltage: amount('voltage', 48, 'V'),
    };
    const percent = answer('smallestSize', { ...given, drop: amount('drop', 3, '%') });
    const volts = answer('smallestSize', { ...given, drop: amount('drop', 1.44, 'V') });
    expect(percent.value).toEqual(volts.value);
    expect(percent.notes[0]).toContain('would lose');
    expect(numberIn(percent.parts['drop']!.parts['ratio']!, '%')).toBeLessThanOrEqual(3);
  });
  test('a limit no size keeps is refused with the best that can be had', () => {
    const given = {
      current: amperes('current', 500),
      length: amount('length', 2, 'km'),
      voltage: amount('voltage', 12, 'V'),
    };
    expect(reason('smallestSize', { ...given, drop: amount('drop', 3, '%') })).toContain('2000 kcmil still loses');
  });
});

describe('conductorFor', () => {
  test('continuous load and derating are not multiplied: the larger of two sizes is taken', () => {
    const given = { current: amperes('current', 80), insulation: degC('insulation', 90), ambient: degC('ambient', 45) };
    const sized = { ...given, conductors: amount('conductors', 6, '') };
    const derived = answer('conductorFor', { ...sized, protection: fact('protection', false) });
    // 125 %: 100 A asks 3 AWG at 75 °C; conditions: 80 A asks 115 A · 0.87 · 0.8 = 80.04 A, also 3 AWG.
    expect(displayValue(derived)).toBe('3 AWG');
    expect(numberIn(derived.parts['ampacity']!, 'A')).toBeCloseTo(80.04, 2);
    // The 100 A device the load needs may not protect 80.04 A (next standard rating 90 A), so 2 AWG: 90.48 A.
    const protectedToo = answer('conductorFor', { ...sized, protection: fact('protection', true) });
    expect(displayValue(protectedToo)).toBe('2 AWG');
    expect(governingText(protectedToo)).toContain('largest device 90 A is below the one the load needs, 100 A');
  });
  test('NEC 240.4(D) counts: 16 A continuous needs a 20 A device, so 12 AWG; without it 14 AWG carries it', () => {
    const derived = answer('conductorFor', { current: amperes('current', 16) });
    expect(displayValue(derived)).toBe('12 AWG');
    expect(governingText(derived)).toContain('240.4(D)');
    const without = answer('conductorFor', {
      current: amperes('current', 16),
      protection: fact('protection', false),
    });
    expect(displayValue(without)).toBe('14 AWG');
  });
  test('iec and craft keep to their own sizes', () => {
    const current = amperes('current', 100);
    expect(displayValue(answer('conductorFor', { current, basis: fact('basis', 'iec') }))).toBe('25 mm2');
    const craft = { current, basis: fact('basis', 'craft'), insulation: degC('insulation', 105) };
    expect(displayValue(answer('conductorFor', craft))).toBe('6 AWG');
  });
  test('a current no single conductor carries is refused with the largest', () => {
    expect(reason('conductorFor', { current: amperes('current', 3000) })).toContain(
      'no standard size carries 3000 A; 2000 kcmil',
    );
  });
});

describe('protection', () => {
  const largest = (value: number, given: Record<string, GivenArgument> = {}): number =>
    numberIn(answer('largestProtection', { ampacity: amperes('ampacity', value), ...given }), 'A');

  test('NEC 240.4(B) stops at 800 A, 240.4(C) begins above', () => {
    expect(largest(755)).toBe(800);
    expect(largest(800)).toBe(800);
    expect(largest(810)).toBe(800);
    expect(largest(1100)).toBe(1000);
  });
  test('an iec fuse of 10 A trips late and is held lower than a breaker', () => {
    const basis = fact('basis', 'iec');
    expect(largest(13, { basis })).toBe(13);
    expect(largest(13, { basis, device: fact('device', 'fuse') })).toBe(6);
    expect(largest(13.11, { basis, device: fact('device', 'fuse') })).toBe(10);
  });
  test('craft allows 150 % of the ampacity at most', () => {
    const basis = fact('basis', 'craft');
    expect(largest(60, { basis })).toBe(60);
    expect(largest(61, { basis })).toBe(70);
    expect(largest(1.2, { basis })).toBe(1);
  });
  test('iec and craft: rating for a load', () => {
    const given = (basis: string) => ({ current: amperes('current', 40), basis: fact('basis', basis) });
    expect(numberIn(answer('protectionFor', given('iec')), 'A')).toBe(40);
    expect(numberIn(answer('protectionFor', given('craft')), 'A')).toBe(50);
    expect(answer('protectionFor', given('craft')).inputs[0]!.source?.provenance).toBe('common practice, no source');
  });
  test('sizes NEC 240.4(D) does not limit are refused', () => {
    expect(reason('smallConductorLimit', { size: size('8 AWG') })).toContain('does not limit 8 AWG copper');
  });
});

describe('earth conductors', () => {
  test('what is missing is named', () => {
    expect(call('earthConductor', {})).toEqual({ kind: 'missing', missing: ['rating'] });
    expect(call('earthConductor', { basis: fact('basis', 'iec') })).toEqual({
      kind: 'missing',
      missing: ['installed'],
    });
  });
  test('NEC 250.122(A): never larger than the circuit conductors', () => {
    const derived = answer('earthConductor', {
      rating: amperes('rating', 20),
      minimum: amount('minimum', areaOfName('14 AWG'), 'mm2'),
      installed: amount('installed', areaOfName('12 AWG'), 'mm2'),
    });
    expect(displayValue(derived)).toBe('12 AWG');
    expect(governingText(derived)).toContain('250.122(A)');
  });
  test('IEC 60364-5-54 Table 54.2: S, 16 mm², S/2 rounded up to a standard size', () => {
    const protective = (name: string): string =>
      displayValue(
        answer('earthConductor', {
          installed: amount('installed', areaOfName(name), 'mm2'),
          basis: fact('basis', 'iec'),
        }),
      );
    expect(['2.5 mm2', '16 mm2', '25 mm2', '35 mm2', '50 mm2', '95 mm2', '120 mm2'].map(protective)).toEqual([
      '2.5 mm2',
      '16 mm2',
      '16 mm2',
      '16 mm2',
      '25 mm2',
      '50 mm2',
      '70 mm2',
    ]);
  });
  test('aluminium electrode conductor for 4/0 AWG aluminium: 2 AWG (NEC Table 250.66)', () => {
    const derived = answer('electrodeConductor', {
      size: size('4/0 AWG'),
      metal: fact('metal', 'aluminium'),
      conductorMetal: fact('conductorMetal', 'aluminium'),
    });
    expect(displayValue(derived)).toBe('2 AWG');
  });
});

describe('faults and heat', () => {
  test('thick PVC conductors have the lower k of the table', () => {
    const derived = answer('shortTimeCurrent', { size: size('400 mm2'), time: amount('time', 1, 's') });
    expect(numberIn(derived, 'A')).toBe(103 * 400);
  });
  test('the material of the type is its insulation', () => {
    const type = part('conductor', 'Crosslinked', { material: fact('material', 'xlpe') });
    const given = { size: size('95 mm2'), time: amount('time', 1, 's') };
    expect(numberIn(answer('shortTimeCurrent', { ...given, type }), 'A')).toBeCloseTo(143 * 95, 6);
    const warm = part('conductor', 'Warm', { material: fact('material', 'pvc'), insulation: degC('insulation', 90) });
    expect(numberIn(answer('shortTimeCurrent', { ...given, type: warm }), 'A')).toBeCloseTo(100 * 95, 6);
    expect(numberIn(answer('shortTimeCurrent', given), 'A')).toBeCloseTo(115 * 95, 6);
  });
  test('longer than 5 s is outside the method', () => {
    const given = { size: size('10 mm2'), time: amount('time', 6, 's') };
    expect(reason('shortTimeCurrent', given)).toContain('at most 5 s');
  });
  test('no k for aluminium with rubber', () => {
    const given = { size: size('16 mm2'), time: amount('time', 1, 's'), insulation: fact('insulation', 'rubber') };
    expect(reason('shortTimeCurrent', { ...given, metal: fact('metal', 'aluminium') })).toContain('no k for aluminium');
  });
  test('parallel strings add up, cable takes away', () => {
    const given = { voltage: amount('voltage', 51.2, 'V'), resistance: amount('resistance', 5, 'mohm') };
    expect(numberIn(answer('faultCurrent', given), 'A')).toBeCloseTo(10240, 6);
    expect(numberIn(answer('faultCurrent', { ...given, strings: amount('strings', 3, '') }), 'A')).toBeCloseTo(
      30720,
      6,
    );
  });
});

describe('plugs', () => {
  test('a plug that states its own continuous share keeps it', () => {
    const plug = part('plug', 'Full', {
      rating: amperes('rating', 32),
      continuousShare: amount('continuousShare', 100, '%'),
    });
    expect(numberIn(answer('plugContinuous', { plug }), 'A')).toBe(32);
  });
  test('three phases carry √3 between lines', () => {
    const plug = part('plug', 'Three', {
      rating: amperes('rating', 30),
      phases: fact('phases', 'three'),
      voltage: amount('voltage', 208, 'V'),
    });
    expect(numberIn(answer('plugPower', { plug }), 'VA')).toBeCloseTo(Math.sqrt(3) * 208 * 24, 6);
  });
  test('without a rating or voltage it says what is missing', () => {
    const bare = part('plug', 'Bare', {});
    expect(call('plugContinuous', { plug: bare })).toEqual({ kind: 'missing', missing: ['rating of Bare'] });
    const rated = part('plug', 'Rated', { rating: amperes('rating', 30) });
    expect(call('plugPower', { plug: rated })).toEqual({ kind: 'missing', missing: ['voltage'] });
  });
});

describe('standard sizes and ratings for checks', () => {
  test('sizes begin at the smallest size of power wiring and rise', () => {
    expect(standardSizes('nec')[0]?.name).toBe('14 AWG');
    expect(standardSizes('nec', 'aluminium')[0]?.name).toBe('12 AWG');
    expect(standardSizes('iec')[0]?.name).toBe('1.5 mm2');
    expect(standardSizes('iec', 'aluminium')[0]?.name).toBe('10 mm2');
    expect(
      standardSizes('craft')
        .map((known) => known.name)
        .at(-1),
    ).toBe('4/0 AWG');
  });
  test('the next size is strictly larger; at least allows the same', () => {
    expect(nextSize(areaOfName('4 AWG'), 'nec')?.name).toBe('3 AWG');
    expect(nextSize(42, 'iec')?.name).toBe('50 mm2');
    expect(nextSize(areaOfName('2000 kcmil'), 'nec')).toBeUndefined();
    expect(sizeAtLeast(areaOfName('4 AWG'), 'nec')?.name).toBe('4 AWG');
  });
  test('ratings rise', () => {
    for (const basis of ['nec', 'iec', 'craft'] as const) {
      const ratings = standardRatings(basis);
      expect(ratings).toEqual([...ratings].sort((left, right) => left - right));
    }
  });
});
