// `npm test`: installs what is missing, then builds, lints, type-checks, runs every suite, packs the extension and tries it
// in a real editor. The last line is "N passed, N failed" over all of it; a step such as the build counts as one.
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import path from 'node:path';
import { installIfNeeded, installOtherNodes, installPrograms, root, run } from './tools/steps.mjs';

const results = path.join(root, 'out');
const unitResults = path.join(results, 'vitest.json');
const editorResults = path.join(root, 'out-editor/results.json');

let passed = 0;
let failed = 0;
/** @type {string[]} */
const summary = [];

/**
 * @param {string} name
 * @param {{ passed: number, failed: number }} counts
 * @param {number} [seconds]
 */
function report(name, counts, seconds) {
  passed += counts.passed;
  failed += counts.failed;
  const time = seconds === undefined ? '' : ` (${seconds.toFixed(0)} s)`;
  summary.push(
    `${counts.failed > 0 ? 'FAILED' : 'ok    '} ${name}: ${counts.passed} passed, ${counts.failed} failed${time}`,
  );
}

/**
 * A step that passes or fails as a whole.
 * @param {string} name
 * @param {string} command
 * @param {string[]} args
 */
async function step(name, command, args) {
  console.log(`\n── ${name} ──`);
  const { code, seconds } = await run(command, args);
  report(name, code === 0 ? { passed: 1, failed: 0 } : { passed: 0, failed: 1 }, seconds);
  return code === 0;
}

/**
 * A suite that writes a file with its own counts. It never passes with no test run, nor with a non-zero exit code.
 * @param {string} name
 * @param {string[]} args
 * @param {string} file
 * @param {(content: any) => { passed: number, failed: number }} count any: the file's shape belongs to the suite's own tool
 */
async function suite(name, args, file, count) {
  console.log(`\n── ${name} ──`);
  rmSync(file, { force: true });
  const { code, seconds } = await run('node', args);
  const counts = existsSync(file) ? count(JSON.parse(readFileSync(file, 'utf8'))) : { passed: 0, failed: 0 };
  const silent = code === 0 ? counts.passed === 0 : counts.failed === 0;
  report(name, { passed: counts.passed, failed: counts.failed + (silent ? 1 : 0) }, seconds);
}

function finish() {
  console.log(`\n${summary.join('\n')}\n\n${passed} passed, ${failed} failed`);
  process.exit(failed > 0 ? 1 : 0);
}

if ((await installIfNeeded()) !== 0) {
  report('install', { passed: 0, failed: 1 });
  finish();
}
mkdirSync(results, { recursive: true });
await installPrograms();
await installOtherNodes();

const built = await step('build (generate, type-check, bundle)', 'npm', ['run', '--silent', 'build']);
await step('lint', 'npm', ['run', '--silent', 'lint']);
await step('format', 'npm', ['run', '--silent', 'format:check']);
await step('types of the tests', 'npx', ['tsc', '-b', 'tests']);
await suite(
  'tests of language, server and command line',
  ['node_modules/vitest/vitest.mjs', 'run', '--reporter=dot', '--reporter=json', `--outputFile.json=${unitResults}`],
  unitResults,
  (content) => ({
    passed: content.numPassedTests,
    failed:
      content.numFailedTests +
      content.testResults.filter((f) => f.status === 'failed' && f.assertionResults.length === 0).length,
  }),
);

const packed = built && (await step('package the extension', 'npm', ['run', '--silent', 'package:only']));
if (packed) {
  console.log('\n── real editor ──');
  const { code } = await run('bash', ['tests/editor/install.sh']);
  if (code === 0) {
    await suite('extension in a real editor', ['tests/editor/run.mjs'], editorResults, (content) => content);
  } else {
    console.log(
      'EDITOR TESTS SKIPPED: Chromium or the served editor could not be installed (tests/editor/install.sh says why).',
    );
    summary.push('SKIPPED extension in a real editor: it could not be installed');
    if (process.env.CI) report('extension in a real editor', { passed: 0, failed: 1 });
  }
  console.log('\n── desktop editor ──');
  await run('node', ['tests/editor/run-electron.mjs']).then(({ code: exit }) => {
    if (exit !== 0) report('extension in a desktop editor', { passed: 0, failed: 1 });
  });
} else {
  summary.push('SKIPPED extension in a real editor: the build or the packaging failed');
}
finish();
