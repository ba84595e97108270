import { describe, expect, it } from 'vitest';
import { type Analysis, type Finding, formatText } from '../../../language/src/index.js';
import { afterFix, analyseText, createTestServices, findingsOf } from '../../helpers/analyse.js';
import { van } from '../../helpers/supplies.js';

const MORE = `
  link Wire: Bank -> Rect { medium: can   length: 2 m }
  control Shed of Heater {
    off when soc(Bank) < 25 %
    on when soc(Bank) > 45 %
    without Wire { off when voltage(Bank) < 12 V   on when voltage(Bank) > 13 V }
  }
  scenario Stop { from: 2027-07-15   duration: 2 h   soc(Bank): 40 %   plugged(Inlet): nothing   lost(Truck): always
    require unserved >= 0 kWh
  }
  require WallCord.length <= 20 m
  accept voltage-drop on TruckCord because "temporary"
  reading Wall.legDemand = 9 A on 2027-01-01`;
const withVariant = (changes: string, head = 'variant Other of Van'): string =>
  van({ more: MORE, after: `${head} { ${changes} }\n` });

const system = ({ designs }: Analysis, name = 'Other') => designs.find((each) => each.system.name === name)!.system;
const names = (things: readonly { readonly name: string }[]): string[] => things.map(({ name }) => name);
const lost = (analysis: Analysis): string[] => findingsOf(analysis, 'lost-end').map(({ headline }) => headline);
const WALL = 'remove Wall, WallCord, WallAdapter';

describe('a variant that removes things', () => {
  it('does without them, and without what only remarks on them', async () => {
    const analysis = await analyseText(withVariant('remove Truck, TruckCord, TruckAdapter, Stop'));
    expect(lost(analysis)).toEqual([]);
    const { instances, runs, scenarios, accepts } = system(analysis);
    expect(names(instances)).not.toContain('Truck');
    expect(names(runs)).not.toContain('TruckCord');
    expect(scenarios).toEqual([]);
    expect(accepts).toEqual([]);
    expect(names(system(analysis, 'Van').instances)).toContain('Truck');
  });

  it('tells every run, link, control and requirement that is left behind, at its place, once', async () => {
    const text = withVariant('remove Wall, WallAdapter, Heater, Bank');
    const analysis = await analyseText(text);
    const told = findingsOf(analysis, 'lost-end');
    expect(told.map(({ subject, place }) => `${subject} ${text.slice(place.offset, place.end)}`).sort()).toEqual([
      'Other.HeaterLine Heater',
      'Other.Out Bank',
      'Other.Shed Heater',
      'Other.WallCord Wall',
      'Other.Wire Bank',
    ]);
    expect(told.find(({ subject }) => subject === 'Other.Shed')?.told).toBe(
      'Control Shed commands Heater, which the variant removes; Remove it too, or replace it.',
    );
    // What does not hold together is not judged: the rest would follow from it.
    expect(analysis.findings.filter(({ variant }) => variant === 'Other')).toHaveLength(told.length);
  });

  it('tells the requirement of a run that is removed, and what a scenario plugs in', async () => {
    expect(lost(await analyseText(withVariant(WALL)))).toEqual([
      'A requirement speaks of WallCord, which the variant removes',
    ]);
    const plugged = withVariant(`remove Stop, Truck, TruckCord, TruckAdapter
      add scenario Next { from: 2027-07-15   duration: 2 h   soc(Bank): 40 %   plugged(Inlet): Truck }`);
    expect(lost(await analyseText(plugged))).toEqual(['Scenario Next speaks of Truck, which the variant removes']);
  });

  it('lets a fallback and the start of a scenario go with what they speak of alone', async () => {
    const analysis = await analyseText(withVariant('remove Wire, Truck, TruckCord, TruckAdapter'));
    expect(lost(analysis)).toEqual([]);
    expect(system(analysis).controls[0]!.fallbacks).toEqual([]);
    expect(system(analysis).scenarios[0]!.absences).toEqual([]);
  });

  it('is offered to remove what is left behind too', async () => {
    const text = withVariant('remove Truck, TruckAdapter');
    const [finding] = findingsOf(await analyseText(text), 'lost-end');
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Remove TruckCord too']);
    expect((await afterFix(text, 'lost-end', finding!.fixes[0]!)).left).toEqual([]);
  });
});

describe('a variant that replaces things', () => {
  it('has the other thing wherever the base names the first', async () => {
    const analysis = await analyseText(
      withVariant(`replace grid Truck { voltage: 120 V   rating: 50 A   neutralBond: bonded }
        replace run Feed: Inlet -> Panel { size: 6 AWG   type: THWN-2   length: 3 m   conductors: 2 }
        replace link Wire: Bank -> Rect { medium: rs485   length: 9 m }
        Truck.rating = 40 A`),
    );
    const { instances, runs, links } = system(analysis);
    const truck = instances.find(({ name }) => name === 'Truck')!;
    expect(truck.kind).toBe('grid');
    expect(truck.properties.get('rating')?.text).toBe('40 A');
    expect(runs.find(({ name }) => name === 'TruckCord')!.from.instance).toBe(truck);
    expect(runs.find(({ name }) => name === 'Feed')!.through).toEqual([]);
    expect(links.map(({ properties }) => properties.get('medium')?.text)).toEqual(['rs485']);
    // In its place, so that lists read alike.
    expect(names(instances)).toEqual(names(system(analysis, 'Van').instances));
  });

  it('keeps values that rest on what it replaces', async () => {
    const text = van({
      more: 'let most = Truck.rating * 2\n  breaker Spare { rating: Late.rating }\n  breaker Late { rating: most }',
      after: 'variant Other of Van { replace vehicle Truck { voltage: 120 V   rating: 15 A } }',
    });
    const spare = (name: string) => async () =>
      system(await analyseText(text), name)
        .instances.find((each) => each.name === 'Spare')!
        .properties.get('rating');
    expect(await spare('Van')()).toMatchObject({ value: { quantity: { value: 40 } } });
    expect(await spare('Other')()).toMatchObject({ value: { quantity: { value: 30 } } });
  });
});

describe('a variant that adds things', () => {
  it('has them, joined to those of the base and to one another', async () => {
    const analysis = await analyseText(
      withVariant(`add load Fan { power: 60 W   voltage: 120 V }
        add run FanLine: Panel -> Fan { size: 12 AWG   length: 2 m }
        add let most = 2 * Fan.power
        add require Fan.power <= most because "small"
        add control FanRule of Fan { off when soc(Bank) < 20 %   on when soc(Bank) > 30 % }`),
    );
    const { instances, runs, controls, requirements } = system(analysis);
    expect(names(instances).at(-1)).toBe('Fan');
    expect(names(runs).at(-1)).toBe('FanLine');
    expect(names(controls)).toContain('FanRule');
    expect(requirements.map(({ text }) => text)).toContain('Fan.power <= most');
    const added = analysis.requirements.find(({ design, text }) => design === 'Other' && text.startsWith('Fan'));
    expect(added?.holds).toBe(true);
  });

  it('may take the name of a thing that it removes', async () => {
    const analysis = await analyseText(
      withVariant('remove Truck, TruckCord, TruckAdapter   add load Truck { power: 60 W   voltage: 120 V }'),
    );
    expect(findingsOf(analysis, 'duplicate-name')).toEqual([]);
    expect(system(analysis).instances.find(({ name }) => name === 'Truck')!.kind).toBe('load');
  });
});

describe('what a variant cannot change', () => {
  const told = async (changes: string): Promise<string[]> =>
    (await analyseText(withVariant(changes))).findings
      // A text with errors leaves its rules open, which is said beside.
      .filter(({ variant, check }) => variant === 'Other' && check !== 'missing-fact')
      .map(({ check, message }) => `${check}: ${message.split('.')[0]!.slice(0, 70)}`);

  it.each([
    ['remove Nobody', 'unknown-name: `Nobody` is no thing of Van'],
    ['remove Stop, Stop', 'duplicate-name: `Stop` is already the name of a change of this variant in line'],
    ['remove Lfp12V200Ah', 'wrong-type: What a variant removes must be a thing, run, link, control or scen'],
    ['replace load Nobody { power: 5 W }', 'unknown-name: `Nobody` is no thing of Van to replace'],
    ['replace run Heater: Panel -> Heater { }', 'unknown-name: `Heater` is no run of Van to replace'],
    ['remove Stop   replace scenario Stop { }', 'duplicate-name: `Stop` is already the name of a change of this'],
    ['add load Heater { power: 5 W }', 'duplicate-name: `Heater` is already the name of a thing of this desi'],
    ['remove Stop   Stop.duration = 3 h', 'wrong-type: What a variant changes must be a thing that it keeps; it rem'],
    ['add run New: Nobody -> Panel { }', 'unknown-name: `Nobody` is no thing of this design'],
  ])('%s', async (changes, expected) => {
    const [first, ...others] = await told(changes);
    expect(first).toContain(expected.slice(0, 60));
    expect(others).toEqual([]);
  });

  it('cannot be a variant of a variant, nor stand in a circle', async () => {
    const analysis = await analyseText(
      `${withVariant('remove Stop')}variant Third of Other { remove Heater }\nvariant Loop of Loop { remove Loop }\n`,
    );
    expect(names(analysis.designs.map(({ system: each }) => each))).toEqual(['Van', 'Other']);
    expect(findingsOf(analysis, 'unknown-name').map(({ headline }) => headline)).toEqual([
      '`Other` is no design',
      '`Loop` is no design',
    ]);
  });

  it('survives removals of everything, many times over', async () => {
    const all = names(system(await analyseText(withVariant('')), 'Van').instances);
    const many = Array.from({ length: 40 }, () => `remove ${all.join(', ')}`).join('\n');
    const analysis = await analyseText(withVariant(many));
    expect(system(analysis).instances).toEqual([]);
    expect(findingsOf(analysis, 'duplicate-name').length).toBeGreaterThan(30);
  });
});

describe('findings of a variant', () => {
  it('carry its name, and repeat nothing of the base', async () => {
    const weak = withVariant('Heater.power = 1.5 kW');
    const { findings, repeated, questions } = await analyseText(weak);
    const own = findings.filter(({ variant }) => variant === 'Other');
    expect(own.map(({ check, subject }) => `${check} ${subject}`)).toContain('plug-continuous Other.WallCord');
    const saying = ({ check, subject, message }: Finding): string =>
      `${check} ${subject.replace(/^(Van|Other)/, '')} ${message}`;
    const base = new Set(findings.filter(({ variant }) => variant === undefined).map(saying));
    expect(own.filter((each) => base.has(saying(each)))).toEqual([]);
    expect(repeated.every((each) => each.variant === 'Other' && base.has(saying(each)))).toBe(true);
    const asked = questions.map(({ check, subject, missing }) =>
      [check, subject.replace(/^(Van|Other)/, ''), ...missing].join(),
    );
    expect(new Set(asked).size).toBe(asked.length);
  });
});

describe('old texts', () => {
  it('may go on calling things add, remove and replace', async () => {
    const analysis = await analyseText(`let add = 5 W
design D {
  load replace { power: add }
  bus remove { rating: 20 A   voltage: 120 V }
  grid Mains { voltage: 120 V   rating: 20 A   neutralBond: bonded }
  run A: Mains -> remove { size: 12 AWG   length: 2 m }
  run B: remove -> replace { size: 12 AWG   length: 2 m }
}
variant V of D { replace.power = 2 * add   remove.rating = 15 A }
`);
    expect(analysis.findings.filter(({ check }) => /syntax|unknown/.test(check))).toEqual([]);
    const load = system(analysis, 'V').instances.find(({ name }) => name === 'replace')!;
    expect(load.properties.get('power')).toMatchObject({ value: { quantity: { value: 10 } } });
  });
});

describe('the layout of a variant', () => {
  it('has each change on a line of its own, and stays as it is', async () => {
    const { wattwright } = await createTestServices();
    const text = `variant V "label" of D { remove A,   B replace run C: X->Y{size: 4 mm2} add load Z{power:5 W}
  // why
  add require Z.power<=5 W
  Bank.parallel=2   site.altitude = 5 m }
`;
    const laid = formatText(text, wattwright).text;
    expect(laid).toBe(`variant V "label" of D {
  remove A, B
  replace run C: X -> Y { size: 4 mm2 }
  add load Z { power: 5 W }
  // why
  add require Z.power <= 5 W
  Bank.parallel = 2   site.altitude = 5 m
}
`);
    expect(formatText(laid, wattwright).text).toBe(laid);
  });
});
