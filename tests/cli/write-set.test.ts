import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, readdirSync, renameSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { buildSync } from 'esbuild';
import { describe, expect, test, vi } from 'vitest';
import { writeAllWhole } from '../../server/src/cli/write-whole.js';
import { call, temporaryFolder } from './helpers/program.js';

/** Whether a file cannot take a place: nothing but a broken disk or another user keeps it from that once its text lies beside it. */
type Failing = (onto: string) => boolean;
const NEVER: Failing = () => false;

const SET = ['a.html', 'b.csv', 'c.csv', 'd.csv'];
const contents = (folder: string): Record<string, string> =>
  Object.fromEntries(readdirSync(folder).map((name) => [name, readFileSync(path.join(folder, name), 'utf8')]));
const written = (folder: string, fails = NEVER): Promise<void> =>
  writeAllWhole(new Map(SET.map((name) => [path.join(folder, name), `new ${name}`])), (from, to) => {
    if (fails(to)) throw Object.assign(new Error('no'), { code: 'EACCES' });
    renameSync(from, to);
  });

describe('files that belong together', () => {
  test('take their places together, over those of before and beside others', async () => {
    const folder = temporaryFolder({ 'a.html': 'old', 'c.csv': 'old', 'other.txt': 'of somebody else' });
    await written(folder);
    expect(contents(folder)).toEqual({
      ...Object.fromEntries(SET.map((name) => [name, `new ${name}`])),
      'other.txt': 'of somebody else',
    });
  });

  test.each(SET)('go back where %s cannot take its place, and nothing lies about', async (broken) => {
    const before = { 'a.html': 'old a', 'c.csv': 'old c', 'd.csv': 'old d' };
    const folder = temporaryFolder(before);
    let isFirst = true;
    const failing: Failing = (onto) => {
      const isBroken = isFirst && path.basename(onto) === broken;
      if (isBroken) isFirst = false;
      return isBroken;
    };
    await expect(written(folder, failing)).rejects.toThrow(
      new RegExp(`cannot write .*${broken}: permission was refused; all 4 files are as they were`),
    );
    expect(contents(folder)).toEqual(before);
  });

  test('are named where they cannot go back either', async () => {
    const folder = temporaryFolder({ 'a.html': 'old a', 'b.csv': 'old b' });
    let isBroken = false;
    const failing: Failing = (onto) => (isBroken ||= path.basename(onto) === 'c.csv');
    await expect(written(folder, failing)).rejects.toThrow(
      /cannot write .*c\.csv: .*; these are new already and could not be put back: .*b\.csv, .*a\.html/,
    );
  });

  test('are left where one of them is a folder, or leads to one', async () => {
    const folder = temporaryFolder({ 'a.html': 'old a' });
    mkdirSync(path.join(folder, 'c.csv'));
    await expect(written(folder)).rejects.toThrow(/cannot write .*c\.csv/);
    expect(readdirSync(folder).sort()).toEqual(['a.html', 'c.csv']);
    expect(readFileSync(path.join(folder, 'a.html'), 'utf8')).toBe('old a');
    symlinkSync('c.csv', path.join(folder, 'd.csv'));
    renameSync(path.join(folder, 'c.csv'), path.join(folder, 'elsewhere'));
    symlinkSync('elsewhere', path.join(folder, 'c.csv'));
    await expect(written(folder)).rejects.toThrow(/cannot write .*c\.csv/);
    expect(readFileSync(path.join(folder, 'a.html'), 'utf8')).toBe('old a');
  });

  test('what a killed call has left of before is swept as well', async () => {
    const folder = temporaryFolder({});
    writeFileSync(path.join(folder, '.a.html.2147483646.wattwright-old'), 'old');
    await written(folder);
    expect(readdirSync(folder).sort()).toEqual(SET);
  });
});

describe('a set whose writing is killed outright', () => {
  /** A program that writes the set and dies, as by a power cut, where its file of this number would take its place. */
  const killedAt = (folder: string, at: number): void => {
    const program = path.join(temporaryFolder({}), 'killed.mjs');
    const source = path.resolve(import.meta.dirname, '../../server/src/cli/write-whole.ts');
    const files = JSON.stringify(SET.map((name) => [path.join(folder, name), `new ${name}`]));
    buildSync({
      stdin: {
        contents: `import { renameSync } from 'node:fs';
import { writeAllWhole } from ${JSON.stringify(source)};
let placed = 0;
await writeAllWhole(new Map(${files}), (from, to) => {
  if (placed++ === ${at}) process.kill(process.pid, 'SIGKILL');
  renameSync(from, to);
});`,
        resolveDir: path.dirname(source),
      },
      bundle: true,
      platform: 'node',
      format: 'esm',
      outfile: program,
      logLevel: 'silent',
    });
    expect(spawnSync(process.execPath, [program]).signal).toBe('SIGKILL');
  };

  test.each([0, 1, 2, 3])('at file %i is completed by the next call that writes there, and reported', async (at) => {
    const folder = temporaryFolder({ 'a.html': 'old', 'c.csv': 'old', 'other.txt': 'of somebody else' });
    killedAt(folder, at);
    // Until then the folder holds both, and says so by its mark.
    const shown = contents(folder);
    expect(shown[SET[at]!]).not.toBe(`new ${SET[at]!}`);
    expect(Object.keys(shown).some((name) => name.endsWith('.wattwright-placing'))).toBe(true);

    const told: string[] = [];
    const spy = vi.spyOn(process.stderr, 'write').mockImplementation((text) => told.push(String(text)) > 0);
    await writeAllWhole(new Map([[path.join(folder, 'x.csv'), 'x']]));
    spy.mockRestore();
    expect(contents(folder)).toEqual({
      ...Object.fromEntries(SET.map((name) => [name, `new ${name}`])),
      'other.txt': 'of somebody else',
      'x.csv': 'x',
    });
    expect(told.join('')).toBe(
      `wattwright: a call before this one was killed while its files took their places; the rest of them are in place now: ${SET.slice(at).join(', ')}\n`,
    );
  });

  test('before its texts are whole leaves what was there', async () => {
    const folder = temporaryFolder({ 'a.html': 'old' });
    // Number of a process that no system gives.
    writeFileSync(path.join(folder, '.a.html.2147483646.wattwright-new'), 'hal');
    await writeAllWhole(new Map([[path.join(folder, 'x.csv'), 'x']]));
    expect(contents(folder)).toEqual({ 'a.html': 'old', 'x.csv': 'x' });
  });
});

/** Invented. */
const CABIN = `design Cabin {
  battery Bank { chemistry: lfp   voltage: 25.6 V   capacity: 100 Ah }
  load Lamp { power: 10 W   supply: dc }
  run Line: Bank -> Lamp { length: 1 m }
}
`;

describe('a hand-over set on a disk that takes no more', () => {
  // A program that may write no file above 8 KiB finds the same as one whose disk is full: the write ends in the middle.
  const limited = (cwd: string, ...args: string[]) =>
    call(['report', 'cabin.watt', '--no-pdf', ...args], { cwd, node: path.join(cwd, 'limited') });
  const withLimit = (texts: Readonly<Record<string, string>> = {}): string => {
    const cwd = temporaryFolder({ 'cabin.watt': CABIN, ...texts });
    writeFileSync(path.join(cwd, 'limited'), `#!/bin/sh\nulimit -f 16\nexec '${process.execPath}' "$@"\n`, {
      mode: 0o755,
    });
    return cwd;
  };

  test('leaves no folder where there was none', async () => {
    const cwd = withLimit();
    const { code, stderr } = await limited(cwd, '-o', 'set');
    expect(stderr).toMatch(/cannot write set\/Cabin\.html: .*; all \d+ files are as they were/);
    expect(code).toBe(2);
    expect(existsSync(path.join(cwd, 'set'))).toBe(false);
  });

  test('leaves the set of before', async () => {
    const cwd = withLimit();
    mkdirSync(path.join(cwd, 'set'));
    writeFileSync(path.join(cwd, 'set/Cabin.html'), 'old');
    writeFileSync(path.join(cwd, 'set/wires.csv'), 'old');
    expect((await limited(cwd, '-o', 'set')).code).toBe(2);
    expect(contents(path.join(cwd, 'set'))).toEqual({ 'Cabin.html': 'old', 'wires.csv': 'old' });
  });
});
