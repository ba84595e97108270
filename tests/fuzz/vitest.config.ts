import path from 'node:path';
import { defineConfig } from 'vitest/config';

/** For `npm run fuzz` alone: the long run is no part of the suite. */
export default defineConfig({
  root: path.resolve(import.meta.dirname, '../..'),
  resolve: { alias: { '@wattwright/language': path.resolve(import.meta.dirname, '../../language/src/index.ts') } },
  test: {
    include: ['tests/fuzz/run/*.fuzz.ts'],
    setupFiles: ['tests/helpers/clean-up.ts'],
    // A day: the run ends by itself when its time is spent.
    testTimeout: 86_400_000,
    // A process of its own, since calls change the working folder.
    pool: 'forks',
  },
});
