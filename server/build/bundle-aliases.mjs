import path from 'node:path';

/**
 * What stands for packages in every bundle; `root` is the top of the project.
 * @param {string} root
 * @returns {Record<string, string>}
 */
export const bundleAliases = (root) => ({
  // The bundles are made from source, so that they never carry stale compiler output.
  '@wattwright/language': path.join(root, 'language/src/index.ts'),
  // Its main file finds its own parts in a way that no bundle can follow.
  'jsonc-parser': path.join(root, 'node_modules/jsonc-parser/lib/esm/main.js'),
});
