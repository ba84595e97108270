// Runs the same suite under a desktop VS Code, where there is one: VSCODE_EXECUTABLE=/path/to/code npm run test:editor:desktop
import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

const vscodeExecutablePath = process.env.VSCODE_EXECUTABLE;
if (!vscodeExecutablePath) {
  console.log(
    'DESKTOP EDITOR TESTS SKIPPED: VSCODE_EXECUTABLE does not name a desktop VS Code; the served editor ran the same suite.',
  );
  process.exit(0);
}
const { runTests } = await import('@vscode/test-electron');
const here = import.meta.dirname;
const temporary = mkdtempSync(path.join(tmpdir(), 'wattwright-desktop-'));
const workspace = path.join(temporary, 'workspace');
cpSync(path.join(here, 'workspace'), workspace, { recursive: true });
try {
  await runTests({
    vscodeExecutablePath,
    extensionDevelopmentPath: path.resolve(here, '../../extension'),
    extensionTestsPath: path.join(here, 'suite/index.cjs'),
    launchArgs: [
      workspace,
      '--disable-extensions',
      '--disable-workspace-trust',
      '--user-data-dir',
      path.join(temporary, 'user'),
    ],
  });
} catch (error) {
  console.error(`DESKTOP EDITOR TESTS FAILED: ${error instanceof Error ? error.message : error}`);
  process.exitCode = 1;
} finally {
  rmSync(temporary, { recursive: true, force: true, maxRetries: 5 });
}
