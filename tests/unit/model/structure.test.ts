import { describe, expect, it } from 'vitest';
import type { Analysis, Place } from '../../../language/src/index.js';
import { analyseText, findingsOf } from '../../helpers/analyse.js';

const errors = ({ findings }: Analysis): string[] =>
  findings.filter(({ severity }) => severity === 'error').map(({ check, message }) => `${check}: ${message}`);

describe('files that use each other', () => {
  it('see the parts, profiles and values of those they use', async () => {
    const analysis = await analyseText({
      'site.watt': `use "parts/stock.watt"
design D { load L : Lamp { duty: margin   profile: Night } }`,
      'parts/stock.watt': `let margin = 25 %
profile Night { 22:00..06:00: 100 % }
part load Lamp { power: 40 W }`,
    });
    expect(errors(analysis)).toEqual([]);
    expect([...analysis.designs[0]!.system.instances[0]!.properties.keys()]).toEqual(
      expect.arrayContaining(['power', 'duty', 'profile']),
    );
  });

  it('prefer their own part to one of the same name elsewhere', async () => {
    const analysis = await analyseText({
      'site.watt': `use "stock.watt"
part load Lamp { power: 60 W }
design D { load L : Lamp }`,
      'stock.watt': 'part load Lamp { power: 40 W }',
    });
    expect(analysis.designs[0]!.system.instances[0]!.properties.get('power')?.text).toBe('60 W');
  });

  it('do not see what those in turn use', async () => {
    const analysis = await analyseText({
      'site.watt': `use "a.watt"
design D { load L : Deep }`,
      'a.watt': 'use "b.watt"',
      'b.watt': 'part load Deep { power: 40 W }',
    });
    expect(errors(analysis)).toEqual([expect.stringContaining('unknown-name: `Deep`')]);
  });

  it('in a circle are told with the way round, and are read all the same', async () => {
    const analysis = await analyseText({
      'site.watt': `use "a.watt"
design D { load L : Lamp }`,
      'a.watt': `use "b.watt"
part load Lamp { power: 40 W }`,
      'b.watt': 'use "site.watt"',
    });
    expect(errors(analysis)).toEqual([
      'import-loop: These files use one another in a circle: site.watt → a.watt → b.watt → site.watt.',
    ]);
    expect(analysis.designs[0]!.system.instances[0]!.properties.has('power')).toBe(true);
  });

  it('may use themselves only by mistake', async () => {
    expect(errors(await analyseText({ 'site.watt': 'use "site.watt"' }))).toHaveLength(1);
  });

  it.each([
    ['../../outside.watt', 'import-outside'],
    ['/etc/parts.watt', 'import-outside'],
    ['https://example.org/parts.watt', 'import-outside'],
    ['..\\\\parts.watt', 'import-outside'],
    ['missing.watt', 'unknown-name'],
  ])('cannot read %s: %s', async (path, check) => {
    const analysis = await analyseText({ 'site.watt': `use "${path}"\ndesign D {}` });
    expect(analysis.findings.map((each) => each.check)).toEqual([check]);
    expect(analysis.findings[0]!.fixes).toEqual([]);
  });

  it('keep the faults of a used file to that file', async () => {
    const files = {
      'site.watt': `use "stock.watt"
design D { load L : Lamp   load M { power: 2 * wrong } }`,
      'stock.watt': 'let wrong = 1 V + 1 A\npart load Lamp { powr: 40 W }',
    };
    expect(errors(await analyseText(files))).toEqual([]);
    const stock = await analyseText({ 'stock.watt': files['stock.watt'] });
    expect(stock.findings.map(({ check }) => check)).toEqual(['wrong-dimension', 'unknown-name']);
  });
});

describe('parts', () => {
  it('inherit over several steps and override', async () => {
    const { designs } = await analyseText(`part battery A { chemistry: lfp   voltage: 12.8 V   capacity: 100 Ah }
part battery B extends A { capacity: 200 Ah }
part battery C extends B { voltage: 25.6 V }
design D { battery Bank : C }`);
    const { properties } = designs[0]!.system.instances[0]!;
    expect(['chemistry', 'voltage', 'capacity'].map((name) => properties.get(name)?.text)).toEqual([
      'lfp',
      '25.6 V',
      '200 Ah',
    ]);
  });

  it.each([
    ['extend themselves', 'part load A extends A { power: 1 W }'],
    ['extend each other', 'part load A extends B { power: 1 W }\npart load B extends A { power: 1 W }'],
  ])('that %s are said once', async (_, text) => {
    expect(errors(await analyseText(`${text}\ndesign D { load L : A }`))).toEqual([
      expect.stringContaining('extends-loop'),
    ]);
  });

  it('of another kind do not fit', async () => {
    const text = `part load Lamp { power: 1 W }
design D { battery B : Lamp }`;
    expect(errors(await analyseText(text))).toEqual([expect.stringContaining('Lamp')]);
  });

  it('that nothing uses are said in a file with a design, and their fix removes them', async () => {
    const analysis = await analyseText('part load Lamp { power: 1 W }\ndesign D {}');
    expect(analysis.findings.map(({ check }) => check)).toEqual(['unused-part']);
    expect((await analyseText('part load Lamp { power: 1 W }')).findings).toEqual([]);
  });

  it('are used as the base of a part, as a value, and as an argument', async () => {
    const analysis = await analyseText(`part conductor Wire { insulation: 90 degC }
part plug Own { rating: 16 A }
part load Base { power: 1 W }
part load Lamp extends Base { count: 2 }
design D {
  generator G { outlet: Own }
  load L : Lamp
  let allowed = ampacity(size: 10 AWG, type: Wire)
}`);
    expect(findingsOf(analysis, 'unused-part')).toEqual([]);
  });
});

describe('names', () => {
  it.each([
    ['two things', 'load A {}   bus A', 1],
    ['a thing and a run', 'load A {}   bus B   run A: B -> A', 1],
    ['three of one name', 'load A {}   load A {}   load A {}', 2],
    ['a property', 'load A { power: 1 W   power: 2 W }', 1],
    ['a property of the design', 'dcDropLimit: 2 %   dcDropLimit: 3 %', 1],
    ['the basis', 'basis: nec   basis: iec', 1],
    ['the site', 'site {}   site {}', 1],
  ])('given twice: %s', async (_, text, count) => {
    const analysis = await analyseText(`design D { ${text} }`);
    const found = findingsOf(analysis, 'duplicate-name');
    expect(found.map(({ told }) => told)).toHaveLength(count);
    expect(found[0]!.related).toHaveLength(1);
  });

  it('given twice at the top of a file', async () => {
    expect(errors(await analyseText('let a = 1\nlet a = 2'))).toHaveLength(1);
  });
});

describe('wiring', () => {
  const wiring = async (text: string) => {
    const analysis = await analyseText(`design D {\n${text}\n}`);
    return { analysis, run: analysis.designs[0]!.system.runs[0] };
  };

  it('knows ends, gear in between, its distance, and several far ends', async () => {
    const { run, analysis } = await wiring(`battery Bank { voltage: 12 V }
fuse F1 { rating: 30 A }
switch S
load A { power: 1 W   supply: dc }
load B { power: 1 W   supply: dc }
run Feed: Bank -> F1 @ 150 mm -> S -> A, B { size: 6 mm2 }`);
    expect(errors(analysis)).toEqual([]);
    expect(run?.from.instance.name).toBe('Bank');
    expect(
      run?.through.map(({ instance, distance }) => [
        instance.name,
        (distance?.value as { value: number } | undefined)?.value,
      ]),
    ).toEqual([
      ['F1', 0.15],
      ['S', undefined],
    ]);
    expect(run?.to.map(({ instance }) => instance.name)).toEqual(['A', 'B']);
    expect(run?.carries).toBe('dc');
  });

  it('takes the kind of current from what the run joins, over busbars and other runs', async () => {
    const analysis = await analyseText(`design D {
  generator G { voltage: 230 V }
  bus P1
  bus P2
  load L { power: 1 W }
  run Last: P2 -> L
  run Middle: P1 -> P2
  run First: G -> P1
}`);
    expect(analysis.designs[0]!.system.runs.map(({ carries }) => carries)).toEqual(['ac', 'ac', 'ac']);
  });

  it('asks which terminal is meant, and proposes them whole', async () => {
    const text = `design D {
  charger C { absorb: 14 V }
  bus B
  run R: B -> C { size: 6 mm2 }
}`;
    const [found, second] = findingsOf(await analyseText(text), 'unknown-name');
    expect(found?.told).toBe('C has several terminals; which one is not said; did you mean `C.ac` or `C.dc`?');
    expect(found?.fixes.map(({ title }) => title)).toEqual(['Change to `C.ac`', 'Change to `C.dc`']);
    expect(second).toBeUndefined();
  });

  it.each([
    ['run R: A', 1],
    ['run R: A -> A.x', 1],
    ['run R: A @ 3 V -> B', 1],
    ['run R: A -> Nothing -> B', 1],
  ])('%s gives one finding', async (text, count) => {
    const { analysis } = await wiring(`bus A\nbus B\n${text}`);
    expect(errors(analysis)).toHaveLength(count);
  });
});

describe('rules', () => {
  const control = async (rules: string) => {
    const analysis = await analyseText(`design D {
  generator G { rated: 5 kW }
  battery B { voltage: 48 V }
  let low = 40 %
  control C of G { ${rules}   maximumRun: 4 h }
}`);
    return { analysis, rules: analysis.designs[0]!.system.controls[0]?.rules ?? [] };
  };

  it.each([
    ['start when soc(B) < 40 %', 'single', [['soc', '<', 0.4]], 0],
    ['start when 40 % > soc(B) for 3 min', 'single', [['soc', '<', 0.4]], 180],
    ['start when soc(B) <= low', 'single', [['soc', '<=', 0.4]], 0],
    [
      'start when soc(B) < 40 % or voltage(B) < 50 V for 90 s',
      'or',
      [
        ['soc', '<', 0.4],
        ['voltage', '<', 50],
      ],
      90,
    ],
    [
      'start when (soc(B) < 40 %) and (voltage(B) < 50 V)',
      'and',
      [
        ['soc', '<', 0.4],
        ['voltage', '<', 50],
      ],
      0,
    ],
    ['start when not (soc(B) > 40 %)', 'other', [], 0],
    ['start when soc(B) < low or hour > 8 h', 'other', [['soc', '<', 0.4]], 0],
  ] as const)('%s', async (text, joined, thresholds, dwell) => {
    const { analysis, rules } = await control(text);
    expect(errors(analysis)).toEqual([]);
    expect(rules.map((rule) => rule.joined)).toEqual([joined]);
    expect(
      rules[0]!.thresholds.map(({ signal, comparison, limit }) => [
        signal,
        comparison,
        Number(limit.value.toPrecision(9)),
      ]),
    ).toEqual(thresholds);
    expect(rules[0]!.dwell).toBe(dwell);
  });

  it.each([
    ['start when soc(B) < 40 V', 'wrong-dimension'],
    ['start when soc(B)', 'wrong-type'],
    ['start when voltage(B) < 50 V for 3 V', 'wrong-dimension'],
    ['start when soc() < 40 %', 'wrong-type'],
    ['start when soc(3 V) < 40 %', 'wrong-type'],
    ['quiet: 22:00', 'wrong-type'],
    ['quiet: 22:00..06:00 unless 3 V', 'wrong-type'],
  ])('%s is a %s', async (text, check) => {
    const { analysis } = await control(text);
    expect(analysis.findings.filter(({ severity }) => severity === 'error').map((each) => each.check)).toEqual([check]);
  });
});

describe('what is left open', () => {
  it('is said once for all holes, of a variant not again', async () => {
    const analysis = await analyseText(`design D {
  battery B { voltage: 12 V   capacity: ? }
  load L { power: ? }
}
variant V of D { L.count = 2 }`);
    expect(errors(analysis)).toEqual([]);
    expect(findingsOf(analysis, 'not-evaluated').map(({ told }) => told.slice(0, 35))).toEqual([
      '2 values are left open with `?`; `w',
    ]);
  });
});

describe('scenarios', () => {
  it('have their types checked', async () => {
    const analysis = await analyseText(`design D {
  battery B { voltage: 12 V }
  scenario One { duration: 5 V   soc(B): 90 V   require unserved == 0 kW }
}`);
    expect(analysis.findings.filter(({ severity }) => severity === 'error').map(({ check }) => check)).toEqual([
      'wrong-dimension',
      'wrong-dimension',
      'wrong-dimension',
    ]);
  });
});

describe('places', () => {
  it('are those of the text, in offsets, lines and characters', async () => {
    const text = `/* Ω² */
design D {
  battery B "Bank" {
    capacity: assumed 100 Ah
    series: 4
  }
  bus X
  run R: B -> X {
    size: 35 mm2
  }
  load L
}
`;
    const { designs } = await analyseText(text);
    const { instances, runs } = designs[0]!.system;
    const at = ({ offset, end }: Place): string => text.slice(offset, end);
    const check = (place: Place): void => {
      const before = text.slice(0, place.offset).split('\n');
      expect([place.line, place.character]).toEqual([before.length - 1, before.at(-1)!.length]);
      const until = text.slice(0, place.end).split('\n');
      expect([place.endLine, place.endCharacter]).toEqual([until.length - 1, until.at(-1)!.length]);
    };
    const bank = instances[0]!;
    expect(at(bank.place)).toBe('B');
    expect(at(bank.whole)).toMatch(/^battery B[\s\S]*\}$/);
    expect(at(bank.properties.get('capacity')!.place!)).toBe('assumed 100 Ah');
    expect(at(bank.properties.get('series')!.whole!)).toBe('series: 4');
    expect(at(runs[0]!.properties.get('size')!.place!)).toBe('35 mm2');
    for (const place of [bank.place, bank.whole, bank.properties.get('capacity')!.place!, runs[0]!.place]) check(place);
  });

  it.each([
    ['load L', 'load L { power: 1 W }'],
    ['load L {}', 'load L { power: 1 W }'],
    ['load L { }', 'load L { power: 1 W }'],
    ['load L { count: 2 }', 'load L { count: 2   power: 1 W }'],
    ['load L {\n    count: 2\n  }', 'load L {\n    count: 2\n    power: 1 W\n  }'],
  ])('a property can be written into %j', async (thing, expected) => {
    const text = `design D {\n  ${thing}\n}\n`;
    const { insert } = (await analyseText(text)).designs[0]!.system.instances[0]!;
    const written =
      text.slice(0, insert.place.offset) + insert.before + 'power: 1 W' + insert.after + text.slice(insert.place.end);
    expect(written).toBe(`design D {\n  ${expected}\n}\n`);
  });
});
