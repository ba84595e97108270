import { Ajv2020 } from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { mkdirSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { projectSchema } from '../../language/src/index.js';
import { projectFrom } from '../../server/src/project/project.js';
import { call, temporaryFolder } from './helpers/program.js';

/** A cabin of our own invention: its feed is too thin and unprotected, and its drop is far above what is advised. */
const CABIN = `design Cabin {
  battery Bank : Lfp24V100Ah
  load Lamp { power: 400 W   supply: dc }
  run Feed: Bank -> Lamp { size: 1.5 mm2   length: 12 m   type: H07V-K }
}
`;

interface Report {
  readonly findings: readonly { readonly check: string; readonly severity: string; readonly file: string }[];
  readonly summary: { readonly errors: number };
}

async function checked(
  files: Readonly<Record<string, string>>,
  ...args: readonly string[]
): Promise<{ code: number | null; stderr: string; report: Report; cwd: string }> {
  const cwd = temporaryFolder({ '.git/HEAD': 'ref: refs/heads/main\n', ...files });
  const { code, stdout, stderr } = await call(['check', '--format', 'json', '--fixes', 'none', ...args], { cwd });
  return { code, stderr, report: (stdout === '' ? { findings: [] } : JSON.parse(stdout)) as Report, cwd };
}

const severityOf = ({ findings }: Report, check: string): string | undefined =>
  findings.find((each) => each.check === check)?.severity;

const read = (text: string, folder = '/project'): ReturnType<typeof projectFrom> =>
  projectFrom(`${folder}/wattwright.json`, text, '/project');
const told = (text: string): string[] => read(text).problems.map((problem) => problem.text);

describe('what a project file says', () => {
  test('findings are as grave as it has it, and older ids are told once', async () => {
    const { code, stderr, report } = await checked({
      'wattwright.json':
        '{ "basis": "iec", "severity": {\n  "run-ampacity": "info", "run-unprotected": "warning", "voltage-drop": "error",\n  "one-bond": "info" } }',
      'a.watt': CABIN,
      'b.watt': CABIN.replace('Cabin', 'Second'),
    });
    expect([severityOf(report, 'run-ampacity'), severityOf(report, 'run-unprotected')]).toEqual(['info', 'warning']);
    expect(severityOf(report, 'voltage-drop')).toBe('error');
    expect(code).toBe(1);
    expect(stderr).toBe('wattwright: wattwright.json:3:3: `one-bond` is now called `neutral-bond`\n');
  });

  test('fails on what it says, each file by its own project, and an option leads', async () => {
    const mild =
      '{ "severity": { "run-ampacity": "warning", "run-unprotected": "warning", "voltage-collapse": "warning" } }';
    const files = { 'wattwright.json': mild, 'site/a.watt': CABIN };
    expect((await checked(files)).code).toBe(0);
    const strict = mild.replace('{', '{ "failOn": "warning",');
    expect((await checked({ ...files, 'wattwright.json': strict })).code).toBe(1);
    expect((await checked({ ...files, 'wattwright.json': strict }, '--fail-on', 'error')).code).toBe(0);
    // The nearer of two project files counts alone.
    expect((await checked({ ...files, 'site/wattwright.json': strict, 'wattwright.json': '{}' })).code).toBe(1);
  });

  test('its practice holds for designs that state none, in every command', async () => {
    const files = { 'wattwright.json': '{ "basis": "iec" }', 'a.watt': CABIN };
    const { cwd } = await checked(files);
    const asked = ['eval', 'Feed.ampacity', '--in', 'a.watt', '--format', 'json'];
    const { stdout } = await call(asked, { cwd });
    // IEC 60364-5-52 Table B.52.2, method B2, 1.5 mm² copper: 16.5 A.
    expect((JSON.parse(stdout) as { value: number }).value).toBe(16.5);
    writeFileSync(path.join(cwd, 'a.watt'), CABIN.replace('{', '{\n  basis: nec'));
    expect((await call(asked, { cwd })).stdout).not.toContain('IEC');
  });

  test('paths are left out where a folder is checked, and checked where they are named', async () => {
    const files = { 'wattwright.json': '{ "exclude": ["old/", "*.draft.watt", "!keep.draft.watt"] }' };
    const { report, cwd } = await checked({
      ...files,
      'a.watt': CABIN,
      'old/b.watt': CABIN,
      'site/c.draft.watt': CABIN,
      'site/keep.draft.watt': CABIN,
    });
    expect([...new Set(report.findings.map(({ file }) => file))]).toEqual(['a.watt', 'site/keep.draft.watt']);
    const named = await call(['check', 'old/b.watt', '--format', 'json', '--fixes', 'none'], { cwd });
    expect((JSON.parse(named.stdout) as Report).findings[0]!.file).toBe('old/b.watt');
  });

  test('budgets: how long a scenario may be, and for how many findings proposals are sought', async () => {
    const scenario = '  scenario Long { duration: 3 d   runs: 200   require min(soc(Bank)) >= 1 % }\n}\n';
    const files = { 'a.watt': CABIN.replace(/}\n$/, scenario) };
    const { report } = await checked({ ...files, 'wattwright.json': '{ "budgets": { "scenarioYears": 1 } }' });
    expect(JSON.stringify(report)).toContain('its runs cover 1.64 years in all; at most 1 are simulated here');
    const { cwd } = await checked({ ...files, 'wattwright.json': '{ "budgets": { "proposals": 0 } }' });
    const { stdout } = await call(['check', '--format', 'json'], { cwd });
    expect((JSON.parse(stdout) as { findings: { fixes: object[] }[] }).findings.flatMap(({ fixes }) => fixes)).toEqual(
      [],
    );
  });
});

describe('parts by name', () => {
  const LAMP = 'part load InventedLamp { power: 400 W   supply: dc }\n';
  const site = (use: string): string =>
    `use "${use}"\n${CABIN.replace('Lamp { power: 400 W   supply: dc }', 'Lamp : InventedLamp')}`;
  const unknown = ({ findings }: Report): object[] =>
    findings.filter(({ check }) => check === 'unknown-name' || check === 'import-outside');

  test('come from a folder of the repository, whatever folder is checked, and draw in files beside them', async () => {
    const { cwd } = await checked({
      'wattwright.json': '{ "parts": { "stock": "shared/parts" } }',
      'shared/parts/lamps.watt': `use "ratings.watt"\n${LAMP.replace('400 W', 'LampPower')}`,
      'shared/parts/ratings.watt': 'let LampPower = 400 W\n',
      'sites/one/a.watt': site('stock/lamps.watt'),
    });
    const { stdout } = await call(['check', '--format', 'json', '--fixes', 'none'], {
      cwd: path.join(cwd, 'sites/one'),
    });
    expect(unknown(JSON.parse(stdout) as Report)).toEqual([]);
  });

  test('come from a package, which may be a folder of it, and one that is not installed is told where it is used', async () => {
    const files = {
      'wattwright.json': '{ "parts": { "huts": { "package": "@example/hut-parts", "folder": "lamps" } } }',
      'a.watt': site('huts/lamps.watt'),
    };
    const { report } = await checked({ ...files, 'node_modules/@example/hut-parts/lamps/lamps.watt': LAMP });
    expect(unknown(report)).toEqual([]);
    const missing = await checked(files);
    expect(unknown(missing.report)).toMatchObject([
      { check: 'unknown-name', why: expect.stringContaining('which is not installed; run `npm install`') as string },
      { check: 'unknown-name' },
    ]);
  });

  test('a path that begins with a dot names no folder', async () => {
    const { report } = await checked({
      'wattwright.json': '{ "parts": { "stock": "elsewhere" } }',
      'stock/lamps.watt': LAMP,
      'a.watt': site('./stock/lamps.watt'),
    });
    expect(unknown(report)).toEqual([]);
  });

  test('a folder that is a link out of the repository, and a path that climbs out of its folder, are refused', async () => {
    const outside = temporaryFolder({ 'lamps.watt': LAMP });
    const cwd = temporaryFolder({
      '.git/HEAD': 'ref: refs/heads/main\n',
      'wattwright.json': '{ "parts": { "stock": "linked", "own": "parts" } }',
      'parts/x.watt': '',
      'sites/a.watt': site('stock/lamps.watt'),
      'sites/b.watt': site(`own/../../${path.basename(outside)}/lamps.watt`),
    });
    symlinkSync(outside, path.join(cwd, 'linked'));
    for (const file of ['a', 'b']) {
      const { stdout } = await call(['check', `sites/${file}.watt`, '--format', 'json', '--fixes', 'none'], { cwd });
      expect(unknown(JSON.parse(stdout) as Report)).toMatchObject([
        { check: 'import-outside' },
        { check: 'unknown-name' },
      ]);
    }
  });
});

describe('own wiring tables', () => {
  const HOUSE = `part conductor HouseCable { metal: copper   insulation: 90 degC   ampacities: { 1.5 mm2: 44 A } }
`;
  const WITH = CABIN.replace('H07V-K', 'HouseCable').replace('{', '{\n  basis: iec');
  const errors = ({ findings }: Report): string[] =>
    findings.filter(({ severity }) => severity === 'error').map(({ check }) => check);

  test('hold in every design without `use`, go before the library, and a change of them is a change of the designs', async () => {
    const files = { 'wattwright.json': '{ "tables": ["shared/house.watt"] }', 'shared/house.watt': HOUSE };
    const { report, cwd } = await checked({ ...files, 'site/a.watt': WITH });
    expect(errors(report)).not.toContain('unknown-name');
    expect(errors(report)).not.toContain('run-ampacity');
    const value = async (): Promise<number> => {
      const { stdout } = await call(['eval', 'Feed.ampacity', '--in', 'site/a.watt', '--format', 'json'], { cwd });
      return (JSON.parse(stdout) as { value: number }).value;
    };
    expect(await value()).toBe(44);
    writeFileSync(path.join(cwd, 'shared/house.watt'), HOUSE.replace('44 A', '12 A'));
    expect(await value()).toBe(12);
    // Named like a type of the library, the own one counts.
    writeFileSync(path.join(cwd, 'shared/house.watt'), HOUSE.replace('HouseCable', 'H07V-K').replace('44 A', '39 A'));
    writeFileSync(path.join(cwd, 'site/a.watt'), WITH.replace('HouseCable', 'H07V-K'));
    expect(await value()).toBe(39);
  });

  test('that are not there, no design file or outside of the repository are told in the project file', async () => {
    for (const [file, complaint] of [
      ['nosuch.watt', 'there is no such file'],
      ['a.txt', 'are .watt files'],
      ['../x.watt', 'lies outside of the repository'],
    ] as const) {
      const { code, stderr } = await checked({ 'wattwright.json': `{ "tables": ["${file}"] }`, 'a.watt': CABIN });
      expect([code, stderr]).toEqual([2, expect.stringContaining(complaint) as string]);
    }
  });
});

describe('what is wrong with a project file', () => {
  test('ends the call with the place, the nearest key and how many more there are', async () => {
    const { code, stderr } = await checked({
      'wattwright.json': '{\n  "basic": "iec",\n  "severity": { "run-ampacty": "info" }\n}',
      'a.watt': CABIN,
    });
    expect(code).toBe(2);
    expect(stderr).toBe(
      'wattwright: wattwright.json:2:3: there is no key `basic`; did you mean `basis`? (and 1 more in this file)\n',
    );
  });

  test.each([
    ['[]', 'an array is not an object'],
    ['', 'it is empty'],
    ['{ "basis": 5 }', '`5` is not nec, iec or craft'],
    ['{ "basis": "ice" }', 'did you mean `iec`?'],
    ['{ "basis": "iec", }', 'it is no JSON text'],
    ['{ "basis": "iec" /* why */ }', 'it is no JSON text'],
    ['{ "basis": "iec", "basis": "nec" }', '`basis` is here twice'],
    ['{ "severity": { "syntax-error": "info" } }', 'nothing that is worked out from a text with this fault'],
    ['{ "severity": { "one-bond": "info", "neutral-bond": "info" } }', 'which is here as well'],
    ['{ "severity": { "__proto__": "info" } }', 'no check is called `__proto__`'],
    ['{ "parts": { "a": "../elsewhere" } }', 'leads out of'],
    ['{ "parts": { "a": "b/../../elsewhere" } }', 'leads out of'],
    ['{ "parts": { "a": "/etc" } }', 'is not a relative path'],
    ['{ "parts": { "a": "c:/x" } }', 'is not a relative path'],
    ['{ "parts": { "a": "x\\\\y" } }', 'is not a relative path'],
    ['{ "parts": { "a": "x\\u0000y" } }', 'is not a relative path'],
    ['{ "parts": { "../x": "y" } }', 'is no name'],
    ['{ "parts": { "a": { "package": "../../x" } } }', 'is not the name of a package'],
    ['{ "parts": { "a": { "folder": "x" } } }', 'has no key `package`'],
    ['{ "parts": { "a": 5 } }', 'is not a folder, or a package'],
    ['{ "budgets": { "scenarioYears": -1 } }', 'is not a number from 1'],
    ['{ "budgets": { "proposals": 1.5 } }', 'is not a whole number'],
    ['{ "exclude": "old" }', 'is not a list'],
    [`{ "exclude": [${'"x",'.repeat(300)} "x"] }`, 'is not a list of up to 200'],
    [`{ "exclude": ${'['.repeat(100_000)}`, 'nested more than'],
    [`{ "basis": "${'x'.repeat(2_000_000)}" }`, 'more than 1 million characters'],
    [`{ "${'k'.repeat(5000)}": 1 }`, 'there is no key `kkkkkkkkkk'],
  ])('%.60s', (text, expected) => {
    expect(told(text).join('\n')).toContain(expected);
    for (const line of told(text)) expect(line.length).toBeLessThan(300);
  });

  test('a place counts lines and characters, whatever ends the lines', () => {
    const [problem] = read('\uFEFF{\r\n "a": 1 }').problems;
    expect(problem!.range.start).toEqual({ line: 1, character: 1 });
  });

  test('no regular file, and a link that leads elsewhere, are told', async () => {
    const outside = temporaryFolder({ 'secret.json': '{ "password": 1 }' });
    const cwd = temporaryFolder({ 'a.watt': CABIN });
    symlinkSync(path.join(outside, 'secret.json'), path.join(cwd, 'wattwright.json'));
    const linked = await call(['check'], { cwd });
    expect([linked.code, linked.stderr]).toEqual([2, expect.stringContaining('is a link that leads out')]);
    expect(linked.stderr).not.toContain('password');
    const second = temporaryFolder({ 'a.watt': CABIN });
    mkdirSync(path.join(second, 'wattwright.json'));
    expect((await call(['check'], { cwd: second })).stderr).toContain('is a folder');
  });

  test('outside of a repository nobody looks above the folder that is worked in', async () => {
    const above = temporaryFolder({ 'wattwright.json': 'no JSON', 'site/a.watt': CABIN });
    const { code, stderr } = await call(['check', '--fixes', 'none'], { cwd: path.join(above, 'site') });
    expect([code, stderr]).toEqual([1, '']);
  });

  test('whatever it holds is read without a fault of ours', () => {
    fc.assert(
      fc.property(
        fc.oneof(
          fc.json(),
          fc.string(),
          fc.json().map((text) => text.slice(1)),
        ),
        (text) => {
          const { settings, problems } = read(text);
          expect(settings.parts.size).toBeLessThanOrEqual(100);
          for (const { range } of problems) expect(range.start.line).toBeGreaterThanOrEqual(0);
        },
      ),
    );
  });
});

test('the published schema and the reader agree', () => {
  const validate = new Ajv2020({ strict: true, strictTypes: false, allErrors: true }).compile(projectSchema());
  const mostly = (right: fc.Arbitrary<unknown>, ...wrong: unknown[]): fc.Arbitrary<unknown> =>
    fc.oneof({ weight: 12, arbitrary: right }, { weight: 1, arbitrary: fc.constantFrom(...wrong) });
  const word = (...words: string[]): fc.Arbitrary<unknown> => mostly(fc.constantFrom(...words), 'other', 7, null);
  const folder = fc.oneof(
    mostly(fc.constantFrom('parts', './parts', 'a/b'), '/etc', 'c:/x', 'a\\b', ''),
    fc.record({ package: word('@example/parts', 'parts', '../parts'), folder: word('x') }, { requiredKeys: [] }),
  );
  const document = fc.record(
    {
      $schema: word('x'),
      basis: word('nec', 'iec', 'craft'),
      failOn: word('error', 'info'),
      severity: mostly(
        fc.dictionary(fc.constantFrom('run-ampacity', 'one-bond'), word('error', 'info'), { maxKeys: 2 }),
        { 'run-ampacty': 'info' },
        { 'unknown-name': 'info' },
        [],
      ),
      exclude: mostly(fc.array(word('old/'), { maxLength: 2 }), 'old/', {}),
      parts: mostly(
        fc.dictionary(fc.constantFrom('stock', 'a-b'), folder, { maxKeys: 2 }),
        { '': 'x' },
        { '5': 'x' },
        'x',
      ),
      budgets: mostly(
        fc.record(
          {
            scenarioYears: fc.double({ min: 0.5, max: 100_001, noNaN: true }),
            proposals: fc.integer({ min: -1, max: 10_001 }),
          },
          { requiredKeys: [] },
        ),
        { other: 1 },
        { proposals: 1.5 },
        [],
      ),
    },
    { requiredKeys: [] },
  );
  const documents = mostly(document, { unknown: 1 }, []);
  let valid = 0;
  fc.assert(
    fc.property(documents, (value) => {
      const text = JSON.stringify(value);
      const faults = read(text).problems.filter(({ deprecated }) => !deprecated);
      const isValid = validate(JSON.parse(text));
      valid += isValid ? 1 : 0;
      expect(faults.length === 0, `${text}\n${faults.map((fault) => fault.text).join('\n')}`).toBe(isValid);
    }),
    { numRuns: 1000 },
  );
  expect(valid).toBeGreaterThan(100);
  expect(valid).toBeLessThan(900);
});
