import fc from 'fast-check';
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { raise } from '../../../language/src/quantity/index.js';

describe('a power', () => {
  test('is the same as that of the language, but for some units of the last digit', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-3, max: 1e4, noNaN: true }),
        fc.double({ min: -6, max: 6, noNaN: true }),
        (base, exponent) => {
          const expected = base ** exponent;
          expect(Math.abs(raise(base, exponent) / expected - 1)).toBeLessThan(1e-14);
        },
      ),
      { seed: 1 },
    );
  });

  test('multiplies whole exponents out and takes the root of halves', () => {
    expect(raise(1.1, 3)).toBe(1.1 * 1.1 * 1.1);
    expect(raise(7, 0)).toBe(1);
    expect(raise(2, 0.5)).toBe(Math.SQRT2);
    expect(raise(-3, 3)).toBe(-27);
    expect(raise(4, -1)).toBe(0.25);
    expect(raise(0, 1.852)).toBe(0);
    expect(raise(-1, 0.3)).toBeNaN();
  });

  test('is used wherever an exponent is no small whole number', () => {
    const root = path.resolve(import.meta.dirname, '../../../language/src');
    const files = readdirSync(root, { recursive: true, encoding: 'utf8' }).filter(
      (file) => file.endsWith('.ts') && !file.includes('generated') && !file.endsWith('quantity/raise.ts'),
    );
    const found = files.flatMap((file) =>
      readFileSync(path.join(root, file), 'utf8')
        .split('\n')
        // Powers of 2 and 10 that count or round are whole.
        .filter((line) => / \*\* (?![23]\b(?!\.))/.test(line) && !/\b(2|10) \*\* |^\s*\/?\*/.test(line))
        .map((line) => `${file}: ${line.trim()}`),
    );
    expect(found).toEqual([]);
  });
});
