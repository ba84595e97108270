import type { AstNode, ParseResult } from 'langium';
import { type ParserError, ownError } from './own-error.js';

/** Reads a text that need not be a whole file. */
export type Parse = (text: string) => ParseResult<AstNode>;

/** A stretch of a text that is read by itself, without the space around it. */
interface Stretch {
  readonly from: number;
  readonly to: number;
}

/** A text of the same length in which each stretch that cannot be read is left out as far as need be, and one error for each of them. */
export interface Islands {
  readonly text: string;
  readonly errors: readonly ParserError[];
}

interface Line extends Stretch {
  readonly indent: number;
}

/** Parts of a faulty stretch that are left out one after the other before the whole of it is. */
const MOST_PIECES = 4;

export const blanked = (text: string, from: number, to: number): string =>
  text.slice(0, from) + text.slice(from, to).replace(/[^\n\r]/g, ' ') + text.slice(to);

/** Where a piece of a line ends, from a place in it on: before a bracket that closes a body opened before the place, else at the end of the line. */
export function endOfPiece(text: string, from: number): number {
  let depth = 0;
  for (let at = from; at < text.length; at += 1) {
    const sign = text[at]!;
    if (sign === '\n' && depth === 0) return at;
    if (sign === '{') depth += 1;
    if (sign === '}' && (depth -= 1) < 0) return at;
  }
  return text.length;
}

/** Comments and texts in quotes say nothing of where things begin and end. */
export const withoutWords = (text: string): string =>
  text.replace(/"(?:\\.|[^"\\\n\r])*"|\/\/[^\n\r]*|\/\*[^]*?\*\//g, (piece) =>
    piece.startsWith('"') ? `"${piece.slice(1, -1).replace(/[^\n\r]/g, '_')}"` : piece.replace(/[^\n\r]/g, ' '),
  );

/** The lines that hold something, without the space around it. */
function linesOf(plain: string, from: number, to: number): Line[] {
  const lines: Line[] = [];
  let start = from;
  for (const line of plain.slice(from, to).split('\n')) {
    const held = line.trim();
    const indent = line.length - line.trimStart().length;
    if (held !== '') lines.push({ from: start + indent, to: start + indent + held.length, indent });
    start += line.length + 1;
  }
  return lines;
}

/** Lines gathered under those that begin something: at the indent given or left of it, and no closing bracket. */
function gathered(lines: readonly Line[], indent: number, plain: string): Line[][] {
  const groups: Line[][] = [];
  const begins = (line: Line): boolean =>
    (line.indent <= indent && plain[line.from] !== '}') ||
    // A header whose first word is gone.
    (indent === 0 && line.indent === 1 && plain[line.to - 1] === '{');
  for (const line of lines)
    if (groups.length === 0 || begins(line)) groups.push([line]);
    else groups.at(-1)!.push(line);
  return groups;
}

/**
 * Reads a faulty text by its layout: what begins at the left edge, and what is indented in it, is read by itself, so that a slip costs only the
 * thing it stands in. Of that as much is kept as can be read. Nothing for a text whose lines are not indented.
 */
export function islandsOf(text: string, parse: Parse): Islands {
  const plain = withoutWords(text);
  const errors: ParserError[] = [];
  let result = text;
  /** Replaces a stretch by a text of its length. */
  const put = ({ from, to }: Stretch, written: string): void => {
    result = result.slice(0, from) + written + result.slice(to);
  };
  const readAlone = (stretch: Stretch, around: readonly [string, string]): void => {
    const kept = readable(text.slice(stretch.from, stretch.to), around, parse);
    if (!kept.error) return;
    errors.push(movedTo(kept.error, stretch.from - around[0].length, text, stretch));
    put(stretch, kept.text);
  };

  /** Writes a missing bracket behind a line, for which the line moves into its indent. */
  const close = ({ from, to }: Line): void => {
    errors.push(missing(text, to));
    put({ from: from - 1, to }, `${result.slice(from, to)}}`);
  };

  for (const unit of gathered(linesOf(plain, 0, plain.length), 0, plain)) {
    const [head, ...inner] = unit;
    const first = plain.slice(head!.from, head!.to);
    const isBlock =
      /\b(?:design|variant)\b/.test(first) || (first.endsWith('{') && !/\b(?:part|profile|let)\b/.test(first));
    if (!isBlock || inner.length === 0 || first.endsWith('}')) {
      readAlone({ from: head!.from, to: unit.at(-1)!.to }, ['', '']);
      continue;
    }
    const header = headerOf(text.slice(head!.from, head!.to), first, parse);
    if (header.error) {
      errors.push(movedTo(header.error, head!.from, text, head!));
      put(head!, header.text);
    }
    const closing = inner.filter((line) => line.indent === 0);
    const members = inner.filter((line) => line.indent > 0);
    // One bracket closes the whole; what stands beside the last one is no part of it.
    for (const line of closing) put(line, (line === closing.at(-1) ? '}' : '').padEnd(line.to - line.from));
    const indent = Math.min(...members.map((line) => line.indent));
    const around: [string, string] = /\bvariant\b/.test(first) ? ['variant X of Y{', '}'] : ['design X{', '}'];
    for (const group of gathered(members, indent, plain))
      readAlone({ from: group[0]!.from, to: group.at(-1)!.to }, around);
    if (closing.length === 0) close(members.at(-1)!);
  }
  return { text: result, errors };
}

interface Kept {
  readonly text: string;
  /** The first thing that is wrong with it, by its place in what was read. */
  readonly error?: ParserError;
}

/** As much of a stretch as can be read by itself: without the piece that is wrong, else its head, else nothing of it. */
function readable(stretch: string, [before, after]: readonly [string, string], parse: Parse): Kept {
  const errorsOf = (piece: string): readonly ParserError[] => parse(`${before}${piece}${after}`).parserErrors;
  const [first, ...rest] = errorsOf(stretch);
  if (!first) return { text: stretch };
  const error = [first, ...rest].reduce((so, next) => (placeOf(next) < placeOf(so) ? next : so));
  const holds = (piece: string): boolean => errorsOf(piece).length === 0;
  let left = stretch;
  for (let pieces = 0; pieces < MOST_PIECES; pieces += 1) {
    const places = errorsOf(left).map((each) => placeOf(each) - before.length);
    const at = Math.min(left.trimEnd().length, ...places);
    const candidates = [at, startOfWordBefore(left, at)].map((from) => blanked(left, from, endOfPiece(left, from)));
    const whole = candidates.find(holds);
    if (whole !== undefined) return { text: whole, error };
    if (candidates[0] === left) break;
    left = candidates[0]!;
  }
  const open = stretch.indexOf('{');
  const head = open < 0 ? stretch.length : open;
  const heads = [
    ...(open < 0 || stretch.length < open + 2
      ? []
      : [`${blanked(stretch, open + 1, stretch.length - 1).slice(0, -1)}}`]),
    blanked(stretch, head, stretch.length),
    blanked(stretch, /^\w+\s+\w+/.exec(stretch)?.[0].length ?? 0, stretch.length),
  ];
  return { text: heads.find(holds) ?? blanked(stretch, 0, stretch.length), error };
}

/** The beginning of the word or sign in front of a place. */
function startOfWordBefore(text: string, at: number): number {
  const before = text.slice(0, at).trimEnd();
  return before.length - (/(?:[\w-]+|.)$/.exec(before)?.[0].length ?? 0);
}

/** The line that opens a design or a variant; where it cannot be read, one that has its name and nothing else of it. */
function headerOf(line: string, plain: string, parse: Parse): Kept {
  const [error] = parse(`${line}}`).parserErrors;
  if (!error) return { text: line };
  const [name, base] = [...plain.matchAll(/\b[A-Z]\w*/g)].map(({ 0: word }) => word);
  const head = headWith(/\bvariant\b/.test(plain), name, base);
  const room = line.length - (head?.length ?? Infinity) - 1;
  const written = head === undefined || room < 0 ? line : `${head}${' '.repeat(room)}{`;
  return { text: parse(`${written}}`).parserErrors.length === 0 ? written : line, error };
}

/** The head of a design or a variant; a line without their names is none. */
function headWith(isVariant: boolean, name: string | undefined, base: string | undefined): string | undefined {
  if (name === undefined || (isVariant && base === undefined)) return undefined;
  return isVariant ? `variant ${name} of ${base}` : `design ${name}`;
}

/** A bracket that lacks behind a place. */
const missing = (text: string, at: number): ParserError =>
  ownError(text, at - 1, {
    name: 'MismatchedTokenException',
    message: "Expecting token of type '}'",
    image: text[at - 1]!,
    token: 'WORD',
  });

const placeOf = ({ token }: ParserError): number => (Number.isFinite(token.startOffset) ? token.startOffset : Infinity);

/** An error of a stretch as one of the whole text; what is wrong at its end is told at its end. */
export function movedTo(error: ParserError, by: number, text: string, { from, to }: Stretch): ParserError {
  const end = Math.max(from, to - 1);
  const startOffset = Math.min(end, Math.max(from, placeOf(error) + by));
  const image = placeOf(error) + by > end ? '' : error.token.image;
  const lines = text.slice(0, startOffset).split('\n');
  const startColumn = lines.at(-1)!.length + 1;
  const further = Math.max(0, image.length - 1);
  const token = {
    ...error.token,
    image: image || text[startOffset]!,
    startOffset,
    endOffset: startOffset + further,
    startLine: lines.length,
    endLine: lines.length,
    startColumn,
    endColumn: startColumn + further,
  };
  const { name, message, resyncedTokens, context } = error;
  return { name, message, token, resyncedTokens, context };
}
