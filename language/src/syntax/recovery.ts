import type { AstNode, ParseResult } from 'langium';

type ParserError = ParseResult['parserErrors'][number];

/** A text of the same length that is understood further, and the error that stands for what was changed. */
interface Repair {
  readonly text: string;
  readonly error: ParserError;
}

/** Texts with more slips than this are read as far as they go: each repair reads the whole text once more. */
const MOST_REPAIRS = 12;
/** Longer texts are read once, whatever is wrong with them. */
const LONGEST_REPAIRED = 200_000;

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

const blanked = (text: string, from: number, to: number): string =>
  text.slice(0, from) + text.slice(from, to).replace(/[^\n\r]/g, ' ') + text.slice(to);

/** A `}` that closes a design too early, where the next word can only be a member of it: everything behind would be lost. */
function strayBracket(text: string, errors: readonly ParserError[]): Repair | undefined {
  const end = errors.find(({ name, message }) => name === 'MismatchedTokenException' && message.includes("'EOF'"));
  const before = end && text.slice(0, end.token.startOffset);
  const at = before && /\}(?=(?:\s|\/\/[^\n]*\n|\/\*(?:[^*]|\*(?!\/))*\*\/)*$)/.exec(before)?.index;
  if (typeof at !== 'number') return undefined;
  const error = ownError(text, at, {
    name: 'NotAllInputParsedException',
    message: 'a bracket too many',
    image: '}',
    token: '}',
  });
  return { text: blanked(text, at, at + 1), error };
}

/** A line that begins a thing, inside the body of another that was not closed: the bracket is put into the space before it. */
function missingBracket(text: string, errors: readonly ParserError[]): Repair | undefined {
  for (const { name, message, token, context } of errors) {
    if (name !== 'MismatchedTokenException' || !message.includes("':'") || !Number.isFinite(token.startOffset))
      continue;
    if (!context.ruleStack.at(-1)?.startsWith('Property')) continue;
    const lineStart = text.lastIndexOf('\n', token.startOffset) + 1;
    const begins = /^(\s+)([a-zA-Z]+) +[A-Z]\w*\s*(?:"[^"\n]*"\s*)?(?:of\s|[:{])/.exec(text.slice(lineStart));
    if (!begins) continue;
    const at = lineStart + begins[1]!.length;
    const error = ownError(text, at, {
      name: 'MismatchedTokenException',
      message: "Expecting token of type '}'",
      image: begins[2]!,
      token: 'WORD',
    });
    return { text: `${text.slice(0, at - 1)}}${text.slice(at)}`, error };
  }
  return undefined;
}

/** Where a piece of a line ends, from a place in it on: before a bracket that closes a body opened before the place, else at the end of the line. */
function endOfPiece(text: string, from: number): number {
  let depth = 0;
  for (let at = from; at < text.length; at += 1) {
    const sign = text[at]!;
    if (sign === '\n' && depth === 0) return at;
    if (sign === '{') depth += 1;
    if (sign === '}' && (depth -= 1) < 0) return at;
  }
  return text.length;
}

/** A piece of a line for which the parser gave up lines that stand behind it: it is left out, and the rest is read. */
function lostPiece(text: string, errors: readonly ParserError[]): Repair | undefined {
  const lost = errors.find(({ token, resyncedTokens }) =>
    resyncedTokens.some(({ startLine }) => (startLine ?? 0) > (token.endLine ?? Infinity)),
  );
  const slip = lost && errors.find(({ token }) => token.startLine === lost.token.startLine);
  if (!slip || !Number.isFinite(slip.token.startOffset)) return undefined;
  const from = slip.token.startOffset;
  const to = endOfPiece(text, from);
  return to > from ? { text: blanked(text, from, to), error: slip } : undefined;
}

const REPAIRS = [strayBracket, missingBracket, lostPiece];

/**
 * Reads a faulty text again and again, each time without the slip that cost most of what stands behind it, as long as fewer errors are left.
 * Every text that is read has the length of the first, so that all places are its own; the errors are those of what was left out, in their order,
 * and what is left.
 */
export function recovered<T extends AstNode>(
  text: string,
  first: ParseResult<T>,
  parse: (text: string) => ParseResult<T>,
): ParseResult<T> {
  if (text.length > LONGEST_REPAIRED) return first;
  const told: ParserError[] = [];
  let [current, best] = [text, first];
  while (told.length < MOST_REPAIRS && best.parserErrors.length > 0) {
    const next = REPAIRS.flatMap((attempt) => {
      const repair = attempt(current, best.parserErrors);
      if (!repair) return [];
      const result = parse(repair.text);
      return result.parserErrors.length < best.parserErrors.length ? [{ repair, result }] : [];
    })[0];
    if (!next) break;
    told.push(next.repair.error);
    [current, best] = [next.repair.text, next.result];
  }
  return told.length > 0 ? { ...best, parserErrors: [...told, ...best.parserErrors] } : first;
}
