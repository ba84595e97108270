import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { CABIN_PARTS, ScratchRepository, cabin } from '../helpers/scratch-repository.js';
import { call, temporaryFolder } from './helpers/program.js';
import { againstSchema } from './helpers/schemas.js';

interface Report {
  readonly findings: readonly { readonly check: string; readonly file: string; readonly subject: string }[];
  readonly summary: { readonly designs: number; readonly files: number; readonly errors: number };
}

async function report(cwd: string, ...args: readonly string[]): Promise<{ code: number | null; found: Report }> {
  const { code, stdout, stderr } = await call(['check', '--format', 'json', '--fixes', 'none', ...args], { cwd });
  expect(stderr).toBe('');
  const found = JSON.parse(stdout) as Report;
  expect(againstSchema('check', found)).toEqual([]);
  return { code, found };
}

const refused = async (cwd: string, ...args: readonly string[]): Promise<string> => {
  const { code, stdout, stderr } = await call(['check', '--fixes', 'none', ...args], { cwd });
  expect([code, stdout]).toEqual([2, '']);
  expect(stderr.trim().split('\n')).toHaveLength(1);
  return stderr;
};

/** Its inverter is too large for fuse and terminals: two errors. */
const TOO_LARGE = { inverter: 'CabinInverter3k' };
const second = (facts = {}): string => cabin(facts).replace('design Cabin', 'design Second');

const checksOf = ({ findings }: Report): string[] => findings.map(({ check, subject }) => `${check} ${subject}`);

describe('only what is new since a revision', () => {
  test('what was there before is left out, whatever line it stands in now and whatever its file is called', async () => {
    const repository = ScratchRepository.create();
    repository.commit('One', { 'cabin.watt': cabin(TOO_LARGE), 'parts.watt': CABIN_PARTS });
    const before = (await report(repository.folder)).found;
    expect(before.summary.errors).toBeGreaterThan(0);
    expect(await report(repository.folder, '--baseline', 'HEAD')).toMatchObject({ code: 0, found: { findings: [] } });
    repository.write({
      'cabin.watt': undefined,
      'site/cabin.watt': `\n\n\n${cabin(TOO_LARGE)}`,
      'site/parts.watt': CABIN_PARTS,
    });
    expect((await report(repository.folder, '--baseline', 'HEAD')).found.findings).toEqual([]);
    // What is new is told, and alone decides the exit code.
    repository.write({ 'site/cabin.watt': cabin({ ...TOO_LARGE, length: '60 m' }) });
    const { code, found } = await report(repository.folder, '--baseline', 'HEAD');
    expect(checksOf(found)).toContain('voltage-drop Cabin.Feed');
    expect(checksOf(found)).not.toContain('protection-continuous Cabin.F1');
    expect(code).toBe(found.summary.errors > 0 ? 1 : 0);
  });

  test('a finding that was mended and comes back is new again; a second one of a kind is told apart', async () => {
    const repository = ScratchRepository.create();
    repository.commit('Faulty', { 'cabin.watt': cabin(TOO_LARGE), 'parts.watt': CABIN_PARTS });
    repository.commit('Mended', { 'cabin.watt': cabin() });
    repository.commit('Faulty again, and another', {
      'cabin.watt': cabin(TOO_LARGE),
      'second.watt': second(TOO_LARGE),
    });
    const mended = checksOf((await report(repository.folder, '--baseline', 'HEAD~1')).found);
    expect(mended).toContain('terminal-temperature Cabin.Feed');
    const since = checksOf((await report(repository.folder, '--baseline', 'HEAD~2')).found);
    expect(since).toContain('terminal-temperature Second.Feed');
    expect(since).not.toContain('terminal-temperature Cabin.Feed');
  });

  test('no repository, no commit, no such revision, a bare repository and a shallow clone are told in one line', async () => {
    const files = { 'cabin.watt': cabin(), 'parts.watt': CABIN_PARTS };
    for (const option of ['--baseline', '--changed']) {
      expect(await refused(temporaryFolder(files), option, 'HEAD')).toContain('in no git repository');
      const repository = ScratchRepository.create();
      repository.write(files);
      expect(await refused(repository.folder, option, 'HEAD')).toContain('no commit yet');
      repository.commit('One');
      repository.commit('Two', { 'cabin.watt': cabin({ length: '3 m' }) });
      expect(await refused(repository.folder, option, 'nosuch')).toContain('there is no revision nosuch');
      expect(await refused(repository.folder, option, '--upload-pack=touch stolen')).toContain('there is no revision');
      const clone = path.join(temporaryFolder(), 'clone');
      repository.git('clone', '--quiet', '--depth', '1', `file://${repository.folder}`, clone);
      expect(await refused(clone, option, 'HEAD~1')).toContain('the clone is shallow');
    }
  });
});

describe('only what a change can touch', () => {
  const FILES = {
    'one/cabin.watt': cabin(),
    'one/parts.watt': CABIN_PARTS,
    'two/second.watt': second(),
    'two/parts.watt': CABIN_PARTS,
  };
  const designs = async (repository: ScratchRepository, revision: string): Promise<number> =>
    (await report(repository.folder, '--changed', revision)).found.summary.designs;

  test('follows what is drawn in; a move, and a change on the other branch of a merge, touch nothing', async () => {
    const repository = ScratchRepository.create();
    repository.commit('One', FILES);
    expect(await designs(repository, 'HEAD')).toBe(0);
    repository.write({ 'two/parts.watt': CABIN_PARTS.replace('efficiency: 90 %', 'efficiency: 85 %') });
    expect(await designs(repository, 'HEAD')).toBe(1);
    repository.write({
      'two/parts.watt': CABIN_PARTS,
      'one/cabin.watt': undefined,
      'three/cabin.watt': cabin(),
      'three/parts.watt': CABIN_PARTS,
    });
    expect(await designs(repository, 'HEAD')).toBe(0);
    repository.write({ 'three/cabin.watt': undefined, 'three/parts.watt': undefined, 'one/cabin.watt': cabin() });
    repository.git('checkout', '--quiet', '-b', 'other');
    repository.commit('On the other branch', { 'two/second.watt': second({ length: '3 m' }) });
    repository.git('checkout', '--quiet', 'main');
    repository.commit('On main', { 'one/cabin.watt': cabin({ length: '4 m' }) });
    repository.git('merge', '--quiet', '--no-edit', 'other');
    expect(await designs(repository, 'HEAD^1')).toBe(1);
    expect(await designs(repository, 'HEAD~1^1')).toBe(2);
  });

  test('the project file touches all that it governs', async () => {
    const repository = ScratchRepository.create();
    repository.commit('One', FILES);
    repository.write({ 'two/wattwright.json': '{ "severity": { "voltage-drop": "error" } }' });
    expect(await designs(repository, 'HEAD')).toBe(1);
    repository.write({ 'wattwright.json': '{}' });
    expect(await designs(repository, 'HEAD')).toBe(2);
  });

  test('names of files that mean something to shells, forges and terminals are names', async () => {
    const repository = ScratchRepository.create();
    repository.commit('One', FILES);
    const names = [
      '-rf.watt',
      '$(touch stolen).watt',
      'a\n::error::b.watt',
      '\u001b[31mred.watt',
      'größe 𐐀 "x".watt',
      ':(top)x.watt',
    ];
    repository.write(
      Object.fromEntries(names.map((name, nth) => [`one/${name}`, second().replace('Second', `Odd${nth}`)])),
    );
    expect(await designs(repository, 'HEAD')).toBe(names.length);
    repository.commit('Two');
    expect(await designs(repository, 'HEAD')).toBe(0);
    const { stdout } = await call(['check', '--changed', 'HEAD~1', '--format', 'github', '--fixes', 'none'], {
      cwd: repository.folder,
    });
    expect(stdout).not.toContain('\u001b');
    const token = /^::stop-commands::(\w+)$/m.exec(stdout)![1]!;
    for (const line of stdout.split(`::${token}::`)[1]!.split('\n').filter(Boolean))
      expect(line).toMatch(/^::(error|warning|notice) /);
  });
});

describe('parts of a check', () => {
  const files = Object.fromEntries(
    Array.from({ length: 7 }, (_, nth) => [
      `site${nth}.watt`,
      cabin(nth % 2 ? TOO_LARGE : {}).replace('design Cabin', `design Site${nth}`),
    ]),
  );

  test('hold every file once, whatever their number, and come together to the same report in any order', async () => {
    const cwd = temporaryFolder({ ...files, 'parts.watt': CABIN_PARTS });
    const whole = await call(['check', '--format', 'json', '--fixes', 'none'], { cwd });
    for (const of of [1, 3, 9]) {
      const parts: string[] = [];
      for (let nth = 1; nth <= of; nth += 1) {
        const { code, stdout } = await call(
          ['check', '--format', 'json', '--fixes', 'none', '--exit-zero', '--shard', `${nth}/${of}`],
          { cwd },
        );
        expect(code).toBe(0);
        parts.unshift(`part-${nth}-of-${of}.json`);
        writeFileSync(path.join(cwd, parts[0]!), stdout);
      }
      const merged = await call(['merge', ...parts], { cwd });
      expect(merged.code).toBe(whole.code);
      expect(JSON.parse(merged.stdout)).toEqual(JSON.parse(whole.stdout));
    }
  });

  test.each(['0/3', '4/3', '3', '1/0', '-1/3', 'a/b', '1/99999'])('%s is no part', async (shard) => {
    expect(await refused(temporaryFolder(files), '--shard', shard)).toContain('--shard needs a part of all');
  });

  test('a report that is none, or of another format, is refused and nothing is written', async () => {
    const cwd = temporaryFolder({ ...files, 'parts.watt': CABIN_PARTS, 'bad.json': '{', 'other.json': '{"a":1}' });
    for (const file of ['bad.json', 'other.json', 'nosuch.json']) {
      const { code, stderr } = await call(['merge', file, '-o', 'all.json'], { cwd });
      expect([code, stderr.trim().split('\n').length]).toEqual([2, 1]);
    }
  });
});

test('with --exit-zero findings end with 0, and what cannot be used still ends with 2', async () => {
  const cwd = temporaryFolder({ 'cabin.watt': cabin(TOO_LARGE), 'parts.watt': CABIN_PARTS });
  expect((await report(cwd)).code).toBe(1);
  const { code, found } = await report(cwd, '--exit-zero');
  expect([code, found.summary.errors > 0]).toEqual([0, true]);
  expect(await refused(cwd, '--exit-zero', 'nosuch.watt')).toContain('nosuch.watt');
});
