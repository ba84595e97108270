import { chmodSync, mkdirSync, readFileSync, readdirSync, statSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { filesIn, isReallyInside, workspaceOf, writeWhole } from '../../server/src/cli/files.js';
import { call, temporaryFolder } from './helpers/program.js';

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

describe('the folder that use must not leave', () => {
  test('it is the repository, else the working folder, else the folder of the file', () => {
    const folder = temporaryFolder({ 'repo/.git/HEAD': '', 'repo/a/b.watt': '', 'plain/a/b.watt': '' });
    expect(workspaceOf(path.join(folder, 'repo/a/b.watt'), '/')).toBe(path.join(folder, 'repo'));
    expect(workspaceOf(path.join(folder, 'plain/a/b.watt'), path.join(folder, 'plain'))).toBe(
      path.join(folder, 'plain'),
    );
    expect(workspaceOf(path.join(folder, 'plain/a/b.watt'), path.join(folder, 'repo'))).toBe(
      path.join(folder, 'plain/a'),
    );
  });

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

  test('what cannot be written is told and stays as it was', async () => {
    const folder = temporaryFolder();
    mkdirSync(path.join(folder, 'a.watt'));
    writeFileSync(path.join(folder, 'a.watt/inner'), '');
    await expect(writeWhole(path.join(folder, 'a.watt'), 'new')).rejects.toThrow(/cannot write .*a\.watt/);
    expect(readdirSync(folder)).toEqual(['a.watt']);
  });
});
