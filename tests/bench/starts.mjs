// What a call costs as a process of its own, in bare Node starts: processor time of all its threads, so that what else runs on the machine hardly
// counts, each beside a bare start of the same moment. Alone: `node tests/bench/starts.mjs`; build first.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { root } from '../tools/steps.mjs';
import { largeDesign } from './large-design.mjs';

/** Pairs that are measured; one before is spent on filling what Node keeps of compiled code. */
const PAIRS = 15;
/** A design as people have them before them, without rules. */
const USUAL_LINES = 150;

const median = (/** @type {number[]} */ values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

/** ms of the processor. @param {readonly string[]} args */
function processorTime(args) {
  const counted = ['--require', path.join(import.meta.dirname, 'processor-time.cjs')];
  const { status, output, error } = spawnSync(process.execPath, [...counted, ...args], {
    stdio: ['ignore', 'ignore', 'ignore', 'pipe'],
    encoding: 'utf8',
  });
  if (error) throw error;
  if (status !== 0 && status !== 1) throw new Error(`node ${args.join(' ')} ended with ${status}`);
  return Number(output[3]);
}

/**
 * Medians of calls of the program: ms, and bare starts.
 * @param {string} program @param {number} [pairs]
 */
export function startsOf(program, pairs = PAIRS) {
  const folder = mkdtempSync(path.join(tmpdir(), 'wattwright-starts-'));
  const usual = path.join(folder, 'usual.watt');
  writeFileSync(usual, largeDesign(USUAL_LINES));
  const example = (/** @type {string} */ name) => [program, 'check', path.join(root, 'examples', name)];
  const calls = [
    { id: 'start-version', name: '--version', args: [program, '--version'] },
    { id: 'start-lines', name: `check of ${USUAL_LINES} lines without rules`, args: [program, 'check', usual] },
    { id: 'start-plays', name: 'check of the book bus', args: example('book-bus') },
    { id: 'start-rules', name: 'check of the mountain hut, with rules', args: example('mountain-hut') },
    { id: 'start-rules-twice', name: 'check of the ridge station, rules twice', args: example('ridge-station') },
  ].map((call) => ({ ...call, times: /** @type {number[]} */ ([]), ratios: /** @type {number[]} */ ([]) }));
  try {
    for (let pair = -1; pair < pairs; pair += 1) {
      for (const { args, times, ratios } of calls) {
        const bare = processorTime(['-e', '0']);
        const time = processorTime(args);
        if (pair < 0) continue;
        times.push(time);
        ratios.push(time / bare);
      }
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
  return calls.map(({ id, name, times, ratios }) => ({
    id,
    name,
    milliseconds: median(times),
    ratio: median(ratios),
  }));
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href)
  for (const { name, milliseconds, ratio } of startsOf(
    path.join(root, 'server/dist/wattwright.mjs'),
    Number(process.argv[2] ?? PAIRS),
  ))
    console.log(
      `${name.padEnd(50)} ${milliseconds.toFixed(0).padStart(6)} ms of the processor   ${ratio.toFixed(1)} × bare start`,
    );
