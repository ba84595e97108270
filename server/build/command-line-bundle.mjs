import path from 'node:path';

/**
 * How the command line is bundled into one file, for the build and for the tests that run it. Paths start at the top of the project.
 * @param {string} root
 * @returns {import('esbuild').BuildOptions}
 */
export const commandLineBundle = (root) => ({
  absWorkingDir: root,
  bundle: true,
  minify: true,
  metafile: true,
  legalComments: 'none',
  logLevel: 'warning',
  alias: { '@wattwright/language': path.join(root, 'language/src/index.ts') },
  platform: 'node',
  target: 'node20',
  format: 'esm',
  entryPoints: ['server/src/cli/main.ts'],
  outfile: 'server/dist/wattwright.mjs',
  // Bundled packages in the older module format call `require`, which a module of the newer format does not have.
  banner: {
    js: "#!/usr/bin/env node\nimport { createRequire as createRequireForBundle } from 'node:module'; const require = createRequireForBundle(import.meta.url);",
  },
});
