// Lays out the packages that are published, each in a folder of its own with its own package.json: what the workspaces need while they are
// built never gets into them. Needs `npm run build`. Then `npm pack` makes the tarballs. An argument names another folder for all of it.
import { execFileSync } from 'node:child_process';
import { chmodSync, cpSync, existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '../..');
const out = process.argv[2] ?? path.join(root, 'out/npm');

/** @param {string} file */
const json = (file) => JSON.parse(readFileSync(path.join(root, file), 'utf8'));

/** @param {string} file @param {unknown} value */
const writeJson = (file, value) => writeFileSync(file, `${JSON.stringify(value, undefined, 2)}\n`);

/** @param {string} from @param {string} to */
function copy(from, to) {
  if (!existsSync(path.join(root, from))) throw new Error(`${from} is missing: run \`npm run build\` first`);
  cpSync(path.join(root, from), to, { recursive: true });
}

const { version, license } = json('package.json');

const common = {
  version,
  license,
  type: 'module',
  engines: { node: '>=20.19' },
  publishConfig: { access: 'public', provenance: true },
};

/** The command line: a bundle that needs nothing else. */
function stageCommandLine() {
  const folder = path.join(out, 'wattwright');
  rmSync(folder, { recursive: true, force: true });
  for (const part of ['bin', 'dist', 'man', 'completions']) mkdirSync(path.join(folder, part), { recursive: true });
  copy('server/bin/wattwright.mjs', path.join(folder, 'bin/wattwright.mjs'));
  copy('server/dist/wattwright.mjs', path.join(folder, 'dist/wattwright.mjs'));
  copy('server/dist/runs-thread.mjs', path.join(folder, 'dist/runs-thread.mjs'));
  copy('server/dist/parts', path.join(folder, 'dist/parts'));
  copy('server/dist/LICENCES.txt', path.join(folder, 'LICENCES.txt'));
  copy('server/dist/sbom.cdx.json', path.join(folder, 'sbom.cdx.json'));
  copy('server/schemas', path.join(folder, 'schemas'));
  for (const file of ['LICENSE', 'NOTICE', 'CHANGELOG.md']) copy(file, path.join(folder, file));
  writeFileSync(path.join(folder, 'README.md'), commandLineReadme());
  chmodSync(path.join(folder, 'bin/wattwright.mjs'), 0o755);
  const said = (...args) =>
    execFileSync(process.execPath, [path.join(folder, 'bin/wattwright.mjs'), ...args], { encoding: 'utf8' });
  writeFileSync(path.join(folder, 'man/wattwright.1'), said('man-page'));
  for (const shell of ['bash', 'zsh', 'fish'])
    writeFileSync(path.join(folder, `completions/wattwright.${shell}`), said('completion', shell));
  writeJson(path.join(folder, 'package.json'), {
    name: 'wattwright',
    ...common,
    description:
      'Checks and calculates small power systems written as text: conductors, protection, charging, rules, scenarios',
    keywords: ['power-systems', 'battery', 'solar', 'generator', 'checker', 'sarif', 'language-server'],
    bin: { wattwright: 'bin/wattwright.mjs' },
    man: ['man/wattwright.1'],
    files: ['bin', 'dist', 'man', 'completions', 'schemas', 'CHANGELOG.md', 'NOTICE', 'LICENCES.txt', 'sbom.cdx.json'],
    exports: { './package.json': './package.json', './schemas/*': './schemas/*' },
  });
  return folder;
}

const commandLineReadme = () => `# wattwright

Checks and calculates small power systems that are written as text: generators, shore and grid connections, solar, banks, chargers, inverters and
loads. Needs Node 20.19 or newer, nothing else, and no network.

\`\`\`
npx wattwright new my-design        a starter that checks clean
npx wattwright check my-design      every finding, with the number, the limit and the rule
npx wattwright diff main            what a change does, in engineering terms
npx wattwright help
\`\`\`

Completions for bash, zsh and fish: \`wattwright completion SHELL\`. JSON outputs follow the schemas in \`schemas/\`. What is bundled, and under
which licences, stands in \`NOTICE\`, \`LICENCES.txt\` and \`sbom.cdx.json\`.

Calculated results support the work of people who know the trade; they replace neither local codes nor licensed practice.
`;

/** The language as a library, with its types; it runs in a browser as it is. */
function stageLanguage() {
  const folder = path.join(out, 'language');
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  const { description, dependencies, exports, main, types } = json('language/package.json');
  copy('language/out', path.join(folder, 'out'));
  rmSync(path.join(folder, 'out/tsconfig.tsbuildinfo'), { force: true });
  for (const file of ['CHECKS.md', 'FUNCTIONS.md', 'KINDS.md', 'UNITS.md', 'SIMULATION.md', 'PROJECT.md'])
    copy(`language/${file}`, path.join(folder, file));
  copy('LICENSE', path.join(folder, 'LICENSE'));
  writeFileSync(
    path.join(folder, 'README.md'),
    `# @wattwright/language\n\n${description}.\n\n\`analyse\` is the one entry for whoever judges designs; \`compareRevisions\` compares two states of them.\n`,
  );
  writeJson(path.join(folder, 'package.json'), {
    name: '@wattwright/language',
    ...common,
    description,
    main,
    types,
    exports: { ...exports, './package.json': './package.json' },
    files: ['out', '*.md'],
    sideEffects: false,
    dependencies,
  });
  return folder;
}

for (const folder of [stageCommandLine(), stageLanguage()]) {
  const [made] = JSON.parse(
    execFileSync('npm', ['pack', '--json', '--ignore-scripts', '--pack-destination', out], {
      cwd: folder,
      encoding: 'utf8',
    }),
  );
  console.log(
    `${path.relative(root, path.join(out, made.filename))}: ${made.entryCount} files, ${Math.round(made.size / 1000)} kB`,
  );
}
