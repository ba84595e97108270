import { DefaultTokenBuilder, EmptyFileSystem } from 'langium';
import type { TokenType } from 'chevrotain';
import { describe, expect, test } from 'vitest';
import { QUANTITY_PATTERN, UnitTokenBuilder } from '../../language/src/syntax/tokens.js';
import { createLanguageServices } from '../../language/src/syntax/module.js';

const { wattwright } = createLanguageServices(EmptyFileSystem);
const options = { caseInsensitive: false };

/** The names of what a keyword can be the beginning of. */
const longer = (tokens: readonly TokenType[]): Record<string, string[]> =>
  Object.fromEntries(
    tokens.map(({ name, LONGER_ALT: alternatives }) => [
      name,
      [alternatives ?? []].flat().map((alternative) => alternative.name),
    ]),
  );

describe('tokens', () => {
  test('keywords give way to the same longer words as without the short cut', () => {
    const plain = new DefaultTokenBuilder().buildTokens(wattwright.Grammar, options) as TokenType[];
    const own = new UnitTokenBuilder().buildTokens(wattwright.Grammar, options) as TokenType[];
    expect(longer(own)).toEqual(longer(plain));
    expect(longer(own)['design']).toEqual(['WORD']);
  });

  test('what the lexer is told of quantities holds: they begin with a digit and have no line break', () => {
    const [quantity] = (new UnitTokenBuilder().buildTokens(wattwright.Grammar, options) as TokenType[]).filter(
      ({ name }) => name === 'QUANTITY',
    );
    expect(quantity!.START_CHARS_HINT).toEqual([...'0123456789']);
    expect(quantity!.LINE_BREAKS).toBe(false);
    const whole = new RegExp(`^(?:${QUANTITY_PATTERN})$`);
    for (let code = 0; code < 0x250; code += 1) {
      const character = String.fromCharCode(code);
      if (!/\d/.test(character)) expect(whole.test(`${character}5 A`), character).toBe(false);
    }
    expect(whole.test('5 A')).toBe(true);
    for (const broken of ['5\nA', '5\r\nkWh', '5 \n A', '1.\n5 A']) expect(whole.test(broken)).toBe(false);
  });
});
