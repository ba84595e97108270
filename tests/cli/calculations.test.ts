import { readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { call, root, temporaryFolder } from './helpers/program.js';
import { againstSchema } from './helpers/schemas.js';

const HUT = `let spare = 25 %

design Hut {
  basis: iec
  site { ambient: 30 degC }
  battery Bank { voltage: 25.6 V   capacity: 100 Ah   chemistry: lfp }
  fuse Main { class: T   rating: 60 A }
  bus DcBus { rating: 100 A }
  run BankFeed: Bank -> Main @ 150 mm -> DcBus { size: 16 mm2   type: H07V-K   length: 2 m }
}

variant Large of Hut { Bank.parallel = 3 }
`;

interface DerivationJson {
  readonly path?: string;
  readonly value: number;
  readonly unit: string;
  readonly place?: { readonly file: string; readonly range: { readonly start: { readonly line: number } } };
  readonly inputs: readonly DerivationJson[];
}

const flat = (derivation: DerivationJson): DerivationJson[] => [derivation, ...derivation.inputs.flatMap(flat)];

describe('eval', () => {
  test('a calculation is shown step by step', async () => {
    const { code, stdout } = await call([
      'eval',
      'voltageDrop(current: 50 A, length: 20 ft, size: 4 AWG, voltage: 24 V)',
    ]);
    expect(code).toBe(0);
    // 2 · 50 A · 20 ft · 0.308 ohm per 1000 ft (NEC Chapter 9 Table 8) = 0.616 V, worked by hand.
    expect(stdout).toMatch(/^voltage drop ΔU = 616(\.\d)? mV\n {2}ΔU = 2 · I · L · r\(T\)\n/);
    expect(stdout).toContain('NEC');
  });

  test('JSON follows its published schema and gives the full value in SI units', async () => {
    const { code, stdout } = await call([
      'eval',
      'voltageDrop(current: 50 A, length: 20 ft, size: 4 AWG, voltage: 24 V)',
      '--format',
      'json',
    ]);
    expect(code).toBe(0);
    const json = JSON.parse(stdout) as DerivationJson;
    expect(againstSchema('eval', json)).toEqual([]);
    expect(json).toMatchObject({ schema: 1, name: 'voltage drop', symbol: 'ΔU', unit: 'V' });
    expect(Math.abs(json.value / 0.616 - 1)).toBeLessThan(1e-3);
    for (const { value } of flat(json)) expect(value).not.toBeNaN();
  });

  test('Markdown is a list', async () => {
    const { stdout } = await call(['eval', '2 * 3 A', '--format', 'md']);
    expect(stdout).toMatch(/^`2 \* 3 A`\n\n- .*\*\*6 A\*\*/);
  });

  test('names of a file are those of its design, and places are those of the file', async () => {
    const cwd = temporaryFolder({ 'hut.watt': HUT });
    const { code, stdout } = await call(
      ['eval', 'Bank.capacity * (1 + spare)', '--in', 'hut.watt', '--design', 'Hut', '--format', 'json'],
      {
        cwd,
      },
    );
    expect(code).toBe(0);
    const json = JSON.parse(stdout) as DerivationJson;
    expect(json).toMatchObject({ value: 125, unit: 'Ah' });
    const places = flat(json).flatMap(({ place }) => (place && place.file !== 'expression' ? [place] : []));
    expect(places.map(({ file, range }) => `${file}:${range.start.line}`).sort()).toEqual(['hut.watt:1', 'hut.watt:6']);
  });

  test('a variant has its own values', async () => {
    const cwd = temporaryFolder({ 'hut.watt': HUT });
    const value = async (design: string): Promise<number> => {
      const args = ['eval', 'Bank.bankCapacity', '--in', 'hut.watt', '--design', design, '--format', 'json'];
      return (JSON.parse((await call(args, { cwd })).stdout) as DerivationJson).value;
    };
    expect([await value('Hut'), await value('Large')]).toEqual([100, 300]);
    // By the name of the variant, and with what it adds.
    const added = HUT.replace('parallel = 3 }', 'parallel = 3   add battery Spare { capacity: 50 Ah } }');
    const within = temporaryFolder({ 'hut.watt': added });
    const asked = ['eval', 'Bank.bankCapacity + Spare.capacity', '--in', 'hut.watt', '--variant', 'Large'];
    const { stdout } = await call([...asked, '--format', 'json'], { cwd: within });
    expect((JSON.parse(stdout) as DerivationJson).value).toBe(350);
    const { code, stderr } = await call([...asked.slice(0, 1), '1 remove Bank', ...asked.slice(2)], { cwd: within });
    expect([code, stderr]).toEqual([2, expect.stringContaining('no expression of the language')]);
  });

  test('standard input may hold the file', async () => {
    const { stdout } = await call(['eval', 'Bank.capacity', '--in', '-'], { input: HUT });
    expect(stdout).toContain('100 Ah (stdin.watt:6:46)');
  });

  test.each([
    ['3 A + 2 V', /left side is current.*right side is voltage/],
    ['ampacity(size: 10 AWG', /no expression of the language/],
    ['1 let other = 2', /no expression of the language/],
    ['1 } design Other {', /no expression of the language/],
    ['', /no expression of the language/],
    ['?', /no expression of the language/],
    ['// nothing', /no expression of the language/],
    ['1 A / 0 A', /division by zero/],
    ['nothingOfTheKind(1)', /nothingOfTheKind/],
    ['ampacity(size: 10 V)', /size/],
  ])('%s is refused with one line', async (expression, message) => {
    const { code, stdout, stderr } = await call(['eval', expression]);
    expect({ code, stdout }).toEqual({ code: 2, stdout: '' });
    expect(stderr).toMatch(message);
    expect(stderr.trimEnd().split('\n')).toHaveLength(1);
  });

  test.each([
    [['eval', '1', '--design', 'Hut'], /--design needs --in/],
    [['eval', '1', '--variant', 'Big'], /--variant needs --in/],
    [['eval', '1', '--in', 'hut.watt', '--variant', 'Bog'], /no variant is named Bog/],
    [['eval', '1', '--in', 'hut.watt', '--design', 'Hat'], /did you mean Hut\?/],
    [['eval', '1', '--in', 'two.watt'], /several designs.*One, Two/],
    [['eval', '1', '--in', 'broken.watt'], /broken\.watt has syntax errors/],
    [['eval', 'Bank.reserve', '--in', 'hut.watt'], /not computed: missing reserve of Bank/],
  ])('%j is told how to mend', async (args, message) => {
    const cwd = temporaryFolder({
      'hut.watt': HUT,
      'two.watt': 'design One {}\ndesign Two {}\n',
      'broken.watt': 'design {',
    });
    const { code, stderr } = await call(args, { cwd });
    expect(code).toBe(2);
    expect(stderr).toMatch(message);
  });
});

describe('calc', () => {
  test('every quantity has its path and follows the published schema', async () => {
    const cwd = temporaryFolder({ 'hut.watt': HUT });
    const { code, stdout } = await call(['calc', 'hut.watt', '--format', 'json'], { cwd });
    expect(code).toBe(0);
    const json = JSON.parse(stdout) as { quantities: DerivationJson[] };
    expect(againstSchema('calc', json)).toEqual([]);
    const energy = json.quantities.filter(({ path: name }) => name?.endsWith('.Bank.energy'));
    // 25.6 V · 100 Ah, once and three times.
    expect(energy.map(({ path: name, value, unit }) => [name, value, unit])).toEqual([
      ['Hut.Bank.energy', 2560, 'Wh'],
      ['Large.Bank.energy', 7680, 'Wh'],
    ]);
  });

  test('--design and --variant choose', async () => {
    const cwd = temporaryFolder({ 'hut.watt': HUT });
    const only = async (...args: string[]): Promise<string[]> => {
      const { stdout } = await call(['calc', 'hut.watt', '--quiet', ...args], { cwd });
      return [...new Set(stdout.split('\n').flatMap((line) => line.match(/^\w+/)?.[0] ?? []))];
    };
    expect(await only('--design', 'Hut')).toEqual(['Hut']);
    expect(await only('--variant', 'Large')).toEqual(['Large']);
    expect((await call(['calc', 'hut.watt', '--variant', 'Lage'], { cwd })).stderr).toContain('did you mean Large?');
  });

  test('the cautions stand above, once; what is not computed says why', async () => {
    const cwd = temporaryFolder({ 'hut.watt': HUT.replace('   length: 2 m', '') });
    const { stdout } = await call(['calc', 'hut.watt', '--design', 'Hut'], { cwd });
    expect(stdout.match(/licensed practice/g)).toHaveLength(1);
    expect(stdout).toMatch(/Not computed\n(?:.*\n)*? {2}Hut\.BankFeed\.\w+: missing length of BankFeed/);
  });

  test('--worked and Markdown show the steps', async () => {
    const cwd = temporaryFolder({ 'hut.watt': HUT });
    expect((await call(['calc', 'hut.watt', '--worked'], { cwd })).stdout).toContain('Hut.Bank.energy\n');
    const { stdout } = await call(['calc', 'hut.watt', '--format', 'md'], { cwd });
    expect(stdout).toMatch(/^# Computed quantities\n/);
    expect(stdout).toContain('## Hut.Bank.energy');
  });

  test('two runs give the same bytes', async () => {
    const folder = path.join(root, 'examples/ridge-station');
    const runs = [1, 2].map(() => call(['calc', 'station.watt', '--format', 'json'], { cwd: folder }));
    const [first, second] = await Promise.all(runs);
    expect(first!.stdout.length).toBeGreaterThan(1000);
    expect(second!.stdout).toBe(first!.stdout);
  });
});

describe('explain', () => {
  test('alone it lists everything, and JSON follows the published schema', async () => {
    const pretty = await call(['explain']);
    const json = JSON.parse((await call(['explain', '--format', 'json'])).stdout) as {
      checks: { check: string }[];
      functions: { function: string }[];
    };
    expect(againstSchema('explain', json)).toEqual([]);
    expect(json.checks.length).toBeGreaterThan(20);
    expect(json.functions.length).toBeGreaterThan(40);
    for (const { check } of json.checks) expect(pretty.stdout).toContain(`  ${check} `);
    for (const one of json.functions) expect(pretty.stdout).toContain(`  ${one.function} `);
  });

  test('a check says what it guards, how, by which source, with both examples', async () => {
    const { code, stdout } = await call(['explain', 'run-ampacity']);
    expect(code).toBe(0);
    for (const title of ['Why it matters', 'How it is worked out', 'Fails', 'Passes', 'Fix', 'Source'])
      expect(stdout).toContain(`\n${title}\n`);
  });

  test('Markdown is the text of the catalogue page', async () => {
    const { code, stdout } = await call(['explain', 'run-ampacity', '--format', 'md']);
    expect(code).toBe(0);
    const page = readFileSync(path.join(root, 'language/CHECKS.md'), 'utf8');
    expect(page).toContain(
      stdout
        .trim()
        .replace(/^#/gm, '##')
        .replace(/^###(?=#* )/gm, '###'),
    );
  });

  test('a function says its arguments, range of validity, sources and examples', async () => {
    const { code, stdout } = await call(['explain', 'voltageDrop']);
    expect(code).toBe(0);
    expect(stdout).toMatch(/^voltageDrop\(current, length, size,/);
    for (const title of ['Arguments', 'Result', 'Valid for', 'Sources', 'Examples'])
      expect(stdout).toContain(`\n${title}\n`);
  });

  test('an unknown name gets the nearest', async () => {
    const { code, stderr } = await call(['explain', 'run-ampcity']);
    expect(code).toBe(2);
    expect(stderr).toContain('did you mean run-ampacity');
  });
});
