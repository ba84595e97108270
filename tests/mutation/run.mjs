// `npm run mutation`: how many wrong limits, factors and comparisons of the rules of conductors the tests notice.
// A sample of mutants is drawn by a seed, file after file; what is judged is kept in out/mutation, so that a run that was stopped goes on
// where it was. A file whose source or whose sample has changed is judged again; `--again` judges those with survivors again (after new tests).
//
//   npm run mutation -- [--sample 500] [--seed 11] [--minutes 60] [--file part-of-a-path] [--again] [--score]
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { environment, root, run } from '../tools/steps.mjs';
import { explanationOf } from './explained.mjs';
import { sources, testsOf } from './tests-of.mjs';

const here = import.meta.dirname;
const results = path.join(root, 'out/mutation');
const { values } = parseArgs({
  options: {
    sample: { type: 'string', default: '500' },
    seed: { type: 'string', default: '11' },
    minutes: { type: 'string', default: '600' },
    file: { type: 'string', default: '' },
    again: { type: 'boolean', default: false },
    score: { type: 'boolean', default: false },
  },
});

/** @typedef {{ key: string, line: number, code: string, status: string, tests: number }} Judged */
/** @typedef {{ file: string, keys: string[] }} Sample */

const hash = (/** @type {string} */ text) => createHash('sha256').update(text).digest('hex');
const nameOf = (/** @type {string} */ file) => file.replace(/^language\/src\//, '').replace(/[/.]/g, '-');

if (!existsSync(path.join(here, 'node_modules/@stryker-mutator/core'))) {
  console.log('Installing the mutation runner …');
  // Without what it wants beside it: the project's own test runner is used.
  const { code } = await run('npm', ['ci', '--legacy-peer-deps', '--ignore-scripts', '--loglevel=error'], {
    cwd: here,
  });
  if (code !== 0) process.exit(code);
}
mkdirSync(results, { recursive: true });
const { keyOf } = await import('./mutators.mjs');
const { Instrumenter } = await import('./node_modules/@stryker-mutator/instrumenter/dist/src/index.js');

/** All mutants of all files, drawn in an order that only the seed decides, cut at the size of the sample. @returns {Promise<Sample[]>} */
async function drawn() {
  const quiet = { debug() {}, info() {}, warn() {}, isDebugEnabled: () => false };
  const instrumenter = new Instrumenter(quiet);
  const all = [];
  for (const file of sources()) {
    const content = readFileSync(path.join(root, file), 'utf8');
    const { mutants } = await instrumenter.instrument([{ name: file, content, mutate: true }], {
      plugins: null,
      excludedMutations: [],
      ignorers: [],
    });
    for (const mutant of mutants) all.push({ file, key: keyOf(mutant) });
  }
  const order = (/** @type {{ file: string, key: string }} */ { file, key }) => hash(`${values.seed} ${file} ${key}`);
  const sample = all
    .map((mutant) => ({ ...mutant, order: order(mutant) }))
    .sort((a, b) => (a.order < b.order ? -1 : 1))
    .slice(0, Number(values.sample));
  console.log(`${sample.length} of ${all.length} mutants, seed ${values.seed}`);
  return sources().flatMap((file) => {
    const keys = sample.filter((mutant) => mutant.file === file).map(({ key }) => key);
    return keys.length > 0 ? [{ file, keys: keys.sort() }] : [];
  });
}

const keptAt = (/** @type {string} */ file) => path.join(results, `${nameOf(file)}.json`);
const signature = (/** @type {Sample} */ { file, keys }) =>
  hash(readFileSync(path.join(root, file), 'utf8') + keys.join('\n'));

/** What is kept of a file, where it still holds. @param {Sample} sample @returns {Judged[] | undefined} */
function kept(sample) {
  if (!existsSync(keptAt(sample.file))) return undefined;
  const { of, judged } = JSON.parse(readFileSync(keptAt(sample.file), 'utf8'));
  return of === signature(sample) ? judged : undefined;
}

const isAlive = ({ status }) => status === 'Survived' || status === 'NoCoverage';

/** Judges the mutants of one file. @param {Sample} sample @returns {Promise<Judged[] | undefined>} */
async function judge(sample) {
  const { tests, checks } = testsOf(sample.file);
  const of = signature(sample);
  const chosen = path.join(results, 'sample.json');
  const report = path.join(results, 'report.json');
  const config = path.join(results, 'stryker.json');
  writeFileSync(chosen, JSON.stringify(sample.keys));
  writeFileSync(report, '');
  writeFileSync(
    config,
    JSON.stringify({
      mutate: [sample.file],
      testRunner: 'vitest',
      vitest: { configFile: 'tests/mutation/vitest.config.ts', related: false },
      plugins: [path.join(here, 'node_modules/@stryker-mutator/vitest-runner/dist/src/index.js')],
      // The sandbox holds what tests of the language read.
      ignorePatterns: ['/out*', '/extension/out', '/tests/editor', '/tests/fuzz', 'dist', '/.git'],
      disableTypeChecks: false,
      coverageAnalysis: 'perTest',
      concurrency: 1,
      timeoutMS: 60_000,
      reporters: ['json'],
      jsonReporter: { fileName: report },
      tempDirName: path.join(results, 'sandbox'),
      allowConsoleColors: false,
      logLevel: 'warn',
    }),
  );
  const stryker = path.join(here, 'node_modules/@stryker-mutator/core/bin/stryker.js');
  const { code, seconds } = await run('node', ['--import', path.join(here, 'mutators.mjs'), stryker, 'run', config], {
    env: {
      ...environment,
      MUTATION_SAMPLE: chosen,
      MUTATION_TESTS: tests.join(','),
      MUTATION_CHECKS: checks.join(','),
    },
  });
  const text = readFileSync(report, 'utf8');
  if (code !== 0 || text === '') return undefined;
  const lines = readFileSync(path.join(root, sample.file), 'utf8').split('\n');
  /** @type {Judged[]} */
  const judged = Object.values(JSON.parse(text).files)
    .flatMap(({ mutants }) => mutants)
    .map((mutant) => ({
      key: `${mutant.mutatorName} ${mutant.replacement}`,
      line: mutant.location.start.line,
      code: /** @type {string} */ (lines[mutant.location.start.line - 1]).trim(),
      status: mutant.status,
      tests: mutant.testsCompleted ?? 0,
    }));
  if (judged.length !== sample.keys.length)
    throw new Error(`${sample.file}: ${sample.keys.length} mutants drawn, ${judged.length} judged`);
  writeFileSync(keptAt(sample.file), JSON.stringify({ of, seconds, judged }, undefined, 1));
  return judged;
}

const samples = (await drawn()).filter(({ file }) => file.includes(values.file));
const until = performance.now() + Number(values.minutes) * 60_000;
/** @type {{ sample: Sample, judged: Judged[] | undefined }[]} */
const all = [];
for (const sample of samples) {
  let judged = kept(sample);
  const isOpen = !judged || (values.again && judged.some(isAlive));
  if (isOpen && !values.score && performance.now() < until) {
    console.log(`${sample.file}: ${sample.keys.length} mutants`);
    judged = await judge(sample);
    if (!judged) console.log(`${sample.file}: the runner gave up; its tests may fail without any mutant`);
  }
  all.push({ sample, judged });
}

let killed = 0;
let explained = 0;
let judgedCount = 0;
for (const { sample, judged } of all) {
  for (const mutant of judged ?? []) {
    // What does not compile or run says nothing about the tests.
    if (mutant.status === 'CompileError' || mutant.status === 'RuntimeError') continue;
    judgedCount += 1;
    if (!isAlive(mutant)) {
      killed += 1;
      continue;
    }
    const why = explanationOf({ file: sample.file, ...mutant });
    if (why) explained += 1;
    console.log(
      `${mutant.status}  ${sample.file}:${mutant.line}  ${mutant.key}\n    ${mutant.code}${why ? `\n    explained: ${why}` : ''}`,
    );
  }
}
const open = all.filter(({ judged }) => !judged);
const openCount = open.reduce((sum, { sample }) => sum + sample.keys.length, 0);
if (open.length > 0)
  console.log(`Not judged yet: ${openCount} mutants of ${open.map(({ sample }) => sample.file).join(', ')}`);
const score = judgedCount > 0 ? `${((100 * killed) / judgedCount).toFixed(1)} %` : 'none';
const left = judgedCount - killed - explained;
console.log(
  `Mutation score ${score}: ${killed} of ${judgedCount} judged mutants noticed, ${explained} explained, ${left} open; ${openCount} not judged`,
);
