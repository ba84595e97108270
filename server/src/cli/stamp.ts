import type { Stamp } from '@wattwright/language';
import { execFile } from 'node:child_process';
import path from 'node:path';
import { promisify } from 'node:util';
import { VERSION } from '../version.js';
import { repositoryOf } from '../project/of-machine.js';

const run = promisify(execFile);
/** A repository that takes longer is stamped without its commit. */
const PATIENCE = 5000;

/** Asks git, which changes nothing and starts nothing that the repository names. Undefined where it cannot answer. */
async function git(folder: string, ...args: readonly string[]): Promise<string | undefined> {
  try {
    const { stdout } = await run(
      'git',
      ['-C', folder, '-c', 'core.fsmonitor=false', '-c', 'core.hooksPath=/dev/null', ...args],
      { timeout: PATIENCE, env: { ...process.env, GIT_OPTIONAL_LOCKS: '0' } },
    );
    return stdout.trim();
  } catch {
    return undefined;
  }
}

/** What a sheet is stamped with: the tool, and the commit that the files of the design stand in with its date. */
export async function stampOf(files: readonly string[]): Promise<Stamp> {
  const tool = `wattwright ${VERSION}`;
  const [first] = files;
  if (first === undefined || !repositoryOf(path.dirname(first))) return { tool };
  const folder = path.dirname(first);
  const last = await git(folder, 'log', '-1', '--format=%h %cs');
  const [commit, date] = last?.split(' ') ?? [];
  if (!commit || !date) return { tool };
  const changed = await git(folder, 'status', '--porcelain', '--', ...files);
  return { tool, commit, date, isChanged: changed !== '' };
}
