import path from 'node:path';
import { vi } from 'vitest';
import { run } from '../../../server/src/cli/program.js';
import { type Outcome } from './program.js';

/**
 * Runs one call within this process, as if in a folder: for calls of which there are many, since each process of its own takes most of its
 * time to start. Names of files must be relative.
 */
export async function callHere(args: readonly string[], cwd: string): Promise<Outcome> {
  let [stdout, stderr] = ['', ''];
  const out = vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
    stdout += String(text);
    return true;
  });
  const err = vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
    stderr += String(text);
    return true;
  });
  const folder = vi.spyOn(process, 'cwd').mockReturnValue(cwd);
  const resolve = path.resolve;
  const resolved = vi.spyOn(path, 'resolve').mockImplementation((...parts) => resolve(cwd, ...parts));
  try {
    return { code: await run(args), stdout, stderr };
  } finally {
    for (const spy of [out, err, folder, resolved]) spy.mockRestore();
  }
}
