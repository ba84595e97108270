import type { TokenType } from 'chevrotain';
import { DefaultTokenBuilder, type GrammarAST } from 'langium';
import { UNIT_PATTERN } from '../quantity/index.js';

/**
 * The pattern of a number with its unit, made from the units table. A unit ends where no letter, digit or underscore follows, so that
 * the name of the next property is never taken for a unit.
 */
export const QUANTITY_PATTERN = `\\d+(?:\\.\\d+)?(?:[eE][+-]?\\d+)?[ \\t]*${UNIT_PATTERN}(?![A-Za-z0-9_\\u00C0-\\u024F])`;

/** Puts the units table into the lexer, so that units are written down in one place only. */
export class UnitTokenBuilder extends DefaultTokenBuilder {
  protected override buildTerminalToken(terminal: GrammarAST.TerminalRule): TokenType {
    const token = super.buildTerminalToken(terminal);
    if (terminal.name === 'QUANTITY') token.PATTERN = new RegExp(QUANTITY_PATTERN);
    return token;
  }

  /** No keyword begins with a digit. Trying each on the long pattern of quantities would take most of the start. */
  protected override findLongerAlt(keyword: GrammarAST.Keyword, terminals: TokenType[]): TokenType[] {
    return super.findLongerAlt(
      keyword,
      terminals.filter(({ name }) => name !== 'QUANTITY'),
    );
  }
}

const LITERAL = /^(\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)[ \t]*(.*)$/s;

/** Splits the text of a quantity literal into its number and the spelling of its unit. */
export function splitLiteral(text: string): { number: number; unit: string } {
  const match = LITERAL.exec(text);
  return { number: Number(match?.[1] ?? Number.NaN), unit: match?.[2] ?? '' };
}
