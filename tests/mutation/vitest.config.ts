import { defineConfig } from 'vitest/config';
import path from 'node:path';

/** The tests that judge one file of mutants: `run.mjs` names them. */
export default defineConfig({
  resolve: { alias: { '@wattwright/language': path.resolve(import.meta.dirname, '../../language/src/index.ts') } },
  test: {
    root: path.resolve(import.meta.dirname, '../..'),
    include: (process.env['MUTATION_TESTS'] ?? '').split(','),
    setupFiles: ['tests/helpers/clean-up.ts', 'tests/helpers/property-seed.ts'],
    // The files of one mutant share what is loaded, which is most of the time; another mutant begins anew.
    isolate: false,
    testTimeout: 600_000,
    hookTimeout: 600_000,
  },
});
