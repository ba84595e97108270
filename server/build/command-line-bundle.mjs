import { bundleAliases } from './bundle-aliases.mjs';

/**
 * How the command line is bundled, for the build and for the tests that run it: a file that starts, one that starts a thread beside it, and parts that are read by the commands
 * that need them. Paths start at the top of the project.
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
  alias: bundleAliases(root),
  platform: 'node',
  target: 'node20',
  format: 'esm',
  entryPoints: { wattwright: 'server/src/cli/main.ts', 'runs-thread': 'server/src/cli/runs-thread.ts' },
  outdir: 'server/dist',
  outExtension: { '.js': '.mjs' },
  // Laying out drawings takes more code than all the rest: nobody else should read it at each start.
  splitting: true,
  chunkNames: 'parts/[name]-[hash]',
  // Bundled packages in the older module format call `require`, which a module of the newer format does not have.
  banner: {
    js: "#!/usr/bin/env node\nimport { createRequire as createRequireForBundle } from 'node:module'; const require = createRequireForBundle(import.meta.url);",
  },
});
