// Bundles what ships: the command line in one file, the language server for Node and for a browser worker, and the
// extension for the desktop and for the browser.
import { build } from 'esbuild';
import path from 'node:path';
import { chmodSync, cpSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { bundleAliases } from './server/build/bundle-aliases.mjs';
import { billOfMaterials, bundledPackages, licencesText } from './server/build/bundled-packages.mjs';
import { commandLineBundle } from './server/build/command-line-bundle.mjs';

const root = import.meta.dirname;
process.chdir(root);

/** @type {import('esbuild').BuildOptions} */
const common = {
  bundle: true,
  minify: true,
  metafile: true,
  // The licences travel in one file instead, see below.
  legalComments: 'none',
  logLevel: 'warning',
  alias: bundleAliases(root),
};

/** @type {import('esbuild').BuildOptions} */
const node = { ...common, platform: 'node' };

/** @type {import('esbuild').BuildOptions} */
const browser = {
  ...common,
  platform: 'browser',
  target: 'es2022',
  // Invariant: nothing of Node gets into a browser bundle. esbuild fails on an import of 'node:…' here, and the older
  // spelling without a prefix is refused below.
  plugins: [
    {
      name: 'no-node-modules',
      setup(bundler) {
        // Paths are text: the packages of npm hold them for browsers too.
        bundler.onResolve({ filter: /^node:path$/ }, () => ({
          path: path.join(root, 'node_modules/path-browserify/index.js'),
        }));
        bundler.onResolve(
          { filter: /^(node:.*|fs|path|os|net|url|util|crypto|child_process|worker_threads)$/ },
          (args) => ({
            errors: [
              {
                text: `${args.path} belongs to Node and cannot be part of a browser bundle (asked for by ${args.importer})`,
              },
            ],
          }),
        );
      },
    },
  ],
};

// The worker that lays out drawings needs the places and the picture alone, not the whole language.
const pictures = {
  alias: { ...bundleAliases(root), '@wattwright/language': `${root}/language/src/draw/placed.ts` },
};

/** @type {import('esbuild').BuildOptions[]} */
const bundles = [
  commandLineBundle(root),
  {
    ...node,
    target: 'node20',
    format: 'cjs',
    entryPoints: ['server/src/server-process.ts'],
    outfile: 'extension/dist/server.cjs',
  },
  { ...browser, format: 'iife', entryPoints: ['server/src/main-browser.ts'], outfile: 'extension/dist/server-web.js' },
  {
    ...node,
    target: 'node20',
    format: 'cjs',
    entryPoints: ['server/src/drawing/picture-worker-node.ts'],
    outfile: 'extension/dist/pictures.cjs',
  },
  {
    ...browser,
    ...pictures,
    format: 'iife',
    entryPoints: ['server/src/drawing/picture-worker-browser.ts'],
    outfile: 'extension/dist/pictures-web.js',
  },
  {
    ...browser,
    format: 'iife',
    entryPoints: ['extension/page/drawing.ts'],
    outfile: 'extension/dist/drawing-page.js',
  },
  {
    ...browser,
    format: 'iife',
    entryPoints: ['extension/page/plots.ts'],
    outfile: 'extension/dist/plots-page.js',
  },
  {
    ...node,
    target: 'node22',
    format: 'cjs',
    external: ['vscode'],
    entryPoints: ['extension/src/extension.ts'],
    outfile: 'extension/dist/extension.cjs',
  },
  {
    ...browser,
    format: 'cjs',
    external: ['vscode'],
    entryPoints: ['extension/src/extension-web.ts'],
    outfile: 'extension/dist/extension-web.js',
  },
];

for (const folder of ['server/dist', 'extension/dist', 'extension/syntaxes'])
  rmSync(folder, { recursive: true, force: true });

let results;
try {
  results = await Promise.all(bundles.map((bundle) => build(bundle)));
} catch {
  // esbuild has printed what is wrong.
  process.exit(1);
}
for (const folder of ['server/dist', 'extension/dist']) {
  const own = results.filter((_, index) => (bundles[index].outfile ?? bundles[index].outdir).startsWith(folder));
  writeFileSync(`${folder}/LICENCES.txt`, licencesText(bundledPackages(own)));
}
const { version, license } = JSON.parse(readFileSync('package.json', 'utf8'));
writeFileSync(
  'server/dist/sbom.cdx.json',
  `${JSON.stringify(
    billOfMaterials(
      bundledPackages([results[0]]),
      { name: 'wattwright', version, license },
      JSON.parse(readFileSync('package-lock.json', 'utf8')).packages,
    ),
    undefined,
    2,
  )}\n`,
);

chmodSync('server/dist/wattwright.mjs', 0o755);
cpSync('server/schemas', 'server/dist/schemas', { recursive: true });
mkdirSync('extension/syntaxes', { recursive: true });
cpSync('syntaxes', 'extension/syntaxes', { recursive: true });
// The editor completes and checks project files by it.
mkdirSync('extension/schemas', { recursive: true });
cpSync('server/schemas/project.schema.json', 'extension/schemas/project.schema.json');
cpSync('LICENSE', 'extension/LICENSE');
cpSync('NOTICE', 'extension/NOTICE');
cpSync('CHANGELOG.md', 'extension/CHANGELOG.md');
