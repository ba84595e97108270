// `npm run mutation`: how many wrong limits, factors and comparisons of the rules of conductors the tests notice.
// A sample of mutants is drawn by a seed and judged file after file. What is judged is kept in judged.json, mutant by mutant, so that a run that was
// stopped goes on where it was, on another machine too. A result holds while the line of code it mutates is as it was; `--again` judges again what
// was not noticed (after new tests), `--afresh` all.
//
//   npm run mutation -- [--sample 500] [--seed 11] [--minutes 60] [--file part-of-a-path] [--again | --afresh] [--score]
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { environment, root, run } from '../tools/steps.mjs';
import { explanationOf } from './explained.mjs';
import { sources, testsOf } from './tests-of.mjs';

const here = import.meta.dirname;
const results = path.join(root, 'out/mutation');
const keptAt = path.join(here, 'judged.json');
const { values } = parseArgs({
  options: {
    sample: { type: 'string', default: '500' },
    seed: { type: 'string', default: '11' },
    minutes: { type: 'string', default: '600' },
    file: { type: 'string', default: '' },
    again: { type: 'boolean', default: false },
    afresh: { type: 'boolean', default: false },
    score: { type: 'boolean', default: false },
  },
});

/** A mutant: where the runner finds it (`key`), and what tells it from the others when lines above it move (`id`). */
/** @typedef {{ file: string, id: string, key: string, change: string, line: number, code: string }} Mutant */
/** @typedef {{ file: string, mutants: Mutant[] }} Sample */

const hash = (/** @type {string} */ text) => createHash('sha256').update(text).digest('hex');

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

/** All mutants of a file. @param {string} file @returns {Promise<Mutant[]>} */
async function mutantsOf(file) {
  const quiet = { debug() {}, info() {}, warn() {}, isDebugEnabled: () => false };
  const content = readFileSync(path.join(root, file), 'utf8');
  const lines = content.split('\n');
  const { mutants } = await new Instrumenter(quiet).instrument([{ name: file, content, mutate: true }], {
    plugins: null,
    excludedMutations: [],
    ignorers: [],
  });
  /** @type {Map<string, number>} */
  const alike = new Map();
  return mutants.map((mutant) => {
    const change = `${mutant.mutatorName} ${mutant.replacement}`;
    const line = mutant.location.start.line + 1;
    const code = /** @type {string} */ (lines[line - 1]).trim();
    const said = `${file} ${code} ${change}`;
    const nth = (alike.get(said) ?? 0) + 1;
    alike.set(said, nth);
    return { file, id: hash(`${said} ${nth}`).slice(0, 16), key: keyOf(mutant), change, line, code };
  });
}

/** All mutants of all files, drawn in an order that only the seed decides, cut at the size of the sample. @returns {Promise<Sample[]>} */
async function drawn() {
  const all = [];
  for (const file of sources()) all.push(...(await mutantsOf(file)));
  const sample = all
    .map((mutant) => ({ mutant, order: hash(`${values.seed} ${mutant.id}`) }))
    .sort((a, b) => (a.order < b.order ? -1 : 1))
    .slice(0, Number(values.sample))
    .map(({ mutant }) => mutant);
  console.log(`${sample.length} of ${all.length} mutants, seed ${values.seed}`);
  return sources().flatMap((file) => {
    const mutants = sample.filter((mutant) => mutant.file === file);
    return mutants.length > 0 ? [{ file, mutants }] : [];
  });
}

/** What came of each mutant, by file and identity. @type {Record<string, Record<string, string>>} */
const judged = existsSync(keptAt) ? JSON.parse(readFileSync(keptAt, 'utf8')) : {};
const statusOf = (/** @type {Mutant} */ { file, id }) => judged[file]?.[id];
const isAlive = (/** @type {string | undefined} */ status) => status === 'Survived' || status === 'NoCoverage';

/** @template T @param {Record<string, T>} entries */
const sorted = (entries) => Object.fromEntries(Object.entries(entries).sort(([a], [b]) => (a < b ? -1 : 1)));

/** Keeps what came of the mutants of a file; what is no mutant any more is forgotten. @param {string} file @param {Record<string, string>} statuses */
async function keep(file, statuses) {
  const present = new Set((await mutantsOf(file)).map(({ id }) => id));
  const before = Object.entries(judged[file] ?? {}).filter(([id]) => present.has(id));
  judged[file] = sorted({ ...Object.fromEntries(before), ...statuses });
  writeFileSync(keptAt, `${JSON.stringify(sorted(judged), undefined, 1)}\n`);
}

/** Judges mutants of one file. @param {string} file @param {Mutant[]} mutants @returns {Promise<boolean>} whether the runner could */
async function judge(file, mutants) {
  const { tests, checks } = testsOf(file);
  const chosen = path.join(results, 'sample.json');
  const report = path.join(results, 'report.json');
  const config = path.join(results, 'stryker.json');
  writeFileSync(chosen, JSON.stringify(mutants.map(({ key }) => key)));
  writeFileSync(report, '');
  writeFileSync(
    config,
    JSON.stringify({
      mutate: [file],
      testRunner: 'vitest',
      vitest: { configFile: 'tests/mutation/vitest.config.ts', related: false },
      plugins: [path.join(here, 'node_modules/@stryker-mutator/vitest-runner/dist/src/index.js')],
      // The sandbox holds what tests of the language read.
      ignorePatterns: ['/out*', '/extension/out', '/tests/editor', '/tests/fuzz', 'dist', '/.git'],
      disableTypeChecks: false,
      coverageAnalysis: 'perTest',
      concurrency: 1,
      timeoutMS: 180_000,
      dryRunTimeoutMinutes: 40,
      reporters: ['json'],
      jsonReporter: { fileName: report },
      tempDirName: path.join(results, 'sandbox'),
      allowConsoleColors: false,
      logLevel: 'warn',
    }),
  );
  const stryker = path.join(here, 'node_modules/@stryker-mutator/core/bin/stryker.js');
  const { code } = await run('node', ['--import', path.join(here, 'mutators.mjs'), stryker, 'run', config], {
    env: {
      ...environment,
      MUTATION_SAMPLE: chosen,
      MUTATION_TESTS: tests.join(','),
      MUTATION_CHECKS: checks.join(','),
    },
  });
  const text = readFileSync(report, 'utf8');
  if (code !== 0 || text === '') return false;
  /** @type {Record<string, string>} */
  const statuses = {};
  for (const each of Object.values(JSON.parse(text).files).flatMap((one) => one.mutants)) {
    const { start, end } = each.location;
    // A report counts lines and columns from 1.
    const location = {
      start: { line: start.line - 1, column: start.column - 1 },
      end: { line: end.line - 1, column: end.column - 1 },
    };
    const mutant = mutants.find(({ key }) => key === keyOf({ ...each, location }));
    if (!mutant)
      throw new Error(`${file}: a mutant was judged that was not drawn: ${each.mutatorName} ${each.replacement}`);
    statuses[mutant.id] = each.status;
  }
  const count = Object.keys(statuses).length;
  if (count !== mutants.length) throw new Error(`${file}: ${mutants.length} mutants drawn, ${count} judged`);
  await keep(file, statuses);
  return true;
}

const samples = (await drawn()).filter(({ file }) => file.includes(values.file));
// Those that few tests judge first: what many read takes longest.
const countOf = (/** @type {Sample} */ { file }) => testsOf(file).tests.length;
const inOrder = [...samples].sort((a, b) => countOf(a) - countOf(b));
const until = performance.now() + Number(values.minutes) * 60_000;
for (const { file, mutants } of inOrder) {
  const open = mutants.filter((mutant) => {
    const status = statusOf(mutant);
    return values.afresh || !status || (values.again && isAlive(status));
  });
  if (open.length === 0 || values.score || performance.now() >= until) continue;
  console.log(`${file}: ${open.length} mutants`);
  if (!(await judge(file, open))) console.log(`${file}: the runner gave up; its tests may fail without any mutant`);
}

let noticed = 0;
let explained = 0;
let left = 0;
/** @type {Map<string, number>} */
const notJudged = new Map();
for (const mutant of samples.flatMap(({ mutants }) => mutants)) {
  const status = statusOf(mutant);
  // What does not compile or run says nothing about the tests.
  if (status === 'CompileError' || status === 'RuntimeError') continue;
  if (!status) notJudged.set(mutant.file, (notJudged.get(mutant.file) ?? 0) + 1);
  else if (!isAlive(status)) noticed += 1;
  else {
    const why = explanationOf({ file: mutant.file, key: mutant.change, code: mutant.code });
    if (why) explained += 1;
    else left += 1;
    console.log(
      `${status}  ${mutant.file}:${mutant.line}  ${mutant.change}\n    ${mutant.code}${why ? `\n    explained: ${why}` : ''}`,
    );
  }
}
for (const [file, count] of notJudged) console.log(`Not judged yet: ${count} of ${file}`);
const judgedCount = noticed + explained + left;
const waiting = [...notJudged.values()].reduce((sum, count) => sum + count, 0);
const score = judgedCount > 0 ? `${((100 * noticed) / judgedCount).toFixed(1)} %` : 'none';
console.log(
  `Mutation score ${score}: ${noticed} of ${judgedCount} judged mutants noticed, ${explained} explained, ${left} open; ${waiting} not judged`,
);
