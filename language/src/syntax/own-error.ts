import type { ParseResult } from 'langium';

export type ParserError = ParseResult['parserErrors'][number];

/** An error of this parser’s own, in the form of those that it inherits. */
export function ownError(
  text: string,
  startOffset: number,
  { name, message, image, token }: { name: string; message: string; image: string; token: string },
): ParserError {
  const lines = text.slice(0, startOffset).split('\n');
  const column = lines.at(-1)!.length + 1;
  const further = Math.max(0, image.length - 1);
  const error = {
    name,
    message,
    token: {
      image,
      tokenTypeIdx: 0,
      tokenType: { name: token },
      startOffset,
      endOffset: startOffset + further,
      startLine: lines.length,
      endLine: lines.length,
      startColumn: column,
      endColumn: column + further,
    },
    resyncedTokens: [],
    context: { ruleStack: [], ruleOccurrenceStack: [] },
  };
  return error as unknown as ParserError;
}
