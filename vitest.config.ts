import { defineConfig } from 'vitest/config';
import path from 'node:path';

const EXCLUDED = ['tests/editor/**', '**/node_modules/**'];
/** Tests that put other kinds in the place of the real ones. */
const ALONE = ['tests/unit/equipment/toy-kinds.test.ts'];

export default defineConfig({
  resolve: {
    // Tests run from source, so that no build is needed between an edit and its test.
    alias: { '@wattwright/language': path.resolve(import.meta.dirname, 'language/src/index.ts') },
  },
  test: {
    globalSetup: ['tests/helpers/shared-folder.ts'],
    setupFiles: ['tests/helpers/clean-up.ts', 'tests/helpers/property-seed.ts'],
    // Ends what hangs and judges no time: far above what any test needs on a busy machine.
    testTimeout: 600_000,
    hookTimeout: 600_000,
    // Every core works: the machine that runs the tests has nothing else to do.
    maxWorkers: '100%',
    // An analysis holds the whole design: a failed comparison shows where it differs, not all of it.
    diff: { truncateThreshold: 60, truncateAnnotation: '… and more', maxDepth: 5 },
    projects: [
      // Nothing of the house is kept between analyses, so that files can share what is loaded: half the time.
      {
        extends: true,
        test: { name: 'shared', isolate: false, include: ['tests/**/*.test.ts'], exclude: [...EXCLUDED, ...ALONE] },
      },
      { extends: true, test: { name: 'alone', isolate: true, include: ALONE } },
    ],
  },
});
