import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

/** A folder for the whole run, for what several test files need and is made once in each process. Runs before all tests. */
export default function setup(): () => void {
  const folder = mkdtempSync(path.join(tmpdir(), 'wattwright-run-'));
  process.env.WATTWRIGHT_TEST_RUN = folder;
  return () => rmSync(folder, { recursive: true, force: true, maxRetries: 3 });
}
