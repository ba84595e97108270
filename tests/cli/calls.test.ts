import { existsSync, readFileSync, readdirSync, statSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { VERSION } from '../../server/src/version.js';
import { call, programFile, root, temporaryFolder } from './helpers/program.js';

/** Every unusable call ends with 2, prints nothing to standard output and tells one line. */
async function expectUnusable(args: readonly string[], message: RegExp, options = {}): Promise<void> {
  const outcome = await call(args, options);
  expect(outcome).toMatchObject({ code: 2, stdout: '' });
  expect(outcome.stderr).toMatch(message);
  expect(outcome.stderr.trimEnd().split('\n')).toHaveLength(1);
}

const COMMANDS = [
  'check',
  'eval',
  'calc',
  'simulate',
  'draw',
  'report',
  'solve',
  'merge',
  'diff',
  'explain',
  'fmt',
  'new',
  'parts',
  'completion',
  'lsp',
];

/** Every file that a file of the bundle loads before it does anything, itself first. */
function loadedBy(file: string, known = new Set<string>()): Set<string> {
  if (known.has(file)) return known;
  known.add(file);
  for (const [, other] of readFileSync(file, 'utf8').matchAll(/(?:from|import)"(\.[^"]+)"/g))
    loadedBy(path.resolve(path.dirname(file), other!), known);
  return known;
}

/** Bytes that may be read before the first option is looked at: the parser of options is a tenth of a megabyte, the language over two. */
const FIRST_BYTES = 300_000;

describe('calls', () => {
  test('the language is not loaded before a command needs it', async () => {
    const program = await programFile();
    const later = /import\("(\.\/parts\/program-[^"]+)"\)/.exec(readFileSync(program, 'utf8'))![1]!;
    const first = [...loadedBy(path.resolve(path.dirname(program), later), loadedBy(program))];
    const bytes = first.reduce((sum, file) => sum + statSync(file).size, 0);
    expect(first.length).toBeGreaterThan(2);
    expect(bytes).toBeLessThan(FIRST_BYTES);
  });

  test('--version prints the version of the package', async () => {
    const manifest = JSON.parse(readFileSync(path.join(root, 'server/package.json'), 'utf8')) as { version: string };
    expect(VERSION).toBe(manifest.version);
    expect(await call(['--version'])).toEqual({ code: 0, stdout: `${VERSION}\n`, stderr: '' });
  });

  test('--help lists exactly the commands that exist, with examples', async () => {
    const { code, stdout } = await call(['--help']);
    expect(code).toBe(0);
    const listed = [...stdout.matchAll(/^ {2}([a-z]+) (?:\[|<)/gm)].map((match) => match[1]);
    expect(listed).toEqual([...COMMANDS, 'help']);
    expect(stdout).toContain('Examples:');
  });

  test.each(COMMANDS)('%s --help has an example', async (command) => {
    const { code, stdout } = await call([command, '--help']);
    expect(code).toBe(0);
    expect(stdout).toContain(`$ wattwright ${command}`);
  });

  test('an unknown command gets the nearest name', () => expectUnusable(['chekc'], /unknown command 'chekc'.*check/));

  test('an unknown option gets the nearest name', () =>
    expectUnusable(['check', '--formta', 'json'], /unknown option '--formta' \(Did you mean --format\?\)/));

  test('an unknown format lists the formats', () =>
    expectUnusable(['check', '--format', 'xml'], /pretty, json, sarif/));

  test('a file in the place of a command is pointed at check', () =>
    expectUnusable(['site.watt'], /wattwright check site\.watt/));

  test('without a command the help shows what there is', async () => {
    const { code, stdout, stderr } = await call([]);
    expect({ code, stdout }).toEqual({ code: 2, stdout: '' });
    expect(stderr).toContain('Usage: wattwright');
  });

  test('a file that is not there', () => expectUnusable(['check', 'nowhere.watt'], /nowhere\.watt.*no such file/));

  test('a file of another kind', () => expectUnusable(['check', 'package.json'], /not a \.watt file/));

  test('a folder without designs', () =>
    expectUnusable(['check'], /no \.watt file in this folder.*wattwright new/, { cwd: temporaryFolder() }));

  test('a date that is none', () => expectUnusable(['check', '--today', '2027-02-30'], /2027-01-15/));

  test('lsp wants to be told how to talk', () => expectUnusable(['lsp'], /lsp --stdio/));

  test('characters that act on a terminal are spelled out in complaints too', () =>
    expectUnusable(['check', 'a\u001b[31m.watt'], /a\\u\{1b\}\[31m\.watt/));

  test('it starts on Node 20 where there is one', async ({ skip }) => {
    const node = '/usr/bin/node';
    if (!existsSync(node)) skip('there is no other Node here');
    const { code, stdout } = await call(['check', 'cabin.watt', '--format', 'json'], {
      node,
      cwd: path.join(root, 'tests/editor/workspace'),
    });
    expect([0, 1]).toContain(code);
    expect(JSON.parse(stdout)).toMatchObject({ schema: 1 });
  });
});

describe('new', () => {
  test('the starter checks clean, in the canonical layout, with nothing left open', async () => {
    const cwd = temporaryFolder();
    const made = await call(['new', 'cabin'], { cwd });
    expect(made).toMatchObject({ code: 0, stderr: '' });
    expect(made.stdout).toContain('wrote cabin/cabin.watt');
    expect(readdirSync(path.join(cwd, 'cabin')).sort()).toEqual(['README.md', 'cabin.watt']);
    const checked = await call(['check', 'cabin', '--format', 'json', '--fail-on', 'warning'], { cwd });
    expect(checked.code).toBe(0);
    const json = JSON.parse(checked.stdout) as { findings: { severity: string }[]; requirements: { holds: unknown }[] };
    expect(json.findings.filter(({ severity }) => severity !== 'info')).toEqual([]);
    expect(json.requirements.map(({ holds }) => holds)).toEqual([true]);
    expect(await call(['fmt', '--check', 'cabin'], { cwd })).toEqual({ code: 0, stdout: '', stderr: '' });
  });

  test('every computed quantity of the starter is computed', async () => {
    const cwd = temporaryFolder();
    await call(['new', '.'], { cwd });
    const { stdout } = await call(['calc', 'cabin.watt', '--format', 'json'], { cwd });
    expect((JSON.parse(stdout) as { notComputed: unknown[] }).notComputed).toEqual([]);
  });

  test('a folder that holds something is refused and stays as it is', async () => {
    const cwd = temporaryFolder({ 'mine/notes.txt': 'kept' });
    await expectUnusable(['new', 'mine'], /mine is not empty/, { cwd });
    expect(readdirSync(path.join(cwd, 'mine'))).toEqual(['notes.txt']);
  });

  test('a file in the way is told', async () => {
    const cwd = temporaryFolder({ mine: 'a file' });
    await expectUnusable(['new', 'mine'], /not a folder/, { cwd });
  });
});

describe('fmt', () => {
  const loose = 'design   Hut{\n load Lamp{power:40 W}\n}\n';

  test('it lays out once and then changes nothing', async () => {
    const cwd = temporaryFolder({ 'a.watt': loose, 'b/c.watt': loose });
    expect((await call(['fmt', '--check'], { cwd })).code).toBe(1);
    expect(readFileSync(path.join(cwd, 'a.watt'), 'utf8')).toBe(loose);
    expect(await call(['fmt'], { cwd })).toEqual({ code: 0, stdout: 'a.watt\nb/c.watt\n', stderr: '' });
    const once = readFileSync(path.join(cwd, 'a.watt'), 'utf8');
    expect(once).not.toBe(loose);
    expect(await call(['fmt'], { cwd })).toEqual({ code: 0, stdout: '', stderr: '' });
    expect(readFileSync(path.join(cwd, 'a.watt'), 'utf8')).toBe(once);
    expect((await call(['fmt', '--check'], { cwd })).code).toBe(0);
    expect(readdirSync(cwd).sort()).toEqual(['a.watt', 'b']);
  });

  test('standard input goes to standard output', async () => {
    const first = await call(['fmt', '-'], { input: loose });
    expect(first).toMatchObject({ code: 0, stderr: '' });
    expect((await call(['fmt', '-'], { input: first.stdout })).stdout).toBe(first.stdout);
  });

  test('a text with syntax errors stays as it is', async () => {
    const broken = 'design Hut {{{\n   load\n';
    const cwd = temporaryFolder({ 'a.watt': broken });
    await expectUnusable(['fmt'], /a\.watt has syntax errors/, { cwd });
    expect(readFileSync(path.join(cwd, 'a.watt'), 'utf8')).toBe(broken);
    expect(await call(['fmt', '-'], { input: broken })).toMatchObject({ code: 2, stdout: broken });
  });
});
