import { describe, expect, it } from 'vitest';
import { type Property, type PropertyValue, type System, formatQuantity, inUnit } from '../../../language/src/index.js';
import { analyseText, applyFix, findingsOf } from '../../helpers/analyse.js';

async function design(text: string): Promise<System> {
  const analysis = await analyseText(text);
  expect(analysis.findings.filter(({ severity }) => severity === 'error').map(({ told }) => told)).toEqual([]);
  return analysis.designs[0]!.system;
}

const property = (system: System, thing: string, name: string): Property | undefined =>
  [...system.instances, ...system.runs, ...system.links, ...system.controls]
    .find((each) => each.name === thing)
    ?.properties.get(name);

function bounds(value: PropertyValue | undefined, unit: string): readonly [number, number] {
  if (value?.type !== 'quantity') throw new Error(`not a quantity: ${JSON.stringify(value)}`);
  const { quantity } = value;
  const at = (si: number): number => Number(inUnit({ ...quantity, value: si }, unit).toPrecision(12));
  return [at(quantity.low), at(quantity.high)];
}

describe('quantities of properties', () => {
  it.each([
    ['216..264 V', 'V', [216, 264]],
    ['216 V .. 264 V', 'V', [216, 264]],
    ['0.2..0.3 kV', 'V', [200, 300]],
    ['230 V ± 10 %', 'V', [207, 253]],
    ['230 V +/- 10 V', 'V', [220, 240]],
    ['min(230 V, 240 V)', 'V', [230, 230]],
    ['(100 V + 100 V) * 1.2', 'V', [240, 240]],
    ['2 * 115 V', 'V', [230, 230]],
    ['200 V .. 200 V * 1.25', 'V', [200, 250]],
  ] as const)('input: %s', async (text, unit, expected) => {
    const system = await design(`design D { charger C { input: ${text} } }`);
    expect(bounds(property(system, 'C', 'input')?.value, unit)).toEqual(expected);
  });

  it.each([
    ['-20..32 degC', [-20, 32]],
    ['-20 degC .. -4 degC', [-20, -4]],
    ['-4..32 degF', [-20, 0]],
    ['20 degC ± 5 K', [15, 25]],
    ['77 degF', [25, 25]],
    ['-10..30 °C', [-10, 30]],
    ['20 degC - 5 K .. 20 degC + 5 K', [15, 25]],
  ] as const)('ambient: %s', async (text, expected) => {
    const system = await design(`design D { site { ambient: ${text} } }`);
    expect(bounds(system.site.properties.get('ambient')?.value, 'degC')).toEqual(expected);
  });

  it('sizes in AWG, kcmil and mm² are one dimension', async () => {
    const system = await design(`design D {
  bus A
  bus B
  run R1: A -> B { size: 4/0 AWG }
  run R2: A -> B { size: 250 kcmil }
  run R3: A -> B { size: 2 * 35 mm2 }
}`);
    // ASTM B258: 4/0 AWG is 0.4600 in across, 107.2 mm²; NEC chapter 9 table 8: 250 kcmil is 127 mm².
    expect(bounds(property(system, 'R1', 'size')?.value, 'mm2')[0]).toBeCloseTo(107.2, 1);
    expect(bounds(property(system, 'R2', 'size')?.value, 'mm2')[0]).toBeCloseTo(126.7, 1);
    expect(bounds(property(system, 'R3', 'size')?.value, 'mm2')[0]).toBe(70);
  });

  it.each([
    ['230 V', 'single', 230, 230],
    ['120/240 V', 'split', 120, 240],
    ['120/208 V', 'three', 120, 208],
    ['230/400 V', 'three', 230, 400],
    ['three 400 V', 'three', 400 / Math.sqrt(3), 400],
  ] as const)('%s is a %s-phase system', async (text, phases, lineToNeutral, lineToLine) => {
    const system = await design(`design D { generator G { voltage: ${text} } }`);
    const value = property(system, 'G', 'voltage')?.value;
    expect(value).toMatchObject({ type: 'system', system: { phases } });
    if (value?.type !== 'system') return;
    expect(value.system.lineToNeutral).toBeCloseTo(lineToNeutral, 6);
    expect(value.system.lineToLine).toBeCloseTo(lineToLine, 6);
  });

  it('tables are sorted by their key', async () => {
    const system = await design(
      'design D { generator G { burn: { 100 %: 4 L/h, 25 %: 1.8 L/h, 50 %: assumed 2.4 L/h } } }',
    );
    const value = property(system, 'G', 'burn')?.value;
    expect(
      value?.type === 'table' &&
        value.rows.map(({ key, value: burnt }) => [formatQuantity(key), formatQuantity(burnt)]),
    ).toEqual([
      ['25 %', '1.8 L/h'],
      ['50 %', '2.4 L/h'],
      ['100 %', '4 L/h'],
    ]);
  });

  it('profiles may run over midnight, and have a name', async () => {
    const system = await design(`profile Night { 22:00..06:30: 50 %, 12:00..13:00: 100 % }
design D {
  load L { power: 1 W   profile: Night }
  load A { power: 1 W   profile: always }
  load B { power: 1 W   profile: { 00:00..24:00: 10 % } }
}`);
    const windows = (name: string): unknown => {
      const value = property(system, name, 'profile')?.value;
      return (
        value?.type === 'profile' && value.windows.map(({ from, to, share }) => [from / 3600, to / 3600, share.value])
      );
    };
    expect(windows('L')).toEqual([
      [22, 30.5, 0.5],
      [12, 13, 1],
    ]);
    expect(windows('A')).toEqual([[0, 24, 1]]);
    expect(windows('B')).toEqual([[0, 24, 0.1]]);
  });

  it('quiet hours keep their exception', async () => {
    const system = await design(`design D {
  generator G { rated: 1 kW }
  battery B { voltage: 12 V }
  control C of G { quiet: 22:00..06:30 unless soc(B) < 20 % }
}`);
    expect(property(system, 'C', 'quiet')?.value).toMatchObject({
      type: 'quiet',
      from: 22 * 3600,
      to: 6.5 * 3600,
      unless: 'soc(B) < 20 %',
    });
  });

  it('lists of words, flags, texts and money', async () => {
    const system = await design(
      'design D { generator G { legs: L1, L2   integralProtection: yes   note: "x"   price: 1450 EUR } }',
    );
    expect(property(system, 'G', 'legs')?.value).toEqual({ type: 'words', words: ['L1', 'L2'] });
    expect(property(system, 'G', 'integralProtection')?.value).toEqual({ type: 'flag', flag: true });
    expect(property(system, 'G', 'note')?.value).toEqual({ type: 'text', text: 'x' });
    expect(property(system, 'G', 'price')?.text).toBe('1450 EUR');
  });
});

describe('where a value comes from', () => {
  const TEXT = `let half = 50 %
part battery Base { chemistry: lfp   voltage: 12.8 V   capacity: 100 Ah }
part battery Large extends Base { capacity: 200 Ah }
design D {
  battery Bank : Large { series: assumed 4 }
  load Lamp { power: ? }
  let share = half / 2
  run Feed: Bank -> Lamp { length: 2 m * share }
}
variant Wide of D { Bank.parallel = 3   Bank.capacity = 300 Ah   site.altitude = 500 m   design.socGap = 5 %   design.basis = iec }
`;

  it('is the nearest of instance, part, base part and default', async () => {
    const { system } = (await analyseText(TEXT)).designs[0]!;
    const origin = (name: string): unknown => {
      const { origin: of, inheritedFrom, text } = property(system, 'Bank', name)!;
      return [of, inheritedFrom, text];
    };
    expect(origin('chemistry')).toEqual(['stated', 'Base', 'lfp']);
    expect(origin('capacity')).toEqual(['stated', 'Large', '200 Ah']);
    expect(origin('series')).toEqual(['assumed', undefined, '4']);
    expect(origin('parallel')).toEqual(['default', undefined, '1']);
  });

  it('a hole takes the value away and is kept', async () => {
    const { system } = (await analyseText(TEXT)).designs[0]!;
    const lamp = system.instances.find(({ name }) => name === 'Lamp')!;
    expect(lamp.properties.has('power')).toBe(false);
    expect(lamp.holes.map(({ property: name, place }) => [name, TEXT.slice(place.offset, place.end)])).toEqual([
      ['power', '?'],
    ]);
  });

  it('values of `let` count in properties', async () => {
    const { system } = (await analyseText(TEXT)).designs[0]!;
    expect(bounds(property(system, 'Feed', 'length')?.value, 'm')).toEqual([0.5, 0.5]);
  });

  it('a variant replaces values and keeps the rest', async () => {
    const { system } = (await analyseText(TEXT)).designs[1]!;
    expect(system.variant).toBe('Wide');
    expect(bounds(property(system, 'Bank', 'parallel')?.value, '')).toEqual([3, 3]);
    expect(bounds(property(system, 'Bank', 'capacity')?.value, 'Ah')).toEqual([300, 300]);
    expect(bounds(property(system, 'Bank', 'series')?.value, '')).toEqual([4, 4]);
    expect(system.basis.practice).toBe('iec');
    expect(bounds(system.site.properties.get('altitude')?.value, 'm')).toEqual([500, 500]);
    expect(bounds(system.settings.get('socGap')?.value, '')).toEqual([0.05, 0.05]);
  });

  it('a `let` of a design has the value of the variant it is read in', async () => {
    const text = `design D {
  battery Bank { voltage: 12 V   capacity: 100 Ah }
  let whole = Bank.capacity * 2
  load Lamp { power: 1 W   note: "x" }
  run Feed: Bank -> Lamp { length: 1 m * (whole / 100 Ah) }
}
variant Big of D { Bank.capacity = 300 Ah }
`;
    const [base, big] = (await analyseText(text)).designs;
    expect(bounds(property(base!.system, 'Feed', 'length')?.value, 'm')).toEqual([2, 2]);
    expect(bounds(property(big!.system, 'Feed', 'length')?.value, 'm')).toEqual([6, 6]);
  });

  it('a value may rest on a thing that stands further down', async () => {
    const system = await design(`design D {
  load Lamp { power: Fan.power * 2 }
  load Fan { power: 30 W }
}`);
    expect(bounds(property(system, 'Lamp', 'power')?.value, 'W')).toEqual([60, 60]);
  });

  it('a circle of values is said once', async () => {
    const analysis = await analyseText(`design D {
  let a = b + 1
  let b = a + 1
}`);
    expect(analysis.findings.filter(({ severity }) => severity === 'error').map(({ told }) => told)).toHaveLength(1);
  });
});

describe('mistakes in values', () => {
  it.each([
    ['battery B { capacity: 200 A }', '200 Ah'],
    ['battery B { maximumCharge: 100 Ah }', '100 A'],
    ['load L { power: 5 kWh }', '5 kW'],
    ['load L { power: 5 kVA }', '5 kW'],
    ['generator G { apparent: 7.5 kW }', '7.5 kVA'],
    ['generator G { tank: 25 L/h }', '25 L'],
    ['load L { power: 500 }', '500 W'],
    ['generator G { voltage: 230 }', '230 V'],
    ['battery B { resistance: 4 V }', undefined],
  ])('%s is a wrong dimension, mended to %s', async (text, meant) => {
    const whole = `design D { ${text} }`;
    const analysis = await analyseText(whole);
    const found = findingsOf(analysis, 'wrong-dimension');
    expect(found).toHaveLength(1);
    const [fix] = found[0]!.fixes;
    expect(fix?.title).toBe(meant && `Change to ${meant}`);
    if (!fix) return;
    const after = await analyseText(applyFix(whole, fix));
    expect(findingsOf(after, 'wrong-dimension')).toEqual([]);
    expect(applyFix(whole, fix)).toContain(meant);
  });

  it('a size without its square is proposed with it', async () => {
    const whole = 'design D { bus A   bus B   run R: A -> B { size: 35 mm } }';
    const [found] = findingsOf(await analyseText(whole), 'wrong-dimension');
    expect(found?.told).toContain('35 mm2');
    expect(applyFix(whole, found!.fixes[0]!)).toContain('35 mm2');
  });

  it('mixing dimensions names both sides', async () => {
    const [found, second] = findingsOf(
      await analyseText('design D { load L { power: 3 W + 2 Wh } }'),
      'wrong-dimension',
    );
    expect(found?.told).toContain('power');
    expect(found?.told).toContain('energy');
    expect(second).toBeUndefined();
  });

  it.each([
    ['battery B { series: 1.5 }', 'whole number'],
    ['battery B { capacity: -5 Ah }', 'negative'],
    ['charger C { efficiency: 0 % }', '30 %'],
    ['run R: A -> A { size: 99 AWG }', ''],
    ['load L { power: 1 W   profile: { 07:00..25:00: 100 % } }', '24:00'],
    ['generator G { voltage: 120/230 V }', '1 to 2'],
    ['load L { power: 1 W   profile: { 07:00..08:60: 100 % } }', '24:00'],
    ['generator G { burn: { 50 %: 1 L/h, 50 %: 2 L/h } }', 'twice'],
    ['charger C { input: 1 V / 0 }', 'zero'],
  ])('%s is impossible: %s', async (text, reason) => {
    const analysis = await analyseText(`design D { bus A   ${text} }`);
    const found = findingsOf(analysis, 'value-out-of-range');
    expect(found.map(({ told }) => told)).toHaveLength(1);
    expect(found[0]!.told).toContain(reason);
    expect(found[0]!.told).not.toMatch(/NaN|undefined/);
  });

  it('one fault in a part is said at the part, however many use it', async () => {
    const text = `part load Lamp { power: 40 Wh }
design D {
  load A : Lamp
  load B : Lamp
}
variant V of D { A.count = 2 }
`;
    const found = findingsOf(await analyseText(text), 'wrong-dimension');
    expect(found).toHaveLength(1);
    expect(text.slice(found[0]!.place.offset, found[0]!.place.end)).toBe('40 Wh');
  });

  it('one fault in a `let` is said at the `let`, however many use it', async () => {
    const analysis = await analyseText(`let wrong = 1 V + 1 A
design D {
  load A { power: wrong }
  load B { power: wrong * 2 }
  require wrong > 1 V
}`);
    const errors = analysis.findings.filter(({ severity }) => severity === 'error');
    expect(errors.map(({ check }) => check)).toEqual(['wrong-dimension']);
  });
});
