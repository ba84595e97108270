import type { LangiumDocument } from 'langium';
import type { Problem } from '../problems.js';

/** What the lexer and the parser could not read, in the words of the language. */
export function syntaxProblems(document: LangiumDocument): Problem[] {
  const problems: Problem[] = [];
  const uri = document.uri.toString();
  const { lexerErrors, parserErrors } = document.parseResult;
  const text = document.textDocument.getText();
  const add = (offset: number, end: number, message: string): void => {
    const from = Math.min(Math.max(0, offset), text.length);
    const to = Math.min(Math.max(from, end), text.length);
    const start = document.textDocument.positionAt(from);
    const stop = document.textDocument.positionAt(to);
    const place = {
      uri,
      offset: from,
      end: to,
      line: start.line,
      character: start.character,
      endLine: stop.line,
      endCharacter: stop.character,
    };
    problems.push({ code: 'syntax-error', message, place, subject: '' });
  };
  for (const error of lexerErrors)
    add(
      error.offset,
      error.offset + error.length,
      `\`${text.slice(error.offset, error.offset + Math.min(error.length, 20))}\` does not belong here`,
    );
  for (const error of parserErrors) {
    const { token } = error;
    const atEnd = token.tokenType.name === 'EOF' || !Number.isFinite(token.startOffset);
    const offset = atEnd && !Number.isFinite(token.startOffset) ? text.trimEnd().length : token.startOffset;
    const end = atEnd ? offset : (token.endOffset ?? offset) + 1;
    add(offset, end, wordSyntaxError(error.name, error.message, token.image));
  }
  return problems;
}

/** The parser's message in the words of the language. */
function wordSyntaxError(name: string, message: string, image: string): string {
  const found = image ? `\`${image.slice(0, 30)}\`` : 'the end of the text';
  const expected =
    /Expecting token of type '([^']+)'/.exec(message)?.[1] ??
    /Expecting: one of these possible Token sequences:/.exec(message)?.[0];
  if (name === 'NestingTooDeep') return message;
  if (name === 'MismatchedTokenException' && expected === 'EOF')
    return `${found} does not start a declaration; use, part, profile, let, design or variant stand here`;
  if (name === 'MismatchedTokenException' && expected)
    return `${SPOKEN_TOKENS[expected] ?? `\`${expected}\``} is missing before ${found}`;
  if (name === 'NotAllInputParsedException')
    return `${found} does not belong here; a bracket may be missing or one too many`;
  if (name === 'NoViableAltException' || name === 'EarlyExitException') return `${found} does not fit here`;
  return `${found} is not expected here`;
}

const SPOKEN_TOKENS: Readonly<Record<string, string>> = {
  WORD: 'a name',
  STRING: 'a text in double quotes',
  NUMBER: 'a number',
  QUANTITY: 'a number with its unit',
  DATE: 'a date such as 2027-01-15',
  TIME: 'a time of day',
  ':': '`:`',
};
