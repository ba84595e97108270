// Which tests judge the mutants of a source file. The runner runs, of these, those that reach the mutated place.
import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { root } from '../tools/steps.mjs';

const CHECKS = 'language/src/checks/conductors';
const CALCULATIONS = 'language/src/calculate/conductors';
const TESTS = 'tests/checks/conductors';

/** Tests of calculations: worked examples and tables from outside. The properties find what these find, and take minutes over it. */
const OF_CALCULATIONS = [
  'tests/unit/calculate/conductors.test.ts',
  'tests/unit/calculate/conductors-edges.test.ts',
  'tests/reference/wiring/exercises.test.ts',
  'tests/unit/calculate/worked-examples.test.ts',
  'tests/reference/wiring/tables.test.ts',
  'tests/reference/wiring/worked-examples.test.ts',
  'tests/reference/protection/worked-examples.test.ts',
];
/** Long searches: they find what others find, and take minutes over it. */
const LONG = ['joint-fixes.test.ts', 'trust.test.ts', 'protection-properties.test.ts', 'whole-systems.test.ts'];
/** What tries the documented examples of one check, which the catalogue does for all. */
const OWN_EXAMPLES = 'tests/mutation/own-examples.ts';

/** @param {string} file */
const read = (file) => readFileSync(path.join(root, file), 'utf8');
/** @param {string} folder @param {string} ending */
const list = (folder, ending) =>
  readdirSync(path.join(root, folder))
    .filter((name) => name.endsWith(ending))
    .sort();

/** The source files that can be mutated. */
export const sources = () =>
  [CALCULATIONS, CHECKS].flatMap((folder) =>
    list(folder, '.ts')
      .filter((name) => name !== 'index.ts')
      .map((name) => `${folder}/${name}`),
  );

/** The checks that a file declares, or that read what it exports, at any remove. @param {string} file @returns {string[]} */
function checksOf(file, seen = new Set()) {
  if (seen.has(file)) return [];
  seen.add(file);
  const own = [...read(file).matchAll(/defineCheck\(\{\s*id: '([a-z-]+)'/g)].map(
    ([, id]) => /** @type {string} */ (id),
  );
  if (own.length > 0) return own;
  const name = path.basename(file, '.ts');
  return list(CHECKS, '.ts')
    .map((each) => `${CHECKS}/${each}`)
    .filter((each) => !each.endsWith('/index.ts') && read(each).includes(`/${name}.js'`))
    .flatMap((each) => checksOf(each, seen));
}

/** @param {string} file @returns {{ tests: string[], checks: string[] }} */
export function testsOf(file) {
  if (file.startsWith(CALCULATIONS)) return { tests: OF_CALCULATIONS, checks: [] };
  const checks = [...new Set(checksOf(file))];
  const named = list(TESTS, '.test.ts').filter((test) => {
    if (LONG.includes(test)) return false;
    const text = read(`${TESTS}/${test}`);
    return checks.some((id) => test === `${id}.test.ts` || text.includes(`'${id}'`));
  });
  return { tests: [OWN_EXAMPLES, ...named.map((test) => `${TESTS}/${test}`)], checks };
}
