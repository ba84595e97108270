import { build } from 'esbuild';
import { spawn } from 'node:child_process';
import path from 'node:path';
import { commandLineBundle } from '../../../server/build/command-line-bundle.mjs';
import { sharedFolder, temporaryFolder } from '../../helpers/temporary-folders.js';

export const root = path.resolve(import.meta.dirname, '../../..');

let bundled: Promise<string> | undefined;

/** The command line bundled as it ships, from today's source; made once in each process. */
export function programFile(): Promise<string> {
  bundled ??= (async () => {
    const outdir = sharedFolder();
    await build({ ...commandLineBundle(root), outdir });
    return path.join(outdir, 'wattwright.mjs');
  })();
  return bundled;
}

export { temporaryFolder };

export interface Outcome {
  readonly code: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

export interface CallOptions {
  readonly cwd?: string;
  readonly input?: string | Buffer;
  readonly environment?: Readonly<Record<string, string>>;
  /** Another Node than the one that runs the tests. */
  readonly node?: string;
}

/** Runs the bundled program as a process of its own, without colour and with a fixed day unless told otherwise. */
export async function call(args: readonly string[], options: CallOptions = {}): Promise<Outcome> {
  const program = await programFile();
  const { COLUMNS: _columns, NO_COLOR: _noColor, FORCE_COLOR: _forceColor, ...inherited } = process.env;
  const child = spawn(options.node ?? process.execPath, [program, ...args], {
    cwd: options.cwd ?? root,
    env: { ...inherited, SOURCE_DATE_EPOCH: '1796000000', ...options.environment },
  });
  let [stdout, stderr] = ['', ''];
  child.stdout.setEncoding('utf8').on('data', (text: string) => (stdout += text));
  child.stderr.setEncoding('utf8').on('data', (text: string) => (stderr += text));
  // A program that ends before it has read everything closes the pipe.
  child.stdin.on('error', () => undefined);
  child.stdin.end(options.input ?? '');
  return new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('close', (code) => resolve({ code, stdout, stderr }));
  });
}
