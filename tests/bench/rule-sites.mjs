// Search, proof and plays of random rule sites in parts, each in a process of its own that takes its memory along when it ends. What is done is
// kept in a file, a line for each site, under the name of what it was done with: a run that was broken off goes on where it stopped.
import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { appendFileSync, existsSync, mkdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';

/** Plays of each site with rules; those that are accused of what they do not show get more. */
const PLAYS = 2;

/** Sites of a part. */
const PART = 100;

/** @typedef {{ seed: number, found?: unknown }} Line What came of a site; nothing where its rules are refused or left open. */

/** Where the lines of a bundle are kept: what another bundle found is no answer. @param {string} bundle */
function linesFile(bundle) {
  const hash = createHash('sha256').update(readFileSync(bundle)).digest('hex').slice(0, 12);
  return path.join(path.dirname(bundle), `rule-sites-${hash}.jsonl`);
}

/** @param {string} file @returns {Map<number, Line>} what is done, by seed */
function linesOf(file) {
  if (!existsSync(file)) return new Map();
  const lines = readFileSync(file, 'utf8').split('\n');
  // The last line may have been cut off in the middle.
  const whole = lines.slice(0, -1).map((line) => /** @type {Line} */ (JSON.parse(line)));
  return new Map(whole.map((line) => [line.seed, line]));
}

/** One part, in this process. @param {string} bundle @param {number} from @param {number} to */
async function part(bundle, from, to) {
  const { ruleCase } = await import(pathToFileURL(bundle).href);
  const file = linesFile(bundle);
  const done = linesOf(file);
  for (let seed = from; seed <= to; seed += 1) {
    if (done.has(seed)) continue;
    appendFileSync(file, `${JSON.stringify({ seed, found: await ruleCase(seed, PLAYS) })}\n`);
  }
}

/** One part, in a process of its own. @param {string} bundle @param {number} from @param {number} to @returns {Promise<void>} */
const partApart = (bundle, from, to) =>
  new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [import.meta.filename, bundle, String(from), String(to)], {
      stdio: 'inherit',
    });
    child.on('error', reject);
    child.on('exit', (code) =>
      code === 0 ? resolve() : reject(new Error(`sites ${from} to ${to} ended with ${code}`)),
    );
  });

/**
 * What came of the sites with the seeds from one to another; those that are not done yet are done first.
 * @param {string} bundle of tests/agreement/search.ts @param {number} first @param {number} last
 */
export async function ruleSites(bundle, first, last) {
  const file = linesFile(bundle);
  mkdirSync(path.dirname(file), { recursive: true });
  const known = linesOf(file);
  for (let from = first; from <= last; from += PART) {
    const to = Math.min(last, from + PART - 1);
    const seeds = Array.from({ length: to - from + 1 }, (_, at) => from + at);
    if (!seeds.every((seed) => known.has(seed))) await partApart(bundle, from, to);
  }
  return [...linesOf(file).values()]
    .filter(({ seed }) => seed >= first && seed <= last)
    .sort((one, other) => one.seed - other.seed)
    .flatMap(({ found }) => (found === undefined ? [] : [found]));
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const [bundle = '', from, to] = process.argv.slice(2);
  await part(bundle, Number(from), Number(to));
}
