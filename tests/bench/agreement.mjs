// How often closed forms and plays of generated designs disagree. Alone: `node tests/bench/agreement.mjs [SEEDS] [EXAMPLES]`, which also prints
// the shortest designs of each class that disagree.
import { build } from 'esbuild';
import { mkdirSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { root } from '../tools/steps.mjs';

/** The comparisons are written in TypeScript, for the tests; the language they ask is the one that was built. */
async function agreementModule() {
  const folder = path.join(root, 'tests/out/bench');
  mkdirSync(folder, { recursive: true });
  const outfile = path.join(folder, 'agreement.mjs');
  await build({
    entryPoints: [path.join(root, 'tests/agreement/report.ts')],
    outfile,
    bundle: true,
    format: 'esm',
    platform: 'node',
    packages: 'external',
    logLevel: 'warning',
  });
  return await import(pathToFileURL(outfile).href);
}

/** The table of classes over the seeds from 1 on, with some of the shortest designs that disagree. @param {number} seeds @param {number} examples */
export async function agreementReport(seeds, examples) {
  const { compareSeeds, reportOf } = await agreementModule();
  return reportOf(await compareSeeds(seeds), examples);
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const [seeds, examples] = process.argv.slice(2).map(Number);
  console.log(await agreementReport(seeds ?? 200, examples ?? 1));
}
