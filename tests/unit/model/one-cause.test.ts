import { describe, expect, it } from 'vitest';
import { analyseText, applyFix } from '../../helpers/analyse.js';

const QUIET = ['not-connected', 'missing-fact'];

describe('one slip is reported once, in words that help', () => {
  it.each([
    ['a unit that is none', 'load L { power: 5 kWx }', ['unknown-name: `kWx` is no unit: did you mean `kW`?']],
    ['a unit in words', 'load L { power: 5 watts   count: 2 }', ['unknown-name: `watts` is no unit.']],
    ['a colon that lacks', 'load L { power 5 W }', ['syntax-error: `:` is missing before `5 W`.']],
    ['an equals sign', 'load L { power = 5 W }', ['syntax-error: `:` is missing before `=`.']],
    [
      'a comma between properties',
      'load L { power: 5 W, count: 2 }',
      ['value-out-of-range: `power` has one value; properties stand side by side, without commas.'],
    ],
    ['a semicolon', 'load L { power: 5 W; count: 2 }', ['syntax-error: `;` does not belong here.']],
    [
      'a bracket that lacks',
      'load L { power: 5 W\n  load M { power: 3 W }',
      ['syntax-error: `}` is missing before `load`.'],
    ],
    [
      'a bracket too many',
      'load L { power: 5 W } }',
      ['syntax-error: `}` does not belong here; a bracket may be missing or one too many.'],
    ],
    [
      'a state of charge without percent',
      'generator G   battery B { voltage: 12 V }   control C of G { start when soc(B) < 40   stop when soc(B) > 80 % }',
      [
        'wrong-dimension: The limit of a state of charge needs a share from 0 % to 100 %; `40` is 4000 %: did you mean `40 %`?',
      ],
    ],
    [
      'a share without percent',
      'load L { power: 5 W   duty: 40 }',
      ['wrong-dimension: `duty` of load L needs a share (%); `40` is 4000 %: did you mean `40 %`?'],
    ],
    [
      'a misspelt kind',
      'lod L { power: 3 W }   run R: L -> L',
      ['unknown-name: `lod` is no kind of thing: did you mean `load`?'],
    ],
    [
      'a misspelt thing in a chain of values',
      'let a = Nope.x   let b = a + 1   load L { power: b }   require b > 3',
      ['unknown-name: `Nope` is no thing of this design: there are `a`, `b` or `L`.'],
    ],
    [
      'a quantity that a reading cannot have',
      'battery B { voltage: 12 V }   reading B.voltag = 3 V',
      ['unknown-name: `voltag` is no property of B: did you mean `voltage`?'],
    ],
  ])('%s', async (_, text, expected) => {
    const { findings } = await analyseText(`design D { ${text} }`);
    const said = findings
      .filter(({ check }) => !QUIET.includes(check))
      .map(({ check, message }) => `${check}: ${message}`);
    expect(said.map((each, index) => each.slice(0, expected[index]?.length))).toEqual(expected);
  });

  it('and its fix mends it', async () => {
    const text = 'design D { load L { duty: 40   power: 5 kWx } }';
    const first = await analyseText(text);
    const mended = [...first.findings]
      .reverse()
      .reduce((so, { fixes }) => (fixes[0] ? applyFix(so, fixes[0]) : so), text);
    expect(mended).toBe('design D { load L { duty: 40 %   power: 5 kW } }');
  });

  it('a reading may be of any signal at a terminal', async () => {
    const { findings } = await analyseText(
      'design D { charger C { absorb: 56 V }   reading C.dc.voltage = 54 V   reading C.dc.current = 20 A }',
    );
    expect(findings.filter(({ severity }) => severity === 'error')).toEqual([]);
  });

  it('what is written right beside a slip is read all the same', async () => {
    const { designs } = await analyseText(
      'design D {\n  load L { power: 5 watts\n    count: 2 }\n  load M { power: 3 W }\n}',
    );
    expect(designs[0]!.system.instances.map(({ name }) => name)).toEqual(['L', 'M']);
    expect(designs[0]!.system.instances[1]!.properties.get('power')?.text).toBe('3 W');
  });
});
