import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { expect, test } from 'vitest';

const TESTS = path.resolve(import.meta.dirname, '..');

/** Ways to read a clock. A test that judges by one fails on a busy machine; it counts work instead. */
const CLOCKS = /\b(?:performance\.now|Date\.now|hrtime|process\.uptime|console\.time)\b/;
/** Shortest time after which a test may be ended, in ms: long enough to end nothing but what hangs. */
const LEAST_PATIENCE = 600_000;

const sources = readdirSync(TESTS, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.ts') && !name.includes('node_modules') && !/^(?:bench|editor)\b/.test(name))
  .filter((name) => path.basename(name) !== path.basename(import.meta.filename))
  .map((name) => ({ name, text: readFileSync(path.join(TESTS, name), 'utf8') }));

test('no test reads a clock', () => {
  // The fuzz run is given a time to spend, and the examiner says how long a text took: neither is judged.
  const may = new Set(['fuzz/examiner.ts', 'fuzz/run/budget.ts']);
  expect(sources.length).toBeGreaterThan(200);
  expect(sources.filter(({ name, text }) => CLOCKS.test(text) && !may.has(name)).map(({ name }) => name)).toEqual([]);
});

test('no test is ended before one that hangs must be', () => {
  const short = sources.flatMap(({ name, text }) =>
    [
      ...text.matchAll(/\b(?:timeout|testTimeout|hookTimeout|TIME)\b\s*[:=]\s*([\d_]+)/g),
      ...text.matchAll(/^\s*\},\s*([\d_]{3,}),?\s*\)?;?$/gm),
    ]
      .filter((match) => Number(match[1]!.replaceAll('_', '')) < LEAST_PATIENCE)
      .map((match) => `${name}: ${match[0].trim()}`),
  );
  expect(short).toEqual([]);
});
