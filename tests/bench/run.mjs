// `npm run bench`: how long a person waits, as medians and as ratios to a bare Node start and to a plain parse, so that numbers
// of different machines can be compared, and how often closed forms and plays disagree. What has become slower than the figures kept in
// `kept.json` is named; `--keep` keeps those of this run instead. `--times` leaves the disagreements out. `--json FILE` also writes the times
// down; `--sites 2000` plays so many sites with rules instead of a sample (some hours; a run that is broken off goes on where it stopped).
// Build first.
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { root } from '../tools/steps.mjs';
import { agreementReport, searchReport, seedsOf } from './agreement.mjs';
import { LanguageServerProcess } from './language-server-process.mjs';
import { GROWN, grid } from './grown-designs.mjs';
import { growthOfJudging } from './growth.mjs';
import { holesFilled } from './holes.mjs';
import { SLOWER_BY, keep, notKept, slowerThan } from './kept.mjs';
import { largeDesign } from './large-design.mjs';
import { largeNetwork } from './large-network.mjs';
import { manyFiles } from './many-files.mjs';
import { requestTimes } from './requests.mjs';
import { startsOf } from './starts.mjs';
import { verdicts } from './verdicts.mjs';
import { bareYearOfRidgeStation, yearOfRidgeStation } from './year.mjs';

const program = path.join(root, 'server/dist/wattwright.mjs');
const server = path.join(root, 'extension/dist/server.cjs');
for (const file of [program, server]) {
  if (!existsSync(file)) {
    console.error(`${path.relative(root, file)} is missing; run npm run build`);
    process.exit(2);
  }
}

/** Designs over which closed forms and plays are compared, and sites over which search and proof of rules and plays are. */
const AGREEMENT_SEEDS = 200;
const sitesAt = process.argv.indexOf('--sites');
const [firstSite, lastSite] = seedsOf(sitesAt > 0 ? (process.argv[sitesAt + 1] ?? '') : String(AGREEMENT_SEEDS));

const median = (/** @type {number[]} */ values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

/** @param {number} times @param {() => Promise<number>} measure */
async function medianOf(times, measure) {
  const values = [];
  for (let time = 0; time < times; time++) values.push(await measure());
  return median(values);
}

/** @param {string[]} args @returns {Promise<number>} milliseconds of a whole Node process */
function nodeProcess(args) {
  const begun = performance.now();
  return new Promise((resolve, reject) => {
    spawn(process.execPath, args, { stdio: 'ignore' }).on('exit', (code) =>
      code === 0 || code === 1
        ? resolve(performance.now() - begun)
        : reject(new Error(`node ${args.join(' ')} ended with ${code}`)),
    );
  });
}

async function serverReady() {
  const begun = performance.now();
  const client = new LanguageServerProcess(server);
  await client.initialize();
  const elapsed = performance.now() - begun;
  await client.stop();
  return elapsed;
}

/** Milliseconds between two keystrokes of a quick typist, some 60 words a minute. Common practice, no source. */
const TYPING_PAUSE = 200;

/** Types digits into the length of a run in the middle of the design, one change at a time. */
async function keystrokes() {
  const client = new LanguageServerProcess(server);
  await client.initialize();
  const uri = 'file:///bench/large.watt';
  const text = largeDesign(1000);
  const first = client.bothFindingsOf(uri, 1);
  client.notify('textDocument/didOpen', { textDocument: { uri, languageId: 'wattwright', version: 1, text } });
  const opened = performance.now();
  await first.whole;
  const open = performance.now() - opened;

  const lines = text.split('\n');
  const line = lines.findIndex((candidate, index) => index > lines.length / 2 && candidate.includes('length:'));
  const character = lines[line].indexOf('length:') + 'length: '.length;
  const early = [];
  const whole = [];
  for (let version = 2; version < 42; version++) {
    const typing = version % 2 === 0;
    const range = { start: { line, character }, end: { line, character: typing ? character : character + 1 } };
    const findings = client.bothFindingsOf(uri, version);
    const begun = performance.now();
    client.notify('textDocument/didChange', {
      textDocument: { uri, version },
      contentChanges: [{ range, text: typing ? '1' : '' }],
    });
    await findings.early;
    const read = performance.now() - begun;
    await findings.whole;
    // The first few are spent warming up.
    if (version >= 12) {
      early.push(read);
      whole.push(performance.now() - begun);
    }
    await new Promise((resolve) => setTimeout(resolve, TYPING_PAUSE));
  }
  await client.stop();
  return { open, early: median(early), whole: median(whole), lines: lines.length };
}

/** Parsing alone, in a process that is already warm. */
async function plainParse() {
  const { createLanguageServices } = await import('@wattwright/language');
  const { EmptyFileSystem } = await import('langium');
  const parser = createLanguageServices(EmptyFileSystem).wattwright.parser.LangiumParser;
  const text = largeDesign(1000);
  for (let warm = 0; warm < 5; warm++) parser.parse(text);
  return medianOf(15, async () => {
    const begun = performance.now();
    parser.parse(text);
    return performance.now() - begun;
  });
}

/** Nodes of the network that is solved: some thousands, as many as the largest design has terminals and conductors. */
const NETWORK_NODES = 3000;

/** Solving one alternating-current network with loops and constant-power loads, in a process that is already warm. */
async function networkSolved() {
  const { solveCircuit } = await import('../../language/out/solve/circuit.js');
  const network = largeNetwork(NETWORK_NODES);
  const once = (/** @type {object} */ kept) => {
    if (!solveCircuit(network, kept).solved) throw new Error('the network of the bench has no solution');
  };
  const timeOf = (/** @type {() => object} */ kept) => {
    for (let warm = 0; warm < 5; warm++) once(kept());
    return medianOf(9, async () => {
      const begun = performance.now();
      once(kept());
      return performance.now() - begun;
    });
  };
  const pattern = {};
  return { first: await timeOf(() => ({})), again: await timeOf(() => pattern) };
}

/** Lines of a long design, and buses on a side of a large mesh. */
const MANY_LINES = 10_000;
const GRID_SIDE = 14;

/** Whole processes that check designs made for it, by what they are. */
async function grownChecks() {
  const folder = mkdtempSync(path.join(tmpdir(), 'bench-'));
  try {
    const times = {};
    const texts = {
      lines: GROWN['one star'](MANY_LINES),
      chain: GROWN['one chain'](MANY_LINES),
      grid: grid(GRID_SIDE),
    };
    for (const [what, text] of Object.entries(texts)) {
      const file = path.join(folder, `${what}.watt`);
      writeFileSync(file, text);
      times[what] = await medianOf(3, () => nodeProcess([program, 'check', file, '--fixes', 'none']));
    }
    return times;
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const examples = path.join(root, 'examples');
const example = readdirSync(examples, { withFileTypes: true }).find((entry) => entry.isDirectory());
if (!example) throw new Error('there is no example to check');
const checkArguments = [program, 'check', path.join(examples, example.name)];
const tried = spawnSync(process.execPath, checkArguments, { encoding: 'utf8' });
if (tried.status !== 0 && tried.status !== 1) throw new Error(`check ended with ${tried.status}: ${tried.stderr}`);

const bare = await medianOf(9, () => nodeProcess(['-e', '0']));
const check = await medianOf(9, () => nodeProcess(checkArguments));
const starts = startsOf(program);
const ready = await medianOf(9, serverReady);
const parse = await plainParse();
const network = await networkSolved();
const grownTimes = await grownChecks();
const { open, early, whole, lines } = await keystrokes();
/** A design as people have them before them. */
const USUAL_LINES = 150;
const asked = [
  { id: '', lines, times: await requestTimes(server, lines) },
  { id: `-${USUAL_LINES}`, lines: USUAL_LINES, times: await requestTimes(server, USUAL_LINES) },
];
const ruled = await verdicts(server);
/** Design files in one folder. */
const FILES = 200;
const files = await manyFiles(server, FILES);
const play = await yearOfRidgeStation();
/** Time of the processor, so that what else runs on the machine does not count. @param {() => unknown} what */
const processorTime = async (what) => {
  const begun = process.cpuUsage();
  what();
  const { user, system } = process.cpuUsage(begun);
  return (user + system) / 1000;
};
play();
const year = await medianOf(7, () => processorTime(play));
const bareYear = await medianOf(7, () => processorTime(bareYearOfRidgeStation));
const busy = spawnSync(process.execPath, [path.join(root, 'tests/bench/busy-site.mjs')], { encoding: 'utf8' });
if (busy.status !== 0) throw new Error(`the busy site cannot be played: ${busy.stderr}`);

const holes = [
  { open: 1, limit: 50, found: await holesFilled(1) },
  { open: 10, limit: 2000, found: await holesFilled(10) },
];

/** Bare starts that `check` of an example may cost as a process. */
const MOST_STARTS = 10;

const measures = [
  { name: 'bare Node start', milliseconds: bare },
  {
    id: 'check',
    name: `check of examples/${example.name}, whole process`,
    milliseconds: check,
    limit: 600,
    ratio: check / bare,
    to: 'bare start',
  },
  ...starts.map(({ id, name, milliseconds, ratio }) => ({
    id,
    name: `${name}, processor time`,
    milliseconds,
    ratio,
    limit: (MOST_STARTS * milliseconds) / ratio,
    to: 'bare start',
  })),
  {
    id: 'ready',
    name: 'language server ready',
    milliseconds: ready,
    limit: 400,
    ratio: ready / bare,
    to: 'bare start',
  },
  ...[
    { id: 'files-open', name: `findings of the open one of ${FILES} files`, milliseconds: files.open, limit: 700 },
    { id: 'files-all', name: `findings of ${FILES} files of 100 lines`, milliseconds: files.all, limit: 4000 },
  ].map((each) => ({ ...each, ratio: each.milliseconds / bare, to: 'bare start' })),
  { name: `plain parse of ${lines} lines`, milliseconds: parse },
  {
    id: 'network',
    name: `network of ${NETWORK_NODES} nodes solved`,
    milliseconds: network.first,
    limit: 500,
    ratio: network.first / parse,
    to: 'plain parse',
  },
  {
    id: 'network-again',
    name: 'the same again, its order kept',
    milliseconds: network.again,
    ratio: network.again / parse,
    to: 'plain parse',
  },
  ...[
    { id: 'lines', name: `check of ${MANY_LINES} lines, one star, whole process`, starts: 60 },
    { id: 'chain', name: `check of ${MANY_LINES} lines, one chain, whole process`, starts: 60 },
    { id: 'grid', name: `check of ${GRID_SIDE} × ${GRID_SIDE} buses, whole process`, starts: 70 },
  ].map(({ id, name, starts }) => ({
    id: `check-${id}`,
    name,
    milliseconds: grownTimes[id],
    limit: starts * bare,
    ratio: grownTimes[id] / bare,
    to: 'bare start',
  })),
  {
    id: 'open',
    name: `opening ${lines} lines to all findings`,
    milliseconds: open,
    ratio: open / parse,
    to: 'plain parse',
  },
  {
    id: 'keystroke-fast',
    name: `keystroke in ${lines} lines to fast findings`,
    milliseconds: early,
    limit: 50,
    ratio: early / parse,
    to: 'plain parse',
  },
  {
    id: 'keystroke-all',
    name: `keystroke in ${lines} lines to all findings`,
    milliseconds: whole,
    ratio: whole / parse,
    to: 'plain parse',
  },
  ...asked.flatMap(({ id, lines: length, times }) =>
    [
      { what: 'completion', name: 'keystroke to the list of what may be written', limit: 20 },
      { what: 'hover', name: 'hover', limit: 10 },
      { what: 'inlays', name: 'inlay hints of a page', limit: 10 },
      { what: 'lens', name: 'lenses', limit: 20 },
    ].map(({ what, name, limit }) => ({
      id: `${what}${id}`,
      name: `${name}, in ${length} lines`,
      milliseconds: times[what],
      limit,
      ratio: times[what] / parse,
      to: 'plain parse',
    })),
  ),
  {
    id: 'verdict',
    name: `keystroke in ${ruled.lines} lines to the verdict on its rules`,
    milliseconds: ruled.verdict,
    limit: 1000,
    ratio: ruled.verdict / parse,
    to: 'plain parse',
  },
  {
    id: 'between',
    name: 'keystroke while rules are proven, to its findings',
    milliseconds: ruled.between,
    limit: 250,
    ratio: ruled.between / parse,
    to: 'plain parse',
  },
  ...holes.map(({ open: count, limit, found }) => ({
    id: `holes-${count}`,
    name: `${count} open in 100 lines filled, ${found.trials} texts tried`,
    milliseconds: found.milliseconds,
    limit,
    ratio: found.milliseconds / found.analysis,
    to: 'one analysis',
  })),
  {
    id: 'year',
    name: 'a year of the ridge station',
    milliseconds: year,
    limit: 3 * bareYear,
    ratio: year / bareYear,
    to: 'a bare loop',
  },
];
const MOST_GROWTH = 1.2;
const grown = (await growthOfJudging()).map(({ shape, few, many, growth }) => ({
  id: `growth-${shape.replaceAll(' ', '-')}`,
  name: `${shape}: a line of ${many} over one of ${few}`,
  ratio: growth,
}));

for (const { name, milliseconds, limit, ratio, to } of measures) {
  const aim = limit === undefined ? '' : `aim ${Math.round(limit)} ms${milliseconds > limit ? ', MISSED' : ''}`;
  const against = ratio === undefined ? '' : `${ratio.toFixed(1)} × ${to}`;
  console.log(`${name.padEnd(50)} ${milliseconds.toFixed(1).padStart(8)} ms   ${against.padEnd(22)} ${aim}`);
}
for (const { name, ratio } of grown)
  console.log(
    `${name.padEnd(50)} ${ratio.toFixed(2).padStart(8)} ×    aim ${MOST_GROWTH}${ratio > MOST_GROWTH ? ', MISSED' : ''}`,
  );

const all = [...measures, ...grown];
const slower = slowerThan(all);
console.log(
  slower.length === 0
    ? `\nnothing is more than ${SLOWER_BY} times as slow as it was kept`
    : `\nmore than ${SLOWER_BY} times as slow as it was kept:\n${slower.map((line) => `  ${line}`).join('\n')}`,
);
const fresh = notKept(all);
if (fresh.length > 0) console.log(`not kept yet, see --keep: ${fresh.join('; ')}`);
if (process.argv.includes('--keep')) keep(all);
const target = process.argv.indexOf('--json');
if (target > 0)
  writeFileSync(
    process.argv[target + 1],
    `${JSON.stringify({ node: process.version, measures: all }, undefined, 2)}\n`,
  );
if (process.argv.includes('--times')) process.exit(0);

console.log(`\na year of a busy site, in a process of its own (aim: 50 × a bare loop, 250 MB)\n${busy.stdout}`);
console.log(`closed forms against plays of ${AGREEMENT_SEEDS} generated designs`);
console.log(await agreementReport(AGREEMENT_SEEDS, 1));
console.log(`\nsearch and proof of rules against plays of generated sites ${firstSite} to ${lastSite}`);
console.log(await searchReport(firstSite, lastSite, 1));
