import { build } from 'esbuild';
import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { commandLineBundle } from '../../server/build/command-line-bundle.mjs';
import { billOfMaterials, bundledPackages, licencesText } from '../../server/build/bundled-packages.mjs';
import { call, root, temporaryFolder } from './helpers/program.js';

/** Licences that may be passed on inside the bundle with their text. */
const ALLOWED = ['Apache-2.0', 'BSD-2-Clause', 'BSD-3-Clause', 'EPL-2.0', 'ISC', 'MIT'];

test('what is bundled is listed with its licence, and the bill of materials holds just that', async () => {
  const folder = temporaryFolder();
  const result = await build({ ...commandLineBundle(root), outdir: folder });
  const packages = bundledPackages([result]);
  expect(packages.length).toBeGreaterThan(10);
  expect(packages.filter(({ license }) => !license.split(' OR ').some((each) => ALLOWED.includes(each)))).toEqual([]);
  const licences = licencesText(packages);
  expect(licences).not.toContain('The package carries no licence text.');
  const { packages: locked } = JSON.parse(readFileSync(path.join(root, 'package-lock.json'), 'utf8')) as {
    packages: Record<string, { integrity?: string }>;
  };
  const bill = billOfMaterials(packages, { name: 'wattwright', version: '0.1.0', license: 'Apache-2.0' }, locked);
  expect(bill.components.map(({ name }) => name)).toEqual(packages.map(({ name }) => name));
  // The lock file says a hash of what came from a registry; what it says none of has none here either.
  for (const [index, { hashes }] of bill.components.entries()) {
    const isHashed = locked[packages[index]!.folder]?.integrity !== undefined;
    expect(hashes?.[0]?.content ?? '').toMatch(isHashed ? /^[0-9a-f]{128}$/ : /^$/);
  }
  expect(bill.components.filter(({ hashes }) => hashes).length).toBeGreaterThan(10);
});

describe('completions and man page', () => {
  test('bash reads the script, and completes formats, checks and design files', async () => {
    const { stdout } = await call(['completion', 'bash']);
    const folder = temporaryFolder({ 'a.watt': '', 'b.txt': '' });
    const script = path.join(folder, 'completion.bash');
    writeFileSync(script, stdout);
    const completed = (...words: string[]): string =>
      spawnSync(
        'bash',
        [
          '--noprofile',
          '--norc',
          '-c',
          'source "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _wattwright; echo "${COMPREPLY[@]}"',
          'bash',
          script,
          'wattwright',
          ...words,
        ],
        { cwd: folder, encoding: 'utf8' },
      ).stdout.trim();
    expect(completed('che')).toBe('check');
    expect(completed('check', '--format', 's')).toBe('sarif');
    expect(completed('explain', 'run-amp')).toBe('run-ampacity');
    expect(completed('check', '')).toBe('a.watt');
  });

  test('the man page names every command, and no line of it is a request of roff by chance', async () => {
    const { stdout } = await call(['man-page']);
    for (const command of ['check', 'diff', 'merge']) expect(stdout).toMatch(new RegExp(`^\\.SS ${command}$`, 'm'));
    const requests = [...stdout.matchAll(/^[.'](\S*)/gm)].map(([, request]) => request);
    expect(new Set(requests)).toEqual(new Set(['TH', 'SH', 'SS', 'PP', 'TP', 'B', 'I']));
  });
});

test('parts of a check, put together, are the whole', async () => {
  const design = (name: string): string =>
    `use "parts.watt"\ndesign ${name} {\n  battery Bank : Lfp24V100Ah\n  load Lamp : InventedLamp\n  run Feed: Bank -> Lamp { size: 1.5 mm2   length: 12 m   type: H07V-K }\n}\n`;
  const cwd = temporaryFolder({
    'parts.watt': 'part load InventedLamp { power: 400 W   supply: dc }\n',
    'a.watt': design('A'),
    'b.watt': design('B'),
  });
  const whole = await call(['check', '--format', 'json', '--fixes', 'none'], { cwd });
  for (const nth of [1, 2]) {
    const { code } = await call(
      [
        'check',
        '--format',
        'json',
        '--fixes',
        'none',
        '--exit-zero',
        '--shard',
        `${nth}/2`,
        '--output',
        `sarif:${nth}.sarif`,
      ],
      { cwd },
    ).then((part) => {
      writeFileSync(path.join(cwd, `${nth}.json`), part.stdout);
      return part;
    });
    expect(code).toBe(0);
  }
  const merged = await call(['merge', '1.json', '2.json'], { cwd });
  expect(merged.code).toBe(whole.code);
  expect((JSON.parse(merged.stdout) as { summary: object }).summary).toEqual(
    (JSON.parse(whole.stdout) as { summary: object }).summary,
  );
  expect((await call(['merge', '1.json', '2.sarif'], { cwd })).stderr).toContain('merge reports of one format');
});
