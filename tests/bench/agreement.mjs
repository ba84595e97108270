// How often closed forms and plays of generated designs disagree, and what the search of rules says that plays do not bear out. Alone:
// `node tests/bench/agreement.mjs [DESIGNS] [SITES] [EXAMPLES]`, which also prints the shortest texts of each class.
import { build } from 'esbuild';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { root } from '../tools/steps.mjs';

/** Plays of each site with rules; those that are accused of what they do not show get more. */
const PLAYS = 2;

/** The comparisons are written in TypeScript, for the tests; they are bundled with the language as it stands. @param {string} name */
async function agreementModule(name) {
  const outfile = path.join(root, 'tests/out/bench', `${name}.mjs`);
  await build({
    entryPoints: [path.join(root, `tests/agreement/${name}.ts`)],
    outfile,
    bundle: true,
    format: 'esm',
    platform: 'node',
    packages: 'external',
    alias: { '@wattwright/language': path.join(root, 'language/src/index.ts') },
    logLevel: 'warning',
  });
  return await import(pathToFileURL(outfile).href);
}

/** The table of classes over the designs from seed 1 on, with some of the shortest that disagree. @param {number} designs @param {number} examples */
export async function agreementReport(designs, examples) {
  const { compareSeeds, reportOf } = await agreementModule('report');
  return reportOf(await compareSeeds(designs), examples);
}

/** The table of faults of rules over the sites from seed 1 on. @param {number} sites @param {number} examples */
export async function searchReport(sites, examples) {
  const { ruleCases, ruleReport } = await agreementModule('search');
  return ruleReport(await ruleCases(sites, PLAYS), examples);
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const [designs = 200, sites = 200, examples = 1] = process.argv.slice(2).map(Number);
  if (designs > 0) console.log(await agreementReport(designs, examples));
  if (sites > 0) console.log(`\n${await searchReport(sites, examples)}`);
}
