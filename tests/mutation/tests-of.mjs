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

/** @param {string} folder @returns {string[]} */
const sourcesUnder = (folder) =>
  readdirSync(path.join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts') && path.basename(name) !== 'index.ts')
    .sort()
    .map((name) => `${folder}/${name}`);

/**
 * Files that are judged together, since the same tests judge them. Properties over generated systems and whole plays of examples are left out: they
 * find what these find, and take minutes over it.
 * @type {readonly { folder: string, tests: readonly string[] }[]}
 */
const ROOMS = [
  {
    folder: 'language/src/equipment',
    tests: ['tests/unit/equipment', 'tests/unit/quantities', 'tests/checks/sources', 'tests/checks/storage'],
  },
  {
    folder: 'language/src/calculate/protection',
    tests: [
      'tests/reference/protection',
      'tests/unit/calculate/worked-examples.test.ts',
      'tests/unit/calculate/conductors.test.ts',
    ],
  },
  ...['sources', 'storage', 'sun'].map((room) => ({
    folder: `language/src/calculate/${room}`,
    tests: [
      'tests/unit/calculate/sources.test.ts',
      'tests/unit/calculate/storage.test.ts',
      'tests/unit/calculate/string-share.test.ts',
      'tests/unit/calculate/sun.test.ts',
      'tests/unit/calculate/worked-examples.test.ts',
      'tests/unit/simulate/sun.test.ts',
      'tests/unit/quantities/sources.test.ts',
      'tests/unit/quantities/storage.test.ts',
      'tests/unit/quantities/year.test.ts',
      'tests/reference/energy',
      'tests/reference/weather',
    ],
  })),
  {
    folder: 'language/src/control',
    tests: ['tests/unit/control', 'tests/unit/restarts.test.ts', 'tests/checks/control'],
  },
  ...['control', 'requirements', 'sources', 'storage', 'text'].map((room) => ({
    folder: `language/src/checks/${room}`,
    tests: [`tests/checks/${room}`],
  })),
  { folder: 'language/src/simulate', tests: ['tests/unit/simulate', 'tests/reference/simulate'] },
];

/** The tests of a room, which it names by file or by folder. @param {readonly string[]} tests */
const testFilesOf = (tests) =>
  tests.flatMap((each) => (each.endsWith('.ts') ? [each] : list(each, '.test.ts').map((name) => `${each}/${name}`)));

/** The source files that can be mutated. */
export const sources = () => [
  ...[CALCULATIONS, CHECKS].flatMap((folder) =>
    list(folder, '.ts')
      .filter((name) => name !== 'index.ts')
      .map((name) => `${folder}/${name}`),
  ),
  ...ROOMS.flatMap(({ folder }) => sourcesUnder(folder)),
];

/** What is judged together with a file: the file alone where it has tests of its own. @param {string} file */
export const roomOf = (file) => ROOMS.find(({ folder }) => file.startsWith(`${folder}/`))?.folder ?? file;

/** The checks that a file declares. @param {string} file */
const declaredIn = (file) =>
  [...read(file).matchAll(/defineCheck\(\{\s*id: '([a-z-]+)'/g)].map(([, id]) => /** @type {string} */ (id));

/** The checks that a file declares, or that read what it exports, at any remove. @param {string} file @returns {string[]} */
function checksOf(file, seen = new Set()) {
  if (seen.has(file)) return [];
  seen.add(file);
  const own = declaredIn(file);
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
  const room = ROOMS.find(({ folder }) => file.startsWith(`${folder}/`));
  if (room) {
    const own = room.folder.startsWith('language/src/checks/') ? sourcesUnder(room.folder).flatMap(declaredIn) : [];
    return { tests: [...(own.length > 0 ? [OWN_EXAMPLES] : []), ...testFilesOf(room.tests)], checks: own };
  }
  const checks = [...new Set(checksOf(file))];
  const named = list(TESTS, '.test.ts').filter((test) => {
    if (LONG.includes(test)) return false;
    const text = read(`${TESTS}/${test}`);
    return checks.some((id) => test === `${id}.test.ts` || text.includes(`'${id}'`));
  });
  return { tests: [OWN_EXAMPLES, ...named.map((test) => `${TESTS}/${test}`)], checks };
}
