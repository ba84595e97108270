import { type AstNode, AstUtils, type ParseResult } from 'langium';
import * as ast from '../grammar/generated/ast.js';
import { blanked, endOfPiece, islandsOf } from './islands.js';
import { type ParserError, ownError } from './own-error.js';

/** A text of the same length that is understood further, and the error that stands for what was changed. */
interface Repair {
  readonly text: string;
  readonly error: ParserError;
}

/** Texts with more slips than this are read as far as they go: each repair reads the whole text once more. */
const MOST_REPAIRS = 12;
/** Longer texts are read once, whatever is wrong with them. */
const LONGEST_REPAIRED = 200_000;

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
  const mended = told.length > 0 ? { ...best, parserErrors: [...told, ...best.parserErrors] } : first;
  return mended.parserErrors.length === 0 ? mended : byLayout(text, mended, parse);
}

/** Up to so many errors are one slip that is told in words of its own once its text is understood: a unit that is none. */
const FEW_ERRORS = 2;

/** The text read by its layout, where that finds more things in it, or as many with less to say of a slip that has cost much. */
function byLayout<T extends AstNode>(
  text: string,
  mended: ParseResult<T>,
  parse: (text: string) => ParseResult<T>,
): ParseResult<T> {
  const islands = islandsOf(text, parse);
  if (islands.errors.length === 0) return mended;
  const result = parse(islands.text);
  const parserErrors = [...islands.errors, ...result.parserErrors];
  const more = thingsIn(result.value) - thingsIn(mended.value);
  const isBetter =
    more > 0 ||
    (more === 0 && parserErrors.length < mended.parserErrors.length && mended.parserErrors.length > FEW_ERRORS);
  return isBetter ? { ...result, parserErrors } : mended;
}

/** How many things with a name a text declares: designs, what stands in them, parts and variants. Properties are none. */
const thingsIn = (root: AstNode): number =>
  AstUtils.streamAllContents(root)
    .filter(
      (node) =>
        !ast.isProperty(node) &&
        (node as { name?: string }).name !== undefined &&
        (ast.isFile(node.$container) || ast.isDesign(node.$container) || ast.isAddition(node.$container)),
    )
    .count();
