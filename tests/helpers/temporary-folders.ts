import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

const folders = new Set<string>();

/** A folder of its own with some files in it, deleted when the tests of the file are over (clean-up.ts). */
export function temporaryFolder(files: Readonly<Record<string, string>> = {}): string {
  const folder = mkdtempSync(path.join(tmpdir(), 'wattwright-test-'));
  folders.add(folder);
  for (const [name, text] of Object.entries(files)) {
    mkdirSync(path.dirname(path.join(folder, name)), { recursive: true });
    writeFileSync(path.join(folder, name), text);
  }
  return folder;
}

export function deleteTemporaryFolders(): void {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true, maxRetries: 3 });
  folders.clear();
}

/** A folder that outlives the test file, for programs that a process bundles once: deleted when all tests are over (shared-folder.ts). */
export function sharedFolder(): string {
  const all = process.env.WATTWRIGHT_TEST_RUN;
  return all === undefined ? temporaryFolder() : mkdtempSync(path.join(all, 'program-'));
}
