import { describe, expect, it } from 'vitest';
import { analyseText } from '../../helpers/analyse.js';

/** What is said of the value of a `let`, with the text it stands at. */
async function told(value: string, before = ''): Promise<string[]> {
  const text = `${before}let a = ${value}\ndesign Hut {}\n`;
  const { findings } = await analyseText(text);
  return findings.map(({ message, place }) => `${text.slice(place.offset, place.end)}: ${message}`);
}

describe('what gives no number is told where it arises, and why', () => {
  it.each([
    ['1 V / 0', '1 V / 0: The result is `1 V / 0`; division by zero.'],
    ['5 A + 1 V / (2 ohm - 2 ohm)', '1 V / (2 ohm - 2 ohm): The result is `1 V / (2 ohm - 2 ohm)`; division by zero.'],
    ['1 V / (-1..1)', '1 V / (-1..1): The result is `1 V / (-1..1)`; division by zero.'],
    ['1e308 V * 10', '1e308 V * 10: The result is `1e308 V * 10`; the result is not a finite number.'],
    [
      '2 * (1e308 V + 1e308 V)',
      '1e308 V + 1e308 V: The result is `1e308 V + 1e308 V`; the result is not a finite number.',
    ],
    ['10 ^ 400', '10 ^ 400: The result is `10 ^ 400`; the result is not a finite number.'],
    ['1e999 V', '1e999 V: The number is `1e999 V`; it is too large to be a number.'],
    ['1e306 kV', '1e306 kV: The number is `1e306 kV`; it is too large to be a number.'],
    ['0 ^ -1', '0 ^ -1: The result is `0 ^ -1`; the result is not a finite number.'],
  ])('%s', async (value, message) => {
    expect(await told(value)).toEqual([message]);
  });

  it('and is not told again where it is used', async () => {
    expect(await told('zero * 2', 'let zero = 1 V / 0\n')).toEqual([
      '1 V / 0: The result is `1 V / 0`; division by zero.',
    ]);
  });
});
