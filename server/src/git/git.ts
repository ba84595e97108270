import { spawnSync } from 'node:child_process';
import { CallError } from '../cli/call-error.js';

/** The most that one answer of git may hold, in bytes. */
const MOST = 1_000_000_000;

/** What git is told each time: no pager, no colour, plain English, nothing fetched, nothing locked, no program of the repository's own. */
const ENVIRONMENT = {
  LC_ALL: 'C',
  GIT_PAGER: 'cat',
  GIT_TERMINAL_PROMPT: '0',
  GIT_OPTIONAL_LOCKS: '0',
  GIT_NO_LAZY_FETCH: '1',
} as const;

const SETTINGS = ['--no-pager', '-c', 'core.fsmonitor=false', '-c', 'color.ui=false'] as const;

export interface Answer {
  readonly isOk: boolean;
  readonly output: Buffer;
  /** The first line of what git complains of. */
  readonly complaint: string;
}

/** Runs git in a folder and waits for it. It is never given a shell, so that no name can be more than a name. */
export function git(folder: string, args: readonly string[], input?: string): Answer {
  const result = spawnSync('git', [...SETTINGS, ...args], {
    cwd: folder,
    env: { ...process.env, ...ENVIRONMENT },
    maxBuffer: MOST,
    ...(input === undefined ? {} : { input }),
  });
  if (result.error) {
    const { code } = result.error as NodeJS.ErrnoException;
    if (code === 'ENOENT')
      throw new CallError('git was not found; install it, or put it in PATH, to compare revisions');
    throw new CallError(`git could not be run: ${result.error.message}`);
  }
  const complaint = result.stderr.toString('utf8').split('\n')[0]!.trim();
  return { isOk: result.status === 0, output: result.stdout, complaint };
}

/** The answer of git as one line; undefined where it has none. */
export function gitLine(folder: string, ...args: readonly string[]): string | undefined {
  const { isOk, output } = git(folder, args);
  return isOk ? output.toString('utf8').replace(/\n$/, '') : undefined;
}
