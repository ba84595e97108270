import type { TokenType } from 'chevrotain';
import { DefaultTokenBuilder, type GrammarAST } from 'langium';
import { UNIT_PATTERN } from '../quantity/index.js';

/**
 * The pattern of a number with its unit, made from the units table. A unit ends where no letter, digit or underscore follows, so that
 * the name of the next property is never taken for a unit.
 */
export const QUANTITY_PATTERN = `\\d+(?:\\.\\d+)?(?:[eE][+-]?\\d+)?[ \\t]*${UNIT_PATTERN}(?![A-Za-z0-9_\\u00C0-\\u024F])`;

const DIGITS = [...'0123456789'];
const PLAIN_WORD = /^[A-Za-z]\w*$/;

/** Puts the units table into the lexer, so that units are written down in one place only. */
export class UnitTokenBuilder extends DefaultTokenBuilder {
  private longerThanWord: TokenType[] | undefined;

  /** What is said here of quantities the lexer would find out by taking their long pattern apart, at each start. */
  protected override buildTerminalToken(terminal: GrammarAST.TerminalRule): TokenType {
    const token = super.buildTerminalToken(terminal);
    if (terminal.name === 'QUANTITY')
      Object.assign(token, { PATTERN: new RegExp(QUANTITY_PATTERN), START_CHARS_HINT: DIGITS, LINE_BREAKS: false });
    return token;
  }

  /**
   * No keyword begins with a digit: trying each on the long pattern of quantities would take most of the start. Keywords that are plain words
   * can all be the beginning of the same.
   */
  protected override findLongerAlt(keyword: GrammarAST.Keyword, terminals: TokenType[]): TokenType[] {
    const find = (): TokenType[] =>
      super.findLongerAlt(
        keyword,
        terminals.filter(({ name }) => name !== 'QUANTITY'),
      );
    return PLAIN_WORD.test(keyword.value) ? (this.longerThanWord ??= find()) : find();
  }
}

const LITERAL = /^(\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)[ \t]*(.*)$/s;

/** Splits the text of a quantity literal into its number and the spelling of its unit. */
export function splitLiteral(text: string): { number: number; unit: string } {
  const match = LITERAL.exec(text);
  return { number: Number(match?.[1] ?? Number.NaN), unit: match?.[2] ?? '' };
}
