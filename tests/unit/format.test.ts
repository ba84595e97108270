import { EmptyFileSystem } from 'langium';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createLanguageServices } from '../../language/src/syntax/module.js';
import { applyEdits, formatText, lineEndOf } from '../../language/src/syntax/format.js';

const { wattwright: services } = createLanguageServices(EmptyFileSystem);

function format(text: string): string {
  const result = formatText(text, services);
  expect(result.kind).toBe('formatted');
  return result.text;
}

/** Tokens and comments of a text, without anything that layout may change. */
function content(text: string): string[] {
  const { tokens, hidden } = services.parser.Lexer.tokenize(text);
  return [...tokens, ...hidden]
    .sort((left, right) => left.startOffset - right.startOffset)
    .map((token) => `${token.tokenType.name} ${token.image.replace(/\s+/g, '')}`);
}

const RIDGE = `use "parts.watt"

design RidgeStation "Ridge weather station" {
  basis: nec 2023
  site { altitude: 2150 m   ambient: -20..32 degC   latitude: 46.4 deg }

  /** The set by the shed.
   *  Serviced in spring.
   */
  generator Genset : OpenFrame7500
  charger Rect : Rectifier5k { currentLimit: 80 A   absorb: 56.0 V   float: 54.0 V }
  battery Bank : Lfp16s280 { parallel: 3 }
  load Pump { power: 1.1 kW   startFactor: 5   profile: { 07:00..08:00: 100 %, 19:00..20:00: 50 % } }

  run GenCord: Genset -> Rect.ac { size: 10 AWG   type: SOOW   length: 15 m }
  run BankFeed: Bank -> MainFuse @ 150 mm -> MainSwitch
      -> DcBus { size: 4/0 AWG   length: assumed 1.2 m }
  run Panel: Inv.ac -> Radios, Pump { size: ?   legs: L1, L2 }
  link BmsLink: Bank -> Rect { medium: rs485   protocol: "vendor-neutral-1" }

  control Autostart of Genset {
    start when soc(Bank) < 40 % for 1 min
    stop when soc(Bank) > 85 % and not (voltage(Bank) <= 50 V or hours(Genset) > 2)
    without BmsLink {  // what holds when the link is lost
      start when voltage(Bank) < 50.8 V for 3 min
    }
    quiet: 22:00..06:30 unless soc(Bank) < 20 %
  }
  control Shed of Pump { off when soc(Bank) < 25 %   on when soc(Bank) > 45 % }

  scenario FiveDark "Five days without sun" {
    from: 2027-01-10   duration: 5 d   soc(Bank): 90 %
    require min(soc(Bank)) >= 20 %
    require runTime(Genset) <= 6 h * 5 - 2^3 h
  }
  require chargeTime(Bank, 20 %, 90 %) <= 10 h because "one tank lasts that long"
  accept voltage-drop on GenCord because "temporary" until 2027-06-30
  reading Rect.dc.current = 77.2 A on 2027-05-02 "commissioning"
}

let margin = 48 V ± 5 %
variant BigBank of RidgeStation { Bank.parallel = 5   GenCord.size = 216 V .. 264 V }
part generator Open extends Base {
  rated: 7.5 kW   voltage: 120/240 V
  burn: { 25 %: 1.8 L/h, 50 %: 2.4 L/h }
}
`;

describe('the canonical layout', () => {
  test('a text in it stays as it is, and needs no edit', () => {
    const result = formatText(RIDGE, services);
    expect(result.text).toBe(RIDGE);
    expect(result).toMatchObject({ kind: 'formatted', edits: [] });
  });

  test.each([
    ['units stand one space from their number', 'let a=15m', 'let a = 15 m\n'],
    ['percent too', 'let a=85%', 'let a = 85 %\n'],
    [
      'gauges and systems too',
      'let a=4AWG let b=2/0AWG let c=three  400V',
      'let a = 4 AWG\nlet b = 2/0 AWG\nlet c = three 400 V\n',
    ],
    ['exponents stay whole', 'let a=1e3W', 'let a = 1e3 W\n'],
    ['split-phase systems keep their slash', 'let a=120/240V', 'let a = 120/240 V\n'],
    ['a range of plain numbers is tight', 'let a = -20 .. 32degC', 'let a = -20..32 degC\n'],
    ['a range of quantities is not', 'let a = 216 V..264 V', 'let a = 216 V .. 264 V\n'],
    ['a minus sign is tight, a difference is not', 'let a = - 5 V-b.c', 'let a = -5 V - b.c\n'],
    ['a call is tight, a group is not', 'let a = f (1 , x :2)*( 3+b )', 'let a = f(1, x: 2) * (3 + b)\n'],
    ['an empty block closes at once', 'part bus B {\n\n}', 'part bus B {}\n'],
    ['an empty text stays empty', ' \n\t ', ''],
    ['Windows line ends stay', 'let a=1\r\n\r\nlet b=2\r\n', 'let a = 1\r\n\r\nlet b = 2\r\n'],
    [
      'line ends become what most of them are',
      'let a = 1\r\nlet b = 2\r\nlet c = 3\n',
      'let a = 1\r\nlet b = 2\r\nlet c = 3\r\n',
    ],
    ['and plain ones where neither are more', 'let a = 1\r\nlet b = 2\n', 'let a = 1\nlet b = 2\n'],
    ['a comment of several lines keeps its line ends', '/*a\r\n b*/\r\nlet a=1\r\n', '/*a\r\n b*/\r\nlet a = 1\r\n'],
    ['a byte-order mark stays', '\uFEFF  let a=1', '\uFEFFlet a = 1\n'],
    ['one blank line at most', 'let a = 1\n\n\n\nlet b = 2', 'let a = 1\n\nlet b = 2\n'],
    ['a part of an instance has its colon between spaces', 'design D{bus B:P}', 'design D {\n  bus B : P\n}\n'],
    [
      'a design opens when it holds things',
      'design D{basis:nec load L{power:5W}}',
      'design D {\n  basis: nec\n  load L { power: 5 W }\n}\n',
    ],
    [
      'a block on one line stays on it',
      'part bus B{rating:5A dcVoltage:60V}',
      'part bus B { rating: 5 A   dcVoltage: 60 V }\n',
    ],
    [
      'a block over lines opens',
      'part bus B{rating:5A\ndcVoltage:60V}',
      'part bus B {\n  rating: 5 A\n  dcVoltage: 60 V\n}\n',
    ],
    [
      'a run may continue before an arrow',
      'design D{run R:A\n->B{length:1m}}',
      'design D {\n  run R: A\n      -> B { length: 1 m }\n}\n',
    ],
    ['other line ends are taken out', 'design D{run\nR\n:\nA->\nB}', 'design D {\n  run R: A -> B\n}\n'],
    [
      'comments stay at their place',
      'part bus B{//why\nrating:5A//end  \n//own\n}',
      'part bus B {  //why\n  rating: 5 A  //end\n  //own\n}\n',
    ],
    [
      'doc comments move with their thing',
      'design D{\n/** a\n* b */\nbus B}',
      'design D {\n  /** a\n   * b */\n  bus B\n}\n',
    ],
    [
      'a block comment without stars keeps its lines',
      'design D{\n/* a\n      b */\nbus B}',
      'design D {\n  /* a\n      b */\n  bus B\n}\n',
    ],
  ])('%s', (_, before, after) => {
    expect(format(before)).toBe(after);
    expect(format(after)).toBe(after);
  });

  test('a block too long for one line fills lines', () => {
    const properties = Array.from({ length: 12 }, (_, index) => `property${index}: ${index} A`);
    const formatted = format(`part bus B { ${properties.join(' ')} }`);
    const lines = formatted.trimEnd().split('\n');
    expect(lines[0]).toBe('part bus B {');
    expect(lines.length).toBeGreaterThan(3);
    expect(lines.length).toBeLessThan(8);
    for (const line of lines) expect(line.length).toBeLessThanOrEqual(120);
    expect(format(formatted)).toBe(formatted);
  });

  test('a text with syntax errors comes back as it was, and says so', () => {
    for (const text of ['design {', 'let a = ', 'part bus B { rating 5 A }', 'let a = $']) {
      expect(formatText(text, services)).toEqual({ kind: 'left-alone', text, reason: 'syntax-errors' });
    }
  });
});

const space = fc.constantFrom(' ', '  ', '\n', '\n\n\n', '\r\n', '\t', ' \n  ');
const comment = fc.constantFrom('', '', '', '', '/* c */', '\n// d\n', '/** e\n * f */', '// g  \n', '/*h\n  i*/');
const gap = fc.tuple(space, comment, space).map((pieces) => pieces.join(''));

/** The tokens of a text in order. */

const tokensOf = (text: string): string[] => services.parser.Lexer.tokenize(text).tokens.map((token) => token.image);

describe('whatever the layout before', () => {
  const tokens = tokensOf(RIDGE);
  const scrambled = fc
    .array(gap, { minLength: tokens.length, maxLength: tokens.length })
    .map((gaps) => tokens.map((token, index) => token + gaps[index]).join(''));

  test('formatting keeps every token and comment, and a second time changes nothing', () => {
    fc.assert(
      fc.property(scrambled, (text) => {
        const once = format(text);
        expect(content(once)).toEqual(content(text));
        expect(once.replaceAll(lineEndOf(text), '')).not.toMatch(/[\r\n]/);
        expect(once).toMatch(/[^\r\n]\r?\n$/);
        expect(format(once)).toBe(once);
      }),
      { numRuns: 150 },
    );
  });

  test('the edits are the difference', () => {
    fc.assert(
      fc.property(scrambled, (text) => {
        const result = formatText(text, services);
        expect(result.kind === 'formatted' && applyEdits(text, result.edits)).toBe(result.text);
      }),
      { numRuns: 30 },
    );
  });

  test('any text at all is laid out or left alone, never broken', () => {
    const piece = fc.oneof(fc.constantFrom(...new Set(tokens)), gap, fc.string({ maxLength: 5 }));
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 40 }), (pieces) => {
        const text = pieces.join(' ');
        const result = formatText(text, services);
        if (result.kind === 'left-alone') expect(result.text).toBe(text);
        else expect(content(result.text)).toEqual(content(text));
      }),
      { numRuns: 300 },
    );
  });

  test('small designs are idempotent at any width', () => {
    const property = fc
      .tuple(fc.stringMatching(/^[a-z]{1,12}$/), fc.integer({ min: 0, max: 999999 }))
      .map(([name, value]) => `p${name}: ${value} A`);
    const table = fc
      .array(
        fc.integer({ min: 0, max: 99 }).map((n) => `${n} %: ${n} L/h`),
        { maxLength: 15 },
      )
      .map((rows) => `burn: { ${rows.join(', ')} }`);
    const member = fc.oneof({ weight: 4, arbitrary: property }, { weight: 1, arbitrary: table });
    const body = fc.array(fc.tuple(member, gap), { maxLength: 12 }).map((members) => members.flat().join(' '));
    fc.assert(
      fc.property(body, fc.array(body, { maxLength: 3 }), (own, others) => {
        const text = `design D { ${own} ${others.map((other, index) => `bus B${index} {${other}}`).join(' ')} }`;
        const once = format(text);
        expect(content(once)).toEqual(content(text));
        expect(format(once)).toBe(once);
      }),
      { numRuns: 200 },
    );
  });
});
