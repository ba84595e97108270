import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { CABIN_PARTS, ScratchRepository, cabin, growingCabin } from '../helpers/scratch-repository.js';
import { call, temporaryFolder } from './helpers/program.js';

describe('what cannot be compared is told in one line', () => {
  const refused = async (folder: string, ...args: string[]): Promise<string> => {
    const { code, stdout, stderr } = await call(['diff', ...args], { cwd: folder });
    expect([code, stdout]).toEqual([2, '']);
    expect(stderr.trim().split('\n')).toHaveLength(1);
    return stderr;
  };

  test('no repository, no commit, no such revision, a path in place of one, a path outside', async () => {
    expect(await refused(temporaryFolder())).toContain('in no git repository');
    const repository = ScratchRepository.create();
    expect(await refused(repository.folder)).toContain('no commit yet');
    repository.commit('One', { 'cabin.watt': cabin(), 'parts.watt': CABIN_PARTS });
    expect(await refused(repository.folder, 'nosuch')).toContain('there is no revision nosuch');
    expect(await refused(repository.folder, 'cabin.watt')).toContain('write `--` before paths');
    expect(await refused(repository.folder, 'HEAD', '--', '../elsewhere.watt')).toContain('on either side');
    expect(await refused(repository.folder, '--', '')).toContain('path');
  });

  test('a revision that looks like an option reaches git as a name', async () => {
    const repository = ScratchRepository.create();
    repository.commit('One', { 'cabin.watt': cabin() });
    expect(await refused(repository.folder, 'HEAD', '--output=stolen')).toContain('unknown option');
    expect(await refused(repository.folder, ':/--exec=x')).toContain('there is no revision');
  });

  test('a shallow clone says what to fetch', async () => {
    const { repository, commits } = growingCabin();
    const clone = path.join(temporaryFolder(), 'clone');
    repository.git('clone', '--quiet', '--depth', '1', `file://${repository.folder}`, clone);
    expect(await refused(clone, commits[0]!)).toContain('the clone is shallow');
  });
});
