import { execFileSync, spawnSync } from 'node:child_process';
import {
  chmodSync,
  linkSync,
  mkdirSync,
  readFileSync,
  readdirSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { filesIn } from '../../server/src/cli/files.js';
import { writeWhole } from '../../server/src/cli/write-whole.js';
import { isReallyInside } from '../../server/src/files/inside.js';
import { Reach } from '../../server/src/files/reach.js';
import { call, temporaryFolder } from './helpers/program.js';
import { sunnyHut } from './helpers/sunny-hut.js';

const found = (folder: string, under = '.'): string[] =>
  filesIn(path.join(folder, under))
    .map((file) => path.relative(folder, file))
    .sort();

describe('walking folders', () => {
  test('ignored files and folders are left out, as git has it', () => {
    const folder = temporaryFolder({
      '.gitignore': 'build/\n*.draft.watt\n!keep.draft.watt\n/top.watt\n',
      'site.watt': '',
      'top.watt': '',
      'a.draft.watt': '',
      'keep.draft.watt': '',
      'build/out.watt': '',
      'deep/build/out.watt': '',
      'deep/top.watt': '',
      'deep/.gitignore': 'local.watt\n!b.draft.watt\n',
      'deep/local.watt': '',
      'deep/b.draft.watt': '',
      'node_modules/x/a.watt': '',
      '.hidden/a.watt': '',
      'notes.txt': '',
    });
    expect(found(folder)).toEqual(['deep/b.draft.watt', 'deep/top.watt', 'keep.draft.watt', 'site.watt']);
  });

  test('rules of the repository above count; a folder asked for by name counts more', () => {
    const folder = temporaryFolder({
      '.git/HEAD': '',
      '.gitignore': 'old/\nsecret.watt\n',
      'sites/a.watt': '',
      'sites/secret.watt': '',
      'old/a.watt': '',
    });
    expect(found(folder)).toEqual(['sites/a.watt']);
    expect(found(folder, 'sites')).toEqual(['sites/a.watt']);
    expect(found(folder, 'old')).toEqual(['old/a.watt']);
  });

  test('a loop of links ends', () => {
    const folder = temporaryFolder({ 'a/site.watt': '' });
    symlinkSync(folder, path.join(folder, 'a/again'));
    symlinkSync('nowhere.watt', path.join(folder, 'broken.watt'));
    expect(found(folder)).toEqual(['a/site.watt']);
  });

  test('a link that leads out of the folder is left out, and told', async () => {
    const folder = temporaryFolder({ 'in/site.watt': 'design Hut {}\n', 'out/other.watt': 'design Out {}\n' });
    symlinkSync('../out/other.watt', path.join(folder, 'in/link.watt'));
    symlinkSync('site.watt', path.join(folder, 'in/same.watt'));
    expect(found(path.join(folder, 'in'))).toEqual(['same.watt', 'site.watt']);
    const { stdout, stderr } = await call(['fmt', '--check', 'in'], { cwd: folder });
    expect({ stdout, stderr }).toEqual({
      stdout: '',
      stderr: 'wattwright: in/link.watt leads out of the folder that was named and is left out; name it to read it\n',
    });
    expect((await call(['check', 'in/link.watt'], { cwd: folder })).stdout).toContain('1 design in 1 file');
  });

  test('a pattern that the shell left alone is expanded', async () => {
    const cwd = temporaryFolder({ 'a/one.watt': 'design One {}\n', 'b/two.watt': 'design Two {}\n', 'b/n.txt': '' });
    const { code, stdout } = await call(['check', '**/*.watt', '--format', 'json'], { cwd });
    expect(code).toBe(0);
    expect(JSON.parse(stdout)).toMatchObject({ summary: { files: 2, designs: 2 } });
    expect((await call(['check', 'c/*.watt'], { cwd })).stderr).toContain('no .watt file matches c/*.watt');
  });

  test('a file named twice is read once', async () => {
    const cwd = temporaryFolder({ 'one.watt': 'design One {}\n' });
    const { stdout } = await call(['check', 'one.watt', './one.watt', '.', '--format', 'json'], { cwd });
    expect(JSON.parse(stdout)).toMatchObject({ summary: { files: 1 } });
  });
});

describe('what use may reach', () => {
  const setUp = (): { folder: string; at: (name: string) => string } => {
    const folder = temporaryFolder({
      'repo/.git/HEAD': '',
      'repo/sites/a.watt': '',
      'repo/parts/stock.watt': '',
      'other/b.watt': '',
    });
    return { folder, at: (name) => path.join(folder, name) };
  };

  test('a file reaches its own folder, not the repository around it', () => {
    const { at } = setUp();
    const reach = new Reach(at('other'), [at('repo/sites')]);
    expect(reach.allows(at('repo/sites/a.watt'), at('repo/sites/deep/c.watt'))).toBe(true);
    expect(reach.allows(at('repo/sites/a.watt'), at('repo/parts/stock.watt'))).toBe(false);
    expect(reach.folderToName(at('repo/parts/stock.watt'))).toBe('../repo/parts');
  });

  test('a file in the working folder reaches all of that; a file elsewhere does not', () => {
    const { at } = setUp();
    const reach = new Reach(at('repo'), [at('repo/sites'), at('other')]);
    expect(reach.allows(at('repo/sites/a.watt'), at('repo/parts/stock.watt'))).toBe(true);
    expect(reach.allows(at('other/b.watt'), at('repo/parts/stock.watt'))).toBe(false);
  });

  test('what was named is reached from everywhere', () => {
    const { at } = setUp();
    const reach = new Reach(at('repo'), [at('other'), at('repo/parts')]);
    expect(reach.allows(at('other/b.watt'), at('repo/parts/stock.watt'))).toBe(true);
    expect(reach.folderToName(at('repo/x.watt'))).toBe('.');
  });

  test('a link that leads outside is outside, one that leads nowhere or within is not', () => {
    const { at } = setUp();
    symlinkSync('../parts/stock.watt', at('repo/sites/link.watt'));
    symlinkSync('a.watt', at('repo/sites/again.watt'));
    symlinkSync('../parts', at('repo/sites/folder'));
    const reach = new Reach(at('other'), [at('repo/sites')]);
    const allows = (name: string): boolean => reach.allows(at('repo/sites/a.watt'), at(`repo/sites/${name}`));
    expect(['link.watt', 'folder/stock.watt', 'again.watt', 'missing.watt'].map(allows)).toEqual([
      false,
      false,
      true,
      true,
    ]);
  });

  const files = {
    'repo/.git/HEAD': '',
    'repo/parts/stock.watt': 'part load Lamp { power: 40 W }\n',
    'repo/sites/hut.watt': 'use "../parts/stock.watt"\ndesign Hut { load L : Lamp }\n',
  };
  const checked = async (
    args: readonly string[],
    cwd: string,
  ): Promise<{ check: string; message: string; advice?: string }[]> => {
    const { stdout } = await call(['check', '--format', 'json', ...args], { cwd });
    return (JSON.parse(stdout) as { findings: { check: string; message: string; advice?: string }[] }).findings.filter(
      ({ check }) => check === 'import-outside' || check === 'unknown-name',
    );
  };

  test('a design is checked from the folder that holds all it uses, or with that folder named', async () => {
    const folder = temporaryFolder(files);
    const sites = path.join(folder, 'repo/sites');
    expect(await checked(['sites/hut.watt'], path.join(folder, 'repo'))).toEqual([]);
    expect(await checked(['hut.watt', '../parts'], sites)).toEqual([]);
    expect(await checked([path.join(folder, 'repo')], '/')).toEqual([]);
  });

  test('beyond what was named the finding says which folder to name', async () => {
    const folder = temporaryFolder(files);
    const found = await checked(['hut.watt'], path.join(folder, 'repo/sites'));
    expect(found.map(({ check }) => check)).toContain('import-outside');
    expect(found[0]!.message).toContain('`../parts/stock.watt` lies outside the folders that may be read');
    expect(found[0]!.advice).toContain('Name `../parts` on the command line as well');
  });

  test('weather beyond what was named is refused with the folder to name', async () => {
    const folder = temporaryFolder({
      'sun.csv': 'time,irradiance,temperature\n',
      'site/hut.watt': sunnyHut('../sun.csv'),
    });
    const { stdout } = await call(['simulate', 'hut.watt'], { cwd: path.join(folder, 'site') });
    expect(stdout.replace(/\s+/g, ' ')).toContain(
      'lies outside the folders that may be read. Name `..` on the command line',
    );
  });
});

describe('links', () => {
  test('a link that leads outside is outside', () => {
    const folder = temporaryFolder({ 'outside/parts.watt': '', 'inside/own.watt': '' });
    symlinkSync('../outside/parts.watt', path.join(folder, 'inside/link.watt'));
    const inside = path.join(folder, 'inside');
    expect(isReallyInside(inside, path.join(inside, 'own.watt'))).toBe(true);
    expect(isReallyInside(inside, path.join(inside, 'link.watt'))).toBe(false);
    expect(isReallyInside(inside, path.join(folder, 'outside/parts.watt'))).toBe(false);
  });

  test('what cannot be followed to its end lies nowhere', () => {
    const folder = temporaryFolder({ 'own.watt': '' });
    symlinkSync('around.watt', path.join(folder, 'again.watt'));
    symlinkSync('again.watt', path.join(folder, 'around.watt'));
    symlinkSync('nowhere.watt', path.join(folder, 'broken.watt'));
    for (const name of ['again.watt', 'broken.watt', 'missing.watt', 'own.watt/deeper.watt'])
      expect(isReallyInside(folder, path.join(folder, name)), name).toBe(false);
    expect(isReallyInside(path.join(folder, 'missing'), path.join(folder, 'missing/own.watt'))).toBe(false);
  });

  test('a part behind a link that leads outside is not drawn in', async () => {
    const folder = temporaryFolder({
      'outside/parts.watt': 'part load Lamp { power: 40 W }\n',
      'inside/site.watt': 'use "parts.watt"\ndesign Hut { load L : Lamp }\n',
    });
    symlinkSync('../outside/parts.watt', path.join(folder, 'inside/parts.watt'));
    const { stdout } = await call(['check', 'site.watt', '--format', 'json'], { cwd: path.join(folder, 'inside') });
    expect(JSON.parse(stdout).findings.map(({ check }: { check: string }) => check)).toContain('unknown-name');
  });
});

describe('writing', () => {
  test('a file is replaced whole, keeps its mode and leaves nothing beside it', async () => {
    const folder = temporaryFolder({ 'a.watt': 'old' });
    const file = path.join(folder, 'a.watt');
    chmodSync(file, 0o640);
    await writeWhole(file, 'new');
    expect(readFileSync(file, 'utf8')).toBe('new');
    expect(statSync(file).mode & 0o777).toBe(0o640);
    expect(readdirSync(folder)).toEqual(['a.watt']);
  });

  test('a link stays a link', async () => {
    const folder = temporaryFolder({ 'real.watt': 'old' });
    symlinkSync('real.watt', path.join(folder, 'link.watt'));
    await writeWhole(path.join(folder, 'link.watt'), 'new');
    expect(readFileSync(path.join(folder, 'real.watt'), 'utf8')).toBe('new');
    expect(readdirSync(folder).sort()).toEqual(['link.watt', 'real.watt']);
  });

  test('a file with other names keeps its text under those, and that is told', async () => {
    const cwd = temporaryFolder({ 'a.watt': 'design   Hut {}\n' });
    linkSync(path.join(cwd, 'a.watt'), path.join(cwd, 'b.txt'));
    const { code, stderr } = await call(['fmt', 'a.watt'], { cwd });
    expect(code).toBe(0);
    expect(stderr).toBe('wattwright: a.watt had another name (a hard link), which keeps the text of before\n');
    expect(readFileSync(path.join(cwd, 'a.watt'), 'utf8')).toBe('design Hut {}\n');
    expect(readFileSync(path.join(cwd, 'b.txt'), 'utf8')).toBe('design   Hut {}\n');
  });

  test('what a killed call has left is swept by the next one that writes there; what a running one writes stays', async () => {
    const folder = temporaryFolder({ 'a.watt': 'old' });
    const killed = spawnSync(process.execPath, ['-e', '']).pid;
    writeFileSync(path.join(folder, `.b.watt.${killed}.wattwright-new`), 'half');
    writeFileSync(path.join(folder, `.c.watt.${process.pid}.wattwright-new`), 'half');
    writeFileSync(path.join(folder, '.other.1.new'), 'of somebody else');
    await writeWhole(path.join(folder, 'a.watt'), 'new');
    expect(readdirSync(folder).sort()).toEqual([`.c.watt.${process.pid}.wattwright-new`, '.other.1.new', 'a.watt']);
  });

  test('a device is written to and stays one; a named pipe is refused and nobody waits', async () => {
    const folder = temporaryFolder();
    await expect(writeWhole('/dev/null', 'new')).resolves.toBeUndefined();
    expect(statSync('/dev/null').isCharacterDevice()).toBe(true);
    const pipe = path.join(folder, 'pipe.csv');
    execFileSync('mkfifo', [pipe]);
    await expect(writeWhole(pipe, 'new')).rejects.toThrow('it is a named pipe; name a regular file');
    expect(statSync(pipe).isFIFO()).toBe(true);
  });

  test('what cannot be written is told and stays as it was', async () => {
    const folder = temporaryFolder();
    mkdirSync(path.join(folder, 'a.watt'));
    writeFileSync(path.join(folder, 'a.watt/inner'), '');
    await expect(writeWhole(path.join(folder, 'a.watt'), 'new')).rejects.toThrow(/cannot write .*a\.watt/);
    expect(readdirSync(folder)).toEqual(['a.watt']);
  });
});
