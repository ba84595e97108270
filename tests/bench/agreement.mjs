// How often closed forms and plays of generated designs disagree, and what the search of rules says that plays do not bear out. Alone:
// `node tests/bench/agreement.mjs [DESIGNS] [SITES] [EXAMPLES]`, which also prints the shortest texts of each class. SITES may be a part
// (`501..1000`), so that several processes can share them; the report is of all of them that are asked for then.
import { build } from 'esbuild';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { root } from '../tools/steps.mjs';
import { ruleSites } from './rule-sites.mjs';

/** The comparisons are written in TypeScript, for the tests; they are bundled with the language as it stands. @param {string} name */
async function bundled(name) {
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
  return outfile;
}

/** @param {string} bundle */
const loaded = (bundle) => import(pathToFileURL(bundle).href);

/** The table of classes over the designs from seed 1 on, with some of the shortest that disagree. @param {number} designs @param {number} examples */
export async function agreementReport(designs, examples) {
  const { compareSeeds, reportOf } = await loaded(await bundled('report'));
  return reportOf(await compareSeeds(designs), examples);
}

/** The table of faults of rules over the sites with some seeds. @param {number} first @param {number} last @param {number} examples */
export async function searchReport(first, last, examples) {
  const bundle = await bundled('search');
  const { ruleReport } = await loaded(bundle);
  return ruleReport(await ruleSites(bundle, first, last), examples);
}

/** `200` means the first 200, `501..1000` those from one to the other. @param {string} text @returns {[number, number]} */
export function seedsOf(text) {
  const [first = '', last] = text.split('..');
  return last === undefined ? [1, Number(first)] : [Number(first), Number(last)];
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const [designs = '200', sites = '200', examples = '1'] = process.argv.slice(2);
  const [first, last] = seedsOf(sites);
  if (Number(designs) > 0) console.log(await agreementReport(Number(designs), Number(examples)));
  if (last >= first) console.log(`\n${await searchReport(first, last, Number(examples))}`);
}
