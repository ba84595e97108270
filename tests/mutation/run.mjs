// `npm run mutation`: how many wrong limits, factors and comparisons the tests notice: of equipment, calculations, control, checks and
// simulation.
// A sample of mutants is drawn by a seed and judged file after file, or room after room where files share their tests. What is judged is kept in judged.json, mutant by mutant, so that a run that was
// stopped goes on where it was, on another machine too. A result holds while the line of code it mutates is as it was; `--again` judges again what
// was not noticed (after new tests), `--afresh` all.
//
//   npm run mutation -- [--sample 1500] [--seed 11] [--minutes 60] [--file part-of-a-path] [--again | --afresh] [--score]
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { environment, root, run } from '../tools/steps.mjs';
import { explanationOf } from './explained.mjs';
import { roomOf, sources, testsOf } from './tests-of.mjs';

const here = import.meta.dirname;
const results = path.join(root, 'out/mutation');
const keptAt = path.join(here, 'judged.json');
const { values } = parseArgs({
  options: {
    sample: { type: 'string', default: '1500' },
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

/** Mutants that are judged in one go. */
const MOST_AT_ONCE = 60;

/** Judges mutants that the same tests judge. @param {Mutant[]} mutants @returns {Promise<boolean>} whether the runner could */
async function judge(mutants) {
  const files = [...new Set(mutants.map(({ file }) => file))];
  const { tests, checks } = testsOf(files[0]);
  const chosen = path.join(results, 'sample.json');
  const report = path.join(results, 'report.json');
  const config = path.join(results, 'stryker.json');
  writeFileSync(chosen, JSON.stringify(mutants.map(({ key }) => key)));
  writeFileSync(report, '');
  writeFileSync(
    config,
    JSON.stringify({
      mutate: files,
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
  /** @type {Map<string, Record<string, string>>} */
  const statuses = new Map(files.map((file) => [file, {}]));
  const all = Object.entries(JSON.parse(text).files).flatMap(([file, one]) =>
    one.mutants.map((/** @type {any} any: as the runner reports it */ each) => ({ file, ...each })),
  );
  for (const each of all) {
    const { start, end } = each.location;
    // A report counts lines and columns from 1.
    const location = {
      start: { line: start.line - 1, column: start.column - 1 },
      end: { line: end.line - 1, column: end.column - 1 },
    };
    const own = keyOf({ ...each, location });
    const mutant = mutants.find(({ file, key }) => file === each.file && key === own);
    // Of several files one may have a mutant in the very place of another's, which then is judged as well.
    if (!mutant && files.length === 1)
      throw new Error(`${each.file}: a mutant was judged that was not drawn: ${each.mutatorName} ${each.replacement}`);
    if (mutant) /** @type {Record<string, string>} */ (statuses.get(mutant.file))[mutant.id] = each.status;
  }
  const count = [...statuses.values()].reduce((sum, own) => sum + Object.keys(own).length, 0);
  if (count !== mutants.length) throw new Error(`${files.join()}: ${mutants.length} mutants drawn, ${count} judged`);
  for (const [file, own] of statuses) await keep(file, own);
  return true;
}

const samples = (await drawn()).filter(({ file }) => file.includes(values.file));
// Those that few tests judge first: what many read takes longest.
const countOf = (/** @type {Sample} */ { file }) => testsOf(file).tests.length;
const inOrder = [...samples].sort((a, b) => countOf(a) - countOf(b));
const until = performance.now() + Number(values.minutes) * 60_000;
const isOpen = (/** @type {Mutant} */ mutant) => {
  const status = statusOf(mutant);
  return values.afresh || !status || (values.again && isAlive(status));
};
/** @type {Map<string, Mutant[]>} */
const rooms = new Map();
for (const { file, mutants } of inOrder)
  rooms.set(roomOf(file), [...(rooms.get(roomOf(file)) ?? []), ...mutants.filter(isOpen)]);
for (const [room, mutants] of values.score ? [] : rooms)
  for (let first = 0; first < mutants.length && performance.now() < until; first += MOST_AT_ONCE) {
    const some = mutants.slice(first, first + MOST_AT_ONCE);
    console.log(`${room}: ${some.length} mutants`);
    if (!(await judge(some))) console.log(`${room}: the runner gave up; its tests may fail without any mutant`);
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
