import type { LangiumServices } from 'langium/lsp';
import type { PlainToken } from './completion-context.js';

/** The tokens that end at or before an offset. */
export function tokensBefore(services: LangiumServices, text: string, offset: number): PlainToken[] {
  return services.parser.Lexer.tokenize(text.slice(0, offset)).tokens.map((token) => ({
    type: token.tokenType.name,
    text: token.image,
  }));
}

const LAST_WORD = /[\p{L}_][\w\u00C0-\u017F]*(?:-[\w\u00C0-\u017F]*)*$/u;

/** Where the word that is being typed at an offset begins; the offset itself when there is none. */
export const wordStart = (text: string, offset: number): number =>
  offset - (LAST_WORD.exec(text.slice(Math.max(0, offset - 200), offset))?.[0].length ?? 0);

/** Whether an offset lies in a comment or a string, where nothing is completed. */
export function isInTextOrComment(text: string, offset: number): boolean {
  const pieces = /"(?:\\.|[^"\\\n\r])*(?:"|(?=[\n\r])|$)|\/\/[^\n\r]*|\/\*[\s\S]*?(?:\*\/|$)/g;
  for (let match = pieces.exec(text); match && match.index < offset; match = pieces.exec(text)) {
    const end = match.index + match[0].length;
    const closed = match[0].startsWith('/*')
      ? match[0].endsWith('*/') && match[0].length > 3
      : /^".*"$/s.test(match[0]) && match[0].length > 1;
    if (offset < end || (offset === end && !closed)) return true;
  }
  return false;
}
