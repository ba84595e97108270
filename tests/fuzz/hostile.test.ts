import { afterAll, describe, expect, it } from 'vitest';
import { Examination } from './examination.js';

const examination = new Examination();
afterAll(() => examination.end());

/** Ends what hangs; judges no time. */
const TIME = 600_000;
type Files = Readonly<Record<string, string>>;

const many = (count: number, text: (index: number) => string, between = '\n'): string =>
  Array.from({ length: count }, (_, index) => text(index)).join(between);
const deep = (count: number, open: string, inside: string, close: string): string =>
  open.repeat(count) + inside + close.repeat(count);
const inDesign = (...members: string[]): string => `design House {\n  ${members.join('\n  ')}\n}\n`;

/** Asks, expects every promise kept, and gives back the checks that spoke and what they said. */
async function examined(files: string | Files): Promise<{ checks: string[]; messages: string }> {
  const { faults, findings } = await examination.ask(files);
  expect(faults).toEqual([]);
  return {
    checks: [...new Set(findings.map(({ check }) => check))],
    messages: findings.map(({ message }) => message).join('\n'),
  };
}

/** Cases that must keep every promise and of which a check must speak; none where silence is right or does not matter. */
type Case = readonly [name: string, files: string | Files, check?: string];
function each(title: string, cases: readonly Case[]): void {
  describe(title, () => {
    for (const [name, files, check] of cases) {
      it(
        name,
        async () => {
          const { checks } = await examined(files);
          if (check) expect(checks).toContain(check);
        },
        TIME,
      );
    }
  });
}

const BANK = 'battery Bank { voltage: 51.2 V   capacity: 100 Ah   chemistry: lfp }';

each('nesting and length', [
  ['10,000 brackets', `let a = ${deep(10_000, '(', '1', ')')}`, 'syntax-error'],
  ['100,000 brackets', `let a = ${deep(100_000, '(', '1', ')')}`, 'syntax-error'],
  ['100,000 open brackets', `let a = ${'('.repeat(100_000)}`, 'syntax-error'],
  ['100,000 closing brackets', `let a = 1${')'.repeat(100_000)}`, 'syntax-error'],
  ['100,000 braces in a design', `design D {${'{'.repeat(100_000)}`, 'syntax-error'],
  ['100,000 tables in tables', `profile P ${deep(100_000, '{ 1: ', '2', '}')}`, 'syntax-error'],
  ['100,000 minus signs', `let a = ${'-'.repeat(100_000)}1`, 'syntax-error'],
  ['10,000 open brackets', `let a = ${'('.repeat(10_000)}`, 'syntax-error'],
  ['59 brackets are fine', `let a = ${deep(59, '(', '1', ')')}`],
  ['10,000 braces', `design D ${'{'.repeat(10_000)}`, 'syntax-error'],
  ['10,000 tables in tables', `profile P ${deep(10_000, '{ 1: ', '2', '}')}`, 'syntax-error'],
  ['10,000 minus signs', `let a = ${'-'.repeat(10_000)}1`, 'syntax-error'],
  ['10,000 spaced minus signs', `let a = ${'- '.repeat(10_000)}1`, 'syntax-error'],
  ['minus signs with comments between', `let a = ${'- /* x */ '.repeat(5_000)}1`],
  ['10,000 times not', inDesign(`require ${'not '.repeat(10_000)}1 > 2`), 'syntax-error'],
  ['not with comments between', inDesign(`require ${'not // x\n'.repeat(5_000)}1 > 2`)],
  ['a tower of 20,000 powers', `let a = 1${' ^ 1'.repeat(20_000)}`, 'syntax-error'],
  ['a tower of 9,000 powers', `let a = 1${' ^ 1'.repeat(9_000)}`],
  ['a sum of 100,000 terms', `let a = 1${' + 1'.repeat(100_000)}`],
  ['a sum of 2,000 terms', `let a = 1 V${' + 1 V'.repeat(2_000)}`],
  ['a product of 1,000 voltages', `let a = 2 V${' * 2 V'.repeat(1_000)}`],
  ['10,000 conditions', inDesign(`require 1 > 0${' and 1 > 0'.repeat(10_000)}`)],
  ['10,000 calls within calls', `let a = ${deep(10_000, 'abs(', '1', ')')}`, 'syntax-error'],
  ['a call with 10,000 arguments', `let a = min(${many(10_000, (index) => `${index}`, ', ')})`],
  ['a range of ranges', `let a = 1${'..2'.repeat(300)} V`],
  [
    'a path of 10,000 steps',
    inDesign('battery Bank { voltage: 12 V }', `require Bank${'.capacity'.repeat(10_000)} > 1 V`),
  ],
  ['a name of 100,000 letters', `let ${'a'.repeat(100_000)} = 1`],
  ['a name of hyphens', `let a${'-a'.repeat(20_000)} = 1`],
  ['a number of 100,000 digits', `let a = ${'9'.repeat(100_000)} V`, 'value-out-of-range'],
  ['a fraction of 100,000 digits', `let a = 0.${'3'.repeat(100_000)} V`],
  ['digits and dots', `let a = ${'1.'.repeat(20_000)}`, 'syntax-error'],
  ['digits and colons', `let a = ${'1:'.repeat(20_000)}`, 'syntax-error'],
  ['digits and slashes', `let a = ${'1/'.repeat(20_000)}`, 'syntax-error'],
  ['a run through 5,000 stops', inDesign('bus B', `run R: ${many(5_000, () => 'B', ' -> ')}`)],
  ['a run to 5,000 loads', inDesign('bus B', `run R: B -> ${many(5_000, () => 'B', ', ')}`)],
  ['one line of 1,000,000 spaces', `let a = 1${' '.repeat(1_000_000)}`],
  ['1,000,000 line ends', `let a = 1${'\n'.repeat(1_000_000)}let b = a`],
]);

each('much text', [
  ['a name of 5 MB', `let ${'a'.repeat(5_000_000)} = 1`, 'syntax-error'],
  ['a name of 3 MB', `let ${'a'.repeat(3_000_000)} = 1`],
  ['a text of 3 MB', `design D "${'x'.repeat(3_000_000)}" {}`],
  ['a number of 3 MB', `let a = ${'9'.repeat(3_000_000)} V`, 'value-out-of-range'],
  ['a unit of 3 MB', `let a = 1 ${'V'.repeat(3_000_000)}`],
  ['a doc comment of 3 MB', `/** ${'x'.repeat(3_000_000)} */ design D {}`],
  ['a file of 5 MB', `// ${'x'.repeat(5_000_000)}`, 'syntax-error'],
  ['3 MB of comments', `/* ${'x'.repeat(3_000_000)} */ let a = 1`],
  ['50,000 lines of comments', many(50_000, (index) => `// line ${index}`)],
  [
    '5,000 parts that inherit from one another',
    `part load P0 {}\n${many(5_000, (index) => `part load P${index + 1} extends P${index} {}`)}`,
  ],
  ['5,000 lets of one another', `let v0 = 1 V\n${many(5_000, (index) => `let v${index + 1} = v${index} + 1 V`)}`],
  ['5,000 lets of one another, the last first', many(5_000, (index) => `let v${index} = v${index + 1} + 1 V`)],
  [
    '5,000 parts that inherit from one another, the last first',
    `${many(5_000, (index) => `part load P${index} extends P${index + 1} {}`)}\npart load P5000 {}`,
  ],
  [
    '2,000 things that rest on one another, the last first',
    inDesign(
      many(2_000, (index) => `load L${index} { power: L${index + 1}.power }`),
      'load L2000 { power: 1 W }',
    ),
  ],
  [
    '100 lets of each a sum of 300 terms, the last first',
    many(100, (index) => `let v${index} = v${index + 1}${' + 1 V'.repeat(300)}`),
  ],
  ['2,000 errors', many(2_000, () => 'part load {')],
  ['2,000 unknown names', inDesign(many(2_000, (index) => `load L${index} { pwer: ${index} W }`))],
  ['2,000 times one name', inDesign(many(2_000, () => 'load L { power: 1 W }'))],
  ['1,000 waivers', inDesign(many(1_000, (index) => `accept voltage-drop on L${index} because "x"`))],
]);

it(
  'reads 50,000 lines of loads',
  async () => {
    const { faults } = await examination.ask(
      inDesign(
        'battery Bank { voltage: 12 V }',
        many(50_000, (index) => `load L${index} { power: ${index} W }`),
      ),
      false,
    );
    expect(faults).toEqual([]);
  },
  TIME,
);

describe('values that double', () => {
  const doubled = (count: number): string => many(count, (index) => `let v${index + 1} = v${index} + v${index}`);

  it(
    'works out 60 of them within a design once each',
    async () => {
      await examined(inDesign('let v0 = 1 V', doubled(60), 'require v60 > 1 V', 'battery Bank { voltage: v60 }'));
      await examined(inDesign(doubled(60), 'let v0 = Bank.nominalVoltage', 'require v60 > 1 V', BANK));
    },
    TIME,
  );

  it('adds 60 lets, each twice the one before', () => examined(`let v0 = 1 V\n${doubled(60)}`).then(() => undefined));

  it(
    'tells of a requirement on 60 of them without writing each value 2^60 times',
    async () => {
      await examined(`let v0 = 1 V\n${doubled(60)}\n${inDesign('require v60 > 1 V')}`);
    },
    TIME,
  );

  it(
    'refuses a value that overflows',
    async () => {
      const { checks } = await examined(`let v0 = 1e300 V\n${doubled(60)}`);
      expect(checks).toContain('value-out-of-range');
    },
    TIME,
  );
});

each('loops', [
  ['a file that uses itself', { 'a.watt': 'use "a.watt"\nlet x = 1' }, 'import-loop'],
  ['two files that use each other', { 'a.watt': 'use "b.watt"', 'b.watt': 'use "a.watt"' }, 'import-loop'],
  ['a loop further on', { 'a.watt': 'use "b.watt"', 'b.watt': 'use "c.watt"', 'c.watt': 'use "b.watt"' }],
  [
    'a chain of 500 files that closes',
    Object.fromEntries(
      Array.from({ length: 500 }, (_, index) => [`f${index}.watt`, `use "f${(index + 1) % 500}.watt"`]),
    ),
    'import-loop',
  ],
  [
    'twenty files that all use one another',
    Object.fromEntries(
      Array.from({ length: 20 }, (_, index) => [`f${index}.watt`, many(20, (other) => `use "f${other}.watt"`)]),
    ),
    'import-loop',
  ],
  ['a part that extends itself', 'part load A extends A {}', 'extends-loop'],
  ['parts that extend each other', 'part load A extends B {}\npart load B extends A {}', 'extends-loop'],
  ['a let of itself', 'let a = a + 1', 'wrong-type'],
  ['lets of each other', 'let a = b\nlet b = a', 'wrong-type'],
  ['lets of each other in a design', inDesign('let a = b', 'let b = a', 'require a > 1 V')],
  ['a let of a property of what it sets', inDesign('let a = Bank.capacity', 'battery Bank { capacity: a }')],
  ['a property of itself', inDesign('battery Bank { capacity: Bank.capacity }')],
  [
    'properties of each other',
    inDesign('load A { power: B.power }', 'load B { power: A.power }', 'require A.power > 1 W'),
  ],
  ['a variant of itself', 'variant A of A { X.power = 1 W }', 'unknown-name'],
  ['a variant of a variant', 'design D {}\nvariant A of D {}\nvariant B of A {}', 'unknown-name'],
  ['a part whose property is itself', 'part generator G { outlet: G }'],
  ['a profile of itself', inDesign('profile P { 01:00..02:00: P }', 'load L { profile: P }')],
  ['a run from a thing to itself', inDesign('bus B', 'run R: B -> B', 'require R.current > 1 A')],
  [
    'runs in a ring',
    inDesign(
      'bus A',
      'bus B',
      'bus C',
      'run X: A -> B',
      'run Y: B -> C',
      'run Z: C -> A',
      'battery K { voltage: 12 V }',
      'run F: K -> A',
    ),
  ],
  [
    'runs side by side',
    inDesign(
      'bus A',
      'load L { power: 12 W }',
      'battery K { voltage: 12 V capacity: 10 Ah }',
      'run F: K -> A',
      'run X: A -> L',
      'run Y: A -> L',
      'run Z: L -> A',
    ),
  ],
  [
    'transfer gear in a ring',
    inDesign(
      'transfer S',
      'transfer T',
      'run A: S.out -> T.normal',
      'run B: T.out -> S.normal',
      'grid G',
      'run C: G -> S.standby',
    ),
  ],
  [
    'inverters in a ring',
    inDesign(
      'inverter I { passThrough: yes }',
      'inverter J { passThrough: yes }',
      'run A: I.ac -> J.input',
      'run B: J.ac -> I.input',
    ),
  ],
]);

const feed = (properties: string): string => `run Feed: Bank -> Lamp { ${properties} }`;

each('things that are not finished', [
  ['a part without a name', 'part load { power: 5 V }\ndesign D {}', 'syntax-error'],
  ['a part without a kind', 'part\ndesign D {}', 'syntax-error'],
  ['a colon after part', 'part:\npart battery B {}\ndesign D {}', 'syntax-error'],
  ['a design without a name', 'design { load L { power: 5 V } run R: L -> M require L.power > 1 A }', 'syntax-error'],
  ['a design without a name but a label', 'design "x" { load L { power: 5 V } }', 'syntax-error'],
  ['a variant without a name', 'design D { load L {} }\nvariant of D { L.power = 5 V }', 'syntax-error'],
  ['a variant of nothing', 'design D { load L {} }\nvariant V of { L.power = 5 V }', 'syntax-error'],
  ['a let without a name', 'let = 5 V + 1 A\ndesign D { let = 5 V + 1 A }', 'syntax-error'],
  ['a profile without a name', 'profile { 07:00..08:00: 5 V }', 'syntax-error'],
  ['a thing without a name', inDesign('load { power: 5 V }', 'load : X { power: 5 V }', 'load "x" {}'), 'syntax-error'],
  [
    'a run without a name',
    inDesign('bus A', 'run : A -> A', 'run A -> A', 'run { }', 'run R: -> A', 'run S: A ->'),
    'syntax-error',
  ],
  ['a link without ends', inDesign('bus A', 'link L: -> A', 'link M: A ->', 'link N', 'link : A -> A'), 'syntax-error'],
  ['a control of nothing', inDesign('control C of { start when }', 'control of X {}', 'control {'), 'syntax-error'],
  [
    'rules without conditions',
    inDesign('load L {}', 'control C of L { on when for 5 min off when 5 V < for without { on when } without X }'),
    'syntax-error',
  ],
  [
    'a scenario without a name',
    inDesign('scenario { soc(: 5 % require }', 'scenario S { soc(Bank): }'),
    'syntax-error',
  ],
  [
    'requirements of nothing',
    inDesign('require', 'require because "x"', 'require > 5', 'require 5 >', 'require until 2027-01-01'),
    'syntax-error',
  ],
  [
    'waivers of nothing',
    inDesign('accept', 'accept on', 'accept on A', 'accept because', 'accept voltage-drop on . because "x" until'),
    'syntax-error',
  ],
  ['readings of nothing', inDesign('reading', 'reading = 5 A', 'reading A =', 'reading A. = 5 A on'), 'syntax-error'],
  [
    'values of nothing',
    inDesign('load L { power: voltage: , profile: { , 07:00..: } duty: assumed note: }', 'basis:', 'site {'),
    'syntax-error',
  ],
  ['overrides of nothing', 'design D {}\nvariant V of D { = 5 V  .power = 5 V  L. = 5 V  L.power = }', 'syntax-error'],
  ['use of nothing', 'use\nuse use "a.watt"\nuse "', 'syntax-error'],
  ['calls that stay open', 'let a = min(1, \nlet b = min(,\nlet c = min(a:, b: 1\nlet d = .a', 'syntax-error'],
]);

each('numbers at the edge', [
  [
    '1e308 V',
    inDesign(
      'battery Bank { voltage: 1e308 V   capacity: 1e308 Ah }',
      'load Lamp { power: 1e308 W }',
      feed('length: 1e308 m size: 1 mm2 type: THWN-2'),
    ),
  ],
  ['1e400 kWh', inDesign('battery Bank { capacity: 1e400 kWh }'), 'value-out-of-range'],
  [
    '1e-308 of everything',
    inDesign(
      'battery Bank { voltage: 1e-308 V   capacity: 1e-308 Ah }',
      'load Lamp { power: 1e-308 W }',
      feed('length: 1e-308 m size: 1e-308 mm2 type: THWN-2'),
    ),
  ],
  ['no size', inDesign(BANK, 'load Lamp { power: 10 W }', feed('length: 1 m size: 0 mm2 type: THWN-2'))],
  ['a size below nothing', inDesign(BANK, 'load Lamp { power: 10 W }', feed('length: -1 m size: -4 mm2 type: THWN-2'))],
  [
    'no voltage',
    inDesign(
      'battery Bank { voltage: 0 V capacity: 0 Ah }',
      'load Lamp { power: 0 W voltage: 0 V }',
      feed('length: 0 m size: 4 mm2 type: THWN-2'),
    ),
  ],
  [
    'a range around nothing',
    inDesign(
      'battery Bank { voltage: -1..1 V }',
      'load Lamp { power: -5..5 W voltage: -1..1 V }',
      feed('length: -1..1 m size: 4 mm2 type: THWN-2'),
    ),
  ],
  [
    'no efficiency',
    inDesign(
      BANK,
      'inverter Inv { efficiency: 0 % power: 1 kW }',
      'charger Rect { efficiency: 0 % powerFactor: 0 maximumCurrent: 10 A }',
      'load Lamp { power: 10 W voltage: 230 V }',
      'run A: Bank -> Inv.dc',
      'run B: Inv.ac -> Lamp',
      'run C: Bank -> Rect.dc',
    ),
  ],
  ['division by nothing', 'let a = 1 V / 0', 'value-out-of-range'],
  ['division by a range around nothing', 'let a = 1 V / (-1..1)', 'value-out-of-range'],
  ['the root of less than nothing', 'let a = sqrt(-1)', 'value-out-of-range'],
  ['a broken power of less than nothing', 'let a = (-1) ^ 0.5', 'value-out-of-range'],
  ['nothing to the power of less', 'let a = 0 ^ -1', 'value-out-of-range'],
  ['an odd power of a unit', 'let a = (2 V) ^ 0.37\nlet b = a + 1 V'],
  ['a power beyond all numbers', 'let a = 10 ^ 400', 'value-out-of-range'],
  ['a huge power of a unit', 'let a = (1 V) ^ 1e300'],
  ['a power that is a range', 'let a = 2 ^ (1..3)'],
  ['a range power of a unit', 'let a = (2 V) ^ (1..3)'],
  ['± more than it is', 'let a = 48 V ± 1000 %'],
  ['± below nothing', 'let a = 48 V ± -5 V\nlet b = 48 V ± (-5 %)'],
  ['rounding what is beyond rounding', 'let a = round(1e308 km)\nlet b = floor(-1e308)\nlet c = ceil(1e-320)'],
  ['temperatures below absolute zero', inDesign('site { ambient: -500 degC }')],
  [
    'powers of temperatures',
    'let a = (20 degC) ^ 2\nlet b = 20 degC * 2\nlet c = 20 degC + 20 degC',
    'wrong-dimension',
  ],
  [
    'a million conductors side by side',
    inDesign(BANK, 'load Lamp { power: 10 W }', feed('length: 1 m size: 4 mm2 type: THWN-2 parallel: 1000000')),
  ],
  [
    '1e308 batteries side by side',
    inDesign(
      'battery Bank { voltage: 12 V capacity: 100 Ah parallel: 1e308 series: 1e308 }',
      'load Lamp { power: 10 W }',
      feed('length: 1 m size: 4 mm2 type: THWN-2'),
    ),
  ],
  [
    'half a battery',
    inDesign('battery Bank { voltage: 12 V capacity: 100 Ah parallel: 0.5 series: 0 }'),
    'value-out-of-range',
  ],
  [
    'a table with holes',
    inDesign('generator G { rated: 1 kW burn: { 0 %: 0 L/h, 0 %: 1 L/h } }', 'generator H { rated: 0 kW burn: {} }'),
  ],
  ['hours that are none', inDesign('load L { power: 1 W profile: { 25:61..99:99: 100 % } }')],
  ['a window of no length', inDesign('load L { power: 1 W profile: { 07:00..07:00: 1e308 % } }')],
  [
    'days that are none',
    inDesign('require 1 > 0 until 2027-02-30', 'accept voltage-drop because "x" until 9999-99-99'),
  ],
  [
    'the ends of the earth',
    inDesign('site { latitude: 1e308 deg longitude: -1e308 deg altitude: 1e308 m ambient: -1e308..1e308 degC }'),
  ],
  [
    'every function without arguments',
    many(1, () => 'let a = chargeTime()\nlet b = min()\nlet c = soc()\nlet d = voltageDrop()'),
  ],
]);

const HOSTILE_NAMES = [
  '__proto__',
  'constructor',
  'toString',
  'hasOwnProperty',
  'valueOf',
  'isPrototypeOf',
  'prototype',
  '__defineGetter__',
  'length',
  'name',
  'then',
];

describe('names that objects of the tool have too', () => {
  it.each(HOSTILE_NAMES)(
    '%s as the name of everything',
    async (name) => {
      await examined(
        [
          `part load ${name} { ${name}: 1 W power: 5 W }`,
          `part load Other extends ${name} { power: ${name} }`,
          `profile ${name} { ${name}: ${name}, 07:00..08:00: ${name} }`,
          `let ${name} = ${name}(${name}: 1, ${name}: 2).${name}`,
          `let other = min(1, 2).${name}`,
          `let third = voltageDrop(${name}: 1 A)`,
          `let fourth = voltageDrop(1 A, ${name}: 1 A).${name}`,
          `design D {`,
          `  ${name}: ${name}   basis: ${name}`,
          `  site { ${name}: ${name} }`,
          `  ${name} Thing { ${name}: 1 }`,
          `  load ${name} : ${name} { ${name}: 1 W   power: ${name}.${name} W   profile: ${name} }`,
          `  bus Bar`,
          `  run Feed: ${name}.${name} -> Bar.${name} { size: ${name}   type: ${name} }`,
          `  run ${name}: Bar -> ${name}`,
          `  link Wire: ${name} -> Bar { medium: ${name} }`,
          `  control C of ${name} { ${name} when ${name}(${name}) < 1   start when soc(${name}) < 1 % without ${name} { } ${name}: 1 }`,
          `  scenario ${name} { ${name}: 1   ${name}(${name}): 5 % }`,
          `  require ${name}.${name}.${name} > ${name}(${name})`,
          `  require Bar.${name} > 1`,
          `  require Feed.current.${name} > 1`,
          `  require sqrt(4).${name} > 1`,
          `  accept ${name} on ${name} because "x"`,
          `  reading ${name}.${name} = 1 A`,
          `}`,
          `variant ${name} of D { ${name}.${name} = ${name}   Bar.${name} = 1 }`,
          `variant V of ${name} { }`,
        ].join('\n'),
      );
    },
    TIME,
  );

  it('finds an unknown argument of that name', async () => {
    const { messages } = await examined(inDesign('require netChargeCurrent(Bank, constructor: 1) > 1 A', BANK));
    expect(messages).not.toMatch(/function Object/);
    const { checks } = await examined('let a = voltageDrop(toString: 1 A)');
    expect(checks).toContain('unknown-name');
    const other = await examined(
      'let a = ohmsLaw(1 V).constructor\nlet b = voltageDrop(current: 1 A, length: 1 m, size: 4 mm2).constructor',
    );
    expect(other.checks).toContain('unknown-name');
  });
});

each('letters', [
  ['nothing', ''],
  ['one space', ' '],
  ['a comment and nothing else', '// nothing'],
  ['an open comment', 'let a = 1 /* and so on'],
  ['an open text', 'design D "an open text {\n}', 'syntax-error'],
  ['an open text at the end', 'design D "', 'syntax-error'],
  ['a text that ends with a backslash', 'design D "x\\', 'syntax-error'],
  ['a design without an end', 'design D { battery Bank { voltage: 12 V', 'syntax-error'],
  ['only a brace', '}', 'syntax-error'],
  ['a mark of byte order', '\uFEFFlet a = 1'],
  ['a mark of byte order amid the text', 'let a = 1\uFEFF\nlet b = a'],
  [
    'line ends of old',
    'let a = 1\r\nlet b = c.d\r\n// x\r\ndesign D {\r\n  load L { power: 5 V }\r\n}\r\n',
    'wrong-dimension',
  ],
  ['carriage returns alone', 'let a = 1\rlet b = c.d\rdesign D {\r load L { power: 5 V }\r}', 'wrong-dimension'],
  ['tabs', 'design D {\n\t\tload\tL\t{\tpower:\t5\tV\t}\n}', 'wrong-dimension'],
  [
    'line and paragraph separators',
    'let a = 1\u2028let b = a\u2029design D { load L { power: 5 V } }',
    'wrong-dimension',
  ],
  ['a form feed and a next line', 'let a = 1\f\u0085let b = a\vlet c = b'],
  ['nothing at all: U+0000', 'let a\0 = 1\0', 'syntax-error'],
  ['emoji before a fault', '/* 😀😀 */ design D { /* 👩‍🚀 */ load L "😀" { power: 5 V } }', 'wrong-dimension'],
  ['half of a pair', 'design D "\uD83D" { load L "\uDE00" { power: 5 V } }', 'wrong-dimension'],
  ['half of a pair as code', 'let \uD83D = 1', 'syntax-error'],
  ['letters that combine', 'let e\u0301 = 1', 'syntax-error'],
  [
    'letters from right to left',
    'design D "\u202E\u2066evil\u202C" { load L { power: 5 V note: "\u200F\u061C" } }',
    'wrong-dimension',
  ],
  ['letters that look alike', 'let а = 1', 'syntax-error'],
  [
    'a terminal told what to do',
    'design D "\u001B[2J\u001B]0;x\u0007" { load L "\u009B31m" { power: 5 V note: "\u0008\u0008" } }',
    'wrong-dimension',
  ],
  [
    'markup',
    'design D "<script>alert(1)</script>" { load L "[x](command:y)" { power: 5 V note: "![](http://x) `${x}` **b** <img onerror=1>" } }',
    'wrong-dimension',
  ],
  ['markup in names of properties', 'design D { load L { "<b>": 1 } }', 'syntax-error'],
  ['escapes', 'design D "\\n\\u0041\\x\\"\\\\" { load L { power: 5 V } }', 'wrong-dimension'],
  ['quotes of a kind', 'design D “x” { }', 'syntax-error'],
  ['a minus that is a dash', 'let a = 5 – 3', 'syntax-error'],
  ['Ω and µ in two spellings', 'let a = 1 Ω + 1 \u2126\nlet b = 1 µA + 1 \u03BCA'],
  ['a no-break space in a quantity', 'let a = 5\u00A0V + 1 V'],
]);

each('ways out of the folder', [
  ['two dots', 'use "../secret.watt"', 'import-outside'],
  ['many dots', `use "${'../'.repeat(200)}etc/passwd"`, 'import-outside'],
  ['dots amid the path', 'use "a/../../secret.watt"', 'import-outside'],
  ['percent-encoded dots', 'use "%2e%2e/secret.watt"'],
  ['percent-encoded slashes', 'use "..%2fsecret.watt"'],
  ['an absolute path', 'use "/etc/passwd"', 'import-outside'],
  ['two slashes', 'use "//host/share.watt"', 'import-outside'],
  ['a file address', 'use "file:///etc/passwd"', 'import-outside'],
  ['a web address', 'use "https://example.com/a.watt"', 'import-outside'],
  ['the library by its address', 'use "wattwright-library:/plugs.watt"', 'import-outside'],
  ['a drive', 'use "C:/secret.watt"', 'import-outside'],
  ['backslashes', 'use "..\\\\secret.watt"', 'import-outside'],
  ['U+0000', 'use "a\0.watt"', 'import-outside'],
  ['nothing', 'use ""', 'import-outside'],
  ['the folder itself', 'use "."'],
  ['a question and a fragment', 'use "b.watt?x#y"'],
  ['a path of 100,000 letters', `use "${'a/'.repeat(50_000)}b.watt"`],
  ['a percent sign alone', 'use "%.watt"'],
  ['bad percent codes', 'use "%ff%fe%zz.watt"'],
]);

describe('columns', () => {
  it('count UTF-16 units, so that a pair counts two', async () => {
    const { faults, findings } = await examination.ask('design D { load L "😀" { power: 5 V } }');
    expect(faults).toEqual([]);
    expect(findings.map(({ check }) => check)).toContain('wrong-dimension');
  });
});
