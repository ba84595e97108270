import { CHECKS, type Finding, type Fix, edited } from '@wattwright/language';
import { globSync, readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { applyFixes, fixUntilSettled } from '../../server/src/cli/commands/check.js';
import { filesIn } from '../../server/src/cli/files.js';
import type { Session } from '../../server/src/cli/session.js';
import { call, root, temporaryFolder } from './helpers/program.js';
import { LANGUAGE_UNIT } from '../helpers/language-units.js';
import { againstSarif, againstSchema } from './helpers/schemas.js';

/** Two designs, each with one misspelt property. */
const MISSPELT = `design North {
  battery Bank { capasity: 100 Ah }
}

design South {
  load Lamp { powr: 40 W }
}
`;

interface Json {
  readonly findings: readonly {
    readonly check: string;
    readonly severity: string;
    readonly file: string;
    readonly subject: string;
    readonly message: string;
    readonly accepted?: object;
    readonly fixes: readonly { readonly title: string }[];
    readonly fixesSought: boolean;
  }[];
  readonly summary: Readonly<Record<string, number>>;
  readonly fixed?: readonly { readonly file: string; readonly check: string; readonly title: string }[];
}

const checkJson = async (args: readonly string[], options: Parameters<typeof call>[1] = {}): Promise<Json> =>
  JSON.parse((await call(['check', '--format', 'json', ...args], options)).stdout) as Json;

describe('exit codes', () => {
  test('0 without findings, 1 with errors, and --fail-on moves the line', async () => {
    const cwd = temporaryFolder({ 'clean.watt': 'design Hut {}\n', 'bad.watt': MISSPELT });
    expect((await call(['check', 'clean.watt'], { cwd })).code).toBe(0);
    expect((await call(['check', 'bad.watt'], { cwd })).code).toBe(1);
    expect((await call(['check', '.'], { cwd })).code).toBe(1);
  });

  test('warnings end with 1 only when asked', async () => {
    // A part that nothing uses is a warning.
    const cwd = temporaryFolder({ 'site.watt': 'part load Lamp { power: 40 W }\n\ndesign Hut {}\n' });
    const severities = (await checkJson(['.'], { cwd })).findings.map(({ severity }) => severity);
    expect(severities).toContain('warning');
    expect(severities).not.toContain('error');
    expect((await call(['check'], { cwd })).code).toBe(0);
    expect((await call(['check', '--fail-on', 'warning'], { cwd })).code).toBe(1);
  });

  test('a text that cannot be parsed never passes', async () => {
    for (const input of ['design {', 'design Hut { battery Bank { capacity: } }', '\0', '}'.repeat(50)]) {
      const { code, stderr } = await call(['check', '-'], { input });
      expect({ input, code, stderr }).toEqual({ input, code: 1, stderr: '' });
    }
  });
});

describe('what is read', () => {
  test('standard input takes its name from --stdin-name', async () => {
    const { findings } = await checkJson(['-', '--stdin-name', 'sites/north.watt'], { input: MISSPELT });
    expect(new Set(findings.map(({ file }) => file))).toEqual(new Set(['sites/north.watt']));
    const unnamed = await call(['check', '-'], { input: MISSPELT });
    expect(unnamed.stdout).toContain('stdin.watt:2:18 error unknown-name');
  });

  test('--design leaves out the findings of other designs', async () => {
    const cwd = temporaryFolder({ 'site.watt': MISSPELT });
    const messages = async (...args: string[]): Promise<string> =>
      (await checkJson(args, { cwd })).findings.map(({ message }) => message).join('\n');
    expect(await messages()).toMatch(/capasity[^]*powr/);
    expect(await messages('--design', 'South')).toContain('powr');
    expect(await messages('--design', 'South')).not.toContain('capasity');
    const wrong = await call(['check', '--design', 'Suoth'], { cwd });
    expect(wrong).toMatchObject({ code: 2, stdout: '' });
    expect(wrong.stderr).toContain('did you mean South?');
  });

  test('ignored files are not checked', async () => {
    const cwd = temporaryFolder({ '.gitignore': 'old/\n', 'site.watt': 'design Hut {}\n', 'old/bad.watt': MISSPELT });
    expect(await call(['check'], { cwd })).toMatchObject({ code: 0 });
    expect((await call(['check', 'old/bad.watt'], { cwd })).code).toBe(1);
  });

  test('use brings in parts of other files, but nothing from outside the workspace', async () => {
    const cwd = temporaryFolder({
      'secret.watt': 'part load Secret { power: 40 W }\n',
      'work/.git/HEAD': '',
      'work/parts/own.watt': 'part load Own { power: 40 W }\n',
      'work/site.watt':
        'use "parts/own.watt"\nuse "../secret.watt"\nuse "../../../../../../etc/passwd"\n\ndesign Hut {\n  load A : Own\n  load B : Secret\n}\n',
    });
    const { findings } = await checkJson(['site.watt'], { cwd: path.join(cwd, 'work') });
    const outside = findings.filter(({ check }) => check === 'import-outside');
    expect(outside).toHaveLength(2);
    expect(findings.filter(({ check }) => check === 'unknown-name').map(({ message }) => message)).toEqual([
      expect.stringContaining('Secret') as string,
    ]);
    expect(JSON.stringify(findings)).not.toMatch(/root:|40 W/);
  });
});

describe('files drawn in', () => {
  test('a syntax error in one never passes', async () => {
    const cwd = temporaryFolder({ 'parts.watt': 'part load {\n', 'site.watt': 'use "parts.watt"\n\ndesign Hut {}\n' });
    const { findings } = await checkJson(['site.watt'], { cwd });
    expect(findings).toContainEqual(expect.objectContaining({ file: 'parts.watt', check: 'syntax-error' }));
    expect((await call(['check', 'site.watt'], { cwd })).code).toBe(1);
  });
});

describe('hostile text', () => {
  const hostile =
    'design Hut "\u001b]0;owned\u0007\u202e" {\n  load Lamp "<img src=x>\u009b31m" { powr: 40 W } // \u001b[2J\n}\n';

  test('nothing of it acts on a terminal', async () => {
    const cwd = temporaryFolder({ 'a\u001b[31m.watt': hostile });
    const { stdout, stderr } = await call(['check', '--questions', '--no-color'], { cwd });
    expect(stdout).toContain('unknown-name');
    // eslint-disable-next-line no-control-regex -- control characters are what is looked for
    expect(stdout + stderr).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202a-\u202e]/);
    expect(stdout).toContain('a\\u{1b}[31m.watt');
  });

  test('JSON and SARIF stay valid and inert', async () => {
    const cwd = temporaryFolder({ 'a\u001b[31m.watt': hostile });
    for (const format of ['json', 'sarif']) {
      const { stdout } = await call(['check', '--format', format], { cwd });
      // eslint-disable-next-line no-control-regex -- control characters are what is looked for
      expect(stdout).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f]/);
      expect(format === 'json' ? againstSchema('check', JSON.parse(stdout)) : againstSarif(JSON.parse(stdout))).toEqual(
        [],
      );
    }
  });
});

const examples = readdirSync(path.join(root, 'examples'), { withFileTypes: true })
  .filter((entry) => entry.isDirectory())
  .map((entry) => entry.name);

describe.each(examples)('the example %s', (example) => {
  const cwd = path.join(root, 'examples', example);

  test('its JSON follows the published schema and is the same each time, and its SARIF follows that of OASIS', async () => {
    const [first, second, other] = await Promise.all([
      call(['check', '--format', 'json'], { cwd }),
      call(['check', '--format', 'json'], { cwd }),
      call(['check', '--format', 'sarif', '--accepted', 'include', '--fail-on', 'info'], { cwd }),
    ]);
    expect(second.stdout).toBe(first.stdout);
    const json = JSON.parse(first.stdout) as {
      findings: unknown[];
      passed: { use?: object }[];
      summary: { passed: number };
    };
    expect(againstSchema('check', json)).toEqual([]);
    // Every verdict that passed is listed, and most of them are held against a limit.
    expect(json.passed).toHaveLength(json.summary.passed);
    expect(json.passed.filter(({ use }) => use).length).toBeGreaterThan(json.passed.length / 2);
    const sarif = JSON.parse(other.stdout) as { runs: { results: unknown[] }[] };
    expect(againstSarif(sarif)).toEqual([]);
    expect(sarif.runs[0]!.results).toHaveLength(json.findings.length);
  });

  test('all that people read of it writes units as people do; what is quoted of the text stays as it is', async () => {
    const calls = [
      ['check', '--questions'],
      ...globSync('*.watt', { cwd }).flatMap((file) => [
        ['calc', '--worked', file],
        ['calc', '--format', 'md', file],
        ['simulate', file],
      ]),
      ['parts'],
    ];
    for (const args of calls) {
      const { stdout, stderr } = await call(args, { cwd });
      const lines = `${stdout}${stderr}`.split('\n').filter((line) => !/^ *\d* \|/.test(line));
      expect(lines.filter((line) => LANGUAGE_UNIT.test(line.replace(/`[^`]*`/g, '')))).toEqual([]);
    }
  });

  test('it is in the canonical layout or says so', async () => {
    const { code, stderr } = await call(['fmt', '--check', '.'], { cwd });
    expect(stderr).toBe('');
    expect([0, 1]).toContain(code);
  });
});

describe('pretty output of the real program', () => {
  test('a finding at a fixed width', async () => {
    // Parts alone, so that checks of designs, of which there will be more, have nothing to say.
    const input = 'part load Pump {\n\tnote: "井戸"   powr: 1.1 kW\n}\n';
    const { stdout } = await call(['check', '-'], { input, environment: { COLUMNS: '72' } });
    expect(stdout).toMatchInlineSnapshot(`
      "stdin.watt:2:15 error unknown-name: \`powr\` is no property of a load
      2 |     note: "井戸"   powr: 1.1 kW
        |                    ^^^^
         why      did you mean \`power\`?
         fix      Change to \`power\`

      0 designs in 1 file: 1 error, 0 warnings, 0 notes
      "
    `);
  });

  test('colour only when asked for where there is no terminal', async () => {
    const escape = '\u001b[';
    expect((await call(['check', '-'], { input: MISSPELT })).stdout).not.toContain(escape);
    expect((await call(['check', '-', '--color'], { input: MISSPELT })).stdout).toContain(escape);
    expect((await call(['--color', 'check', '-'], { input: MISSPELT })).stdout).toContain(escape);
    const both = await call(['check', '-', '--no-color'], { input: MISSPELT, environment: { FORCE_COLOR: '1' } });
    expect(both.stdout).not.toContain(escape);
  });

  test('a reader that stops early is no failure', async () => {
    const { stdout, code } = await call(['check', '-', '--quiet'], { input: 'design Hut {}\n' });
    expect({ stdout, code }).toEqual({ stdout: '', code: 0 });
  });
});

describe('waivers', () => {
  const { failing } = CHECKS.find(({ id }) => id === 'voltage-drop')!.docs;
  const waived = `${failing.trimEnd().replace(/}$/, '')}  accept voltage-drop on Line because "comes later" until 2027-06-30\n}\n`;
  const isDrop = ({ check }: { check: string }): boolean => check === 'voltage-drop';

  test('an accepted finding is listed as such and counts for nothing', async () => {
    const args = ['-', '--today', '2027-01-01', '--fail-on', 'warning'];
    const before = await checkJson(args, { input: failing });
    expect(before.findings.filter(isDrop)).toMatchObject([{ subject: 'Hut.Line', severity: 'warning' }]);
    const after = await checkJson(args, { input: waived });
    expect(after.findings.filter(isDrop)).toMatchObject([
      { subject: 'Hut.Line', accepted: { reason: 'comes later', until: '2027-06-30' } },
    ]);
    expect(after.summary).toMatchObject({ accepted: 1, warnings: before.summary.warnings! - 1 });
  });

  test('past its date it counts again', async () => {
    const { findings } = await checkJson(['-', '--today', '2027-07-01'], { input: waived });
    expect(findings.filter(isDrop)).toHaveLength(1);
    expect(findings.filter(({ accepted }) => accepted)).toEqual([]);
    expect(findings.map(({ check }) => check)).toContain('expired-accept');
  });
});

describe('fixes', () => {
  test('edits that do not collide are put in, in any order', () => {
    expect(
      edited('0123456789', [
        { start: 8, end: 10, text: 'Z' },
        { start: 2, end: 4, text: '' },
        { start: 5, end: 5, text: 'x' },
      ]),
    ).toBe('014x567Z');
  });

  const file = (name: string, text: string): Parameters<typeof applyFixes>[0][number] => ({
    path: path.join(root, name),
    text,
    isStandardInput: false,
    within: root,
  });
  const fix = (title: string, ...edits: [name: string, start: number, end: number, text: string][]): never =>
    ({
      finding: { check: title },
      fix: {
        title,
        safe: true,
        edits: edits.map(([name, offset, end, text]) => ({
          place: { uri: `file://${path.join(root, name)}`, offset, end },
          text,
        })),
      },
    }) as never;

  test('a fix that collides with an earlier one waits; one that leaves the files asked for is not applied', () => {
    const { files, applied } = applyFixes(
      [file('a.watt', 'aaaa'), file('b.watt', 'bbbb')],
      [
        fix('one', ['a.watt', 0, 2, 'X'], ['b.watt', 1, 1, '+']),
        fix('collides', ['a.watt', 1, 3, 'Y'], ['b.watt', 3, 4, 'Y']),
        fix('elsewhere', ['a.watt', 3, 4, 'Z'], ['c.watt', 0, 0, 'Z']),
        fix('two', ['a.watt', 2, 3, '-']),
      ],
    );
    expect(files.map(({ text }) => text)).toEqual(['X-a', 'b+bbb']);
    expect(applied.map((chosen) => chosen.fix.title)).toEqual(['one', 'two']);
  });

  test('what a fix writes ends its lines as the file does', () => {
    const { files } = applyFixes(
      [file('a.watt', 'one\r\ntwo\r\n'), file('b.watt', 'one\ntwo\n')],
      [fix('line', ['a.watt', 5, 5, 'new\n'], ['b.watt', 4, 4, 'new\r\n'])],
    );
    expect(files.map(({ text }) => text)).toEqual(['one\r\nnew\r\ntwo\r\n', 'one\nnew\ntwo\n']);
  });

  /** Findings as analysed, with every fix of misspelt names called safe, so that there is something to apply. */
  const namesAreSafe = (session: Session): readonly Finding[] =>
    session.documents
      .flatMap((document) => session.analyse(document, '2027-01-01').findings)
      .filter(({ check }) => check === 'unknown-name')
      .map((one) => ({ ...one, ways: one.ways.map((each) => ({ ...(each as Fix), safe: true })) }));

  const inFolder = (cwd: string): Parameters<typeof applyFixes>[0] =>
    filesIn(cwd).map((name) => ({ path: name, text: readFileSync(name, 'utf8'), isStandardInput: false, within: cwd }));

  test('safe fixes are written, said, and leave nothing to do', async () => {
    const cwd = temporaryFolder({ 'site.watt': MISSPELT, 'other.watt': 'design Other {}\n' });
    const first = await fixUntilSettled(inFolder(cwd), namesAreSafe);
    expect(first.fixed.map(({ check, title }) => [check, title])).toEqual([
      ['unknown-name', 'Change to `capacity`'],
      ['unknown-name', 'Change to `power`'],
    ]);
    const fixed = MISSPELT.replace('capasity', 'capacity').replace('powr', 'power');
    expect(readFileSync(path.join(cwd, 'site.watt'), 'utf8')).toBe(fixed);
    expect(readdirSync(cwd).sort()).toEqual(['other.watt', 'site.watt']);
    expect((await fixUntilSettled(inFolder(cwd), namesAreSafe)).fixed).toEqual([]);
    expect((await checkJson(['.'], { cwd })).findings.map(({ check }) => check)).not.toContain('unknown-name');
  });

  test('a fix that breaks the text is not written', async () => {
    const cwd = temporaryFolder({ 'site.watt': MISSPELT });
    const breaking = (session: Session): readonly Finding[] =>
      namesAreSafe(session).map((one) => ({
        ...one,
        ways: (one.ways as Fix[]).map((each) => ({
          ...each,
          edits: each.edits.map((edit) => ({ ...edit, text: '{{' })),
        })),
      }));
    expect((await fixUntilSettled(inFolder(cwd), breaking)).fixed).toEqual([]);
    expect(readFileSync(path.join(cwd, 'site.watt'), 'utf8')).toBe(MISSPELT);
  });

  test('fixes that undo each other come to an end', async () => {
    const cwd = temporaryFolder({ 'site.watt': 'design A {}\n' });
    let rounds = 0;
    const flipping = (session: Session): readonly Finding[] => {
      rounds += 1;
      const text = session.documents[0]!.textDocument.getText();
      const offset = text.indexOf('design ') + 7;
      const place = { uri: session.documents[0]!.uri.toString(), offset, end: offset + 1 };
      const edits = [{ place, text: text[offset] === 'A' ? 'B' : 'A' }];
      return [{ check: 'flip', ways: [{ title: 'Flip', safe: true, edits }] } as unknown as Finding];
    };
    const { fixed } = await fixUntilSettled(inFolder(cwd), flipping);
    expect(fixed).toHaveLength(rounds);
    expect(rounds).toBeLessThan(20);
  });

  test('--fix leaves alone what has no safe fix', async () => {
    const cwd = temporaryFolder({ 'site.watt': MISSPELT });
    const { findings, fixed } = await checkJson(['--fix'], { cwd });
    expect(findings.map(({ check }) => check)).toContain('unknown-name');
    expect(fixed).toBeUndefined();
    expect(readFileSync(path.join(cwd, 'site.watt'), 'utf8')).toBe(MISSPELT);
  });

  /** A part that nothing uses and a waiver that silences nothing; what stands between is kept as it is. */
  const LEFT_OVER = `part load Lamp40 { power: 40 W }

design Hut {
  load Lamp { power: 60 W }
  accept wrong-dimension on Lamp because "none left"
}
`;

  test('--fix takes away what nothing uses, and says what', async () => {
    const cwd = temporaryFolder({ 'site.watt': LEFT_OVER });
    const { findings, fixed } = await checkJson(['--fix'], { cwd });
    expect(fixed?.map(({ check, title }) => [check, title])).toEqual([
      ['unused-part', 'Remove part Lamp40'],
      ['unused-accept', 'Remove this waiver'],
    ]);
    expect(findings.map(({ check }) => check)).not.toContain('unused-part');
    expect(findings.map(({ check }) => check)).not.toContain('unused-accept');
    const text = readFileSync(path.join(cwd, 'site.watt'), 'utf8');
    expect(text.replace(/\s+/g, ' ').trim()).toBe('design Hut { load Lamp { power: 60 W } }');
  });

  test('--fix takes nothing away while something in the files is misspelt, since that may be what uses it', async () => {
    const misspelt = LEFT_OVER.replace('load Lamp {', 'load Lamp : Lamp4 {');
    const cwd = temporaryFolder({ 'site.watt': misspelt });
    const { fixed } = await checkJson(['--fix'], { cwd });
    expect(fixed).toBeUndefined();
    expect(readFileSync(path.join(cwd, 'site.watt'), 'utf8')).toBe(misspelt);
  });

  /** A device too large for its conductors, a load that 6 AWG carries, and a bank whose voltage no change of text makes right. */
  const OVERSIZED = `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse F1 { class: T   rating: 400 A }
  load Heater { power: 2 kW   supply: dc   voltage: 12 V }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: THHN   length: 2 m   conductors: 2   terminals: 75 degC }
}
`;

  test('--fix says that changes of the design are left, and --unsafe makes them', async () => {
    const cwd = temporaryFolder({ 'site.watt': OVERSIZED });
    const safe = await call(['check', '--fix'], { cwd });
    expect(safe.stdout).toContain('fix      Change rating of F1 to 70 A');
    expect(safe.stdout).toContain('Nothing was fixed.');
    expect(safe.stdout).toContain('`wattwright check --fix --unsafe` applies the preferred one of each');
    expect(readFileSync(path.join(cwd, 'site.watt'), 'utf8')).toBe(OVERSIZED);

    const { stdout, code } = await call(['check', '--fix', '--unsafe'], { cwd });
    expect(stdout).toContain('site.watt: Change rating of F1 to 70 A (run-protection)');
    expect(readFileSync(path.join(cwd, 'site.watt'), 'utf8')).toBe(OVERSIZED.replace('400 A', '70 A'));
    // What is left is listed with the reason.
    expect(stdout).toContain('tried    no setting, rating, class or size is known that removes this');
    expect(code).toBe((await checkJson(['.'], { cwd })).summary.errors === 0 ? 0 : 1);
  });

  test('--fixes says how many proposals are worked out', async () => {
    const cwd = temporaryFolder({ 'site.watt': OVERSIZED });
    const about = async (...args: string[]): Promise<unknown> => {
      const json = await checkJson(args, { cwd });
      expect(againstSchema('check', json)).toEqual([]);
      const found = json.findings.find(({ check }) => check === 'run-protection')!;
      return { fixes: found.fixes.map(({ title }) => title), fixesSought: found.fixesSought };
    };
    const sought = { fixes: ['Change rating of F1 to 70 A'], fixesSought: true };
    expect(await about('.')).toEqual(sought);
    expect(await about('--fixes', 'all', '.')).toEqual(sought);
    expect(await about('--fixes', 'none', '.')).toEqual({ fixes: [], fixesSought: false });
  });

  test('--unsafe alone is refused', async () => {
    const { code, stderr } = await call(['check', '--unsafe'], { cwd: temporaryFolder({ 'site.watt': OVERSIZED }) });
    expect(code).toBe(2);
    expect(stderr).toContain('--unsafe says how far --fix goes');
  });

  test('standard input cannot be fixed', async () => {
    const { code, stderr } = await call(['check', '--fix', '-'], { input: MISSPELT });
    expect(code).toBe(2);
    expect(stderr).toContain('name the file');
  });
});
