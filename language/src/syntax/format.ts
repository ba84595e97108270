import { type AstNode, AstUtils, GrammarUtils, type LangiumCoreServices } from 'langium';
import {
  isAccept,
  isAddition,
  isCall,
  isControl,
  isDesign,
  isFallback,
  isInitialValue,
  isInstance,
  isLet,
  isLink,
  isOverride,
  isPart,
  isProfileDeclaration,
  isProperty,
  isOutcome,
  isReading,
  isRemoval,
  isReplacement,
  isRequire,
  isRule,
  isRun,
  isScenario,
  isSite,
  isTableRow,
  isUnary,
  isUse,
  isVariant,
} from '../grammar/generated/ast.js';

/*
 * The one canonical layout. What the author decides is where lines end; everything else is fixed:
 *
 * - Two spaces of indentation for every brace that is open; a line that continues the one before has four more.
 * - A block in braces that the author wrote on one line stays on one line while it fits into WIDTH columns; any other has a line end
 *   after `{` and before `}`. A block that holds things (instances, runs, requirements …) always has.
 * - In an open block the author's line ends between properties stay. Properties on one line have three spaces between them, table
 *   rows one. Things, rules of a control in an open block excepted, begin a line of their own.
 * - One blank line at most, none after `{`, before `}` or at the beginning.
 * - A line may also end before `->`, `and`, `or`, `during`, `because` and `until`, and after a comma; other line ends are taken out.
 * - `name: value`, `kind Name : Part`, spaces around operators; none around `.`, `^` and a range of plain numbers (`-20..32 degC`).
 * - One space between a number and its unit, `%` included. Columns are never aligned, so that a change stays on its line.
 * - Comments stay where they are. After code, `//` has two spaces before it.
 */

const WIDTH = 120;
const INDENT = 2;
const CONTINUATION = 4;
const BETWEEN_PROPERTIES = 3;
const BEFORE_COMMENT = 2;

/** Replaces the text from `offset` up to `end`. */
export interface LayoutEdit {
  readonly offset: number;
  readonly end: number;
  readonly text: string;
}

/** `text` in the canonical layout; or the text as it was, because a text with syntax errors is left alone. */
export type FormatResult =
  | { readonly kind: 'formatted'; readonly text: string; readonly edits: readonly LayoutEdit[] }
  | { readonly kind: 'left-alone'; readonly text: string; readonly reason: 'syntax-errors' };

type ParserServices = { readonly parser: Pick<LangiumCoreServices['parser'], 'LangiumParser' | 'Lexer'> };

/**
 * Lays a text out. Pure and idempotent; tokens and comments stay the same but for the spaces within a quantity, at the ends of comment
 * lines and before their leading stars. A byte-order mark stays, and all line ends become what most of them are. A text with syntax
 * errors comes back unchanged.
 */
export function formatText(text: string, services: ParserServices): FormatResult {
  const { value, lexerErrors, parserErrors } = services.parser.LangiumParser.parse(text);
  const unchanged: FormatResult = { kind: 'left-alone', text, reason: 'syntax-errors' };
  if (lexerErrors.length > 0 || parserErrors.length > 0) return unchanged;
  const items = itemsOf(text, services);
  const edits = new Layout(items, marksOf(value), text).edits();
  const formatted = applyEdits(text, edits);
  // Invariant: only layout changes. A text whose meaning hangs on its line ends in a way not foreseen here is left alone.
  if (!sameItems(items, itemsOf(formatted, services))) return unchanged;
  return { kind: 'formatted', text: formatted, edits };
}

/** What ends the lines of a text: `\r\n` where most of them end so, else `\n`. */
export function lineEndOf(text: string): '\n' | '\r\n' {
  const windows = text.split('\r\n').length - 1;
  return windows > text.split('\n').length - 1 - windows ? '\r\n' : '\n';
}

const BYTE_ORDER_MARK = '\uFEFF';

/** `text` with edits that are in order and do not overlap. */
export function applyEdits(text: string, edits: readonly LayoutEdit[]): string {
  let result = '';
  let at = 0;
  for (const edit of edits) {
    result += text.slice(at, edit.offset) + edit.text;
    at = edit.end;
  }
  return result + text.slice(at);
}

/** A token or comment, in the order of the text. */
interface Item {
  readonly kind: 'token' | 'line-comment' | 'block-comment';
  readonly type: string;
  /** As it will be written; the lines of a block comment without their indentation. */
  readonly text: string;
  readonly offset: number;
  readonly end: number;
  /** Line ends the author put before it. */
  readonly lineEnds: number;
}

const LINE_END = /\r\n|\r|\n/;

function itemsOf(text: string, services: ParserServices): Item[] {
  const { tokens, hidden } = services.parser.Lexer.tokenize(text);
  const all = [...tokens, ...hidden].sort((left, right) => left.startOffset - right.startOffset);
  let previousEnd = 0;
  return all.map((token): Item => {
    const { name } = token.tokenType;
    const gap = text.slice(previousEnd, token.startOffset);
    const end = token.startOffset + token.image.length;
    previousEnd = end;
    const kind = name === 'SL_COMMENT' ? 'line-comment' : name === 'ML_COMMENT' ? 'block-comment' : 'token';
    return {
      kind,
      type: name,
      text: canonical(name, token.image),
      offset: token.startOffset,
      end,
      lineEnds: gap.split(LINE_END).length - 1,
    };
  });
}

function canonical(type: string, image: string): string {
  switch (type) {
    case 'QUANTITY':
    case 'GAUGE':
    case 'SYSTEM':
      return spaceBeforeUnit(image.replace(/^three[ \t]+/, 'three '));
    case 'SL_COMMENT':
      return image.trimEnd();
    case 'ML_COMMENT':
      return canonicalComment(image);
    default:
      return image;
  }
}

const NUMBER_AND_UNIT = /^((?:three )?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?(?:\/\d+(?:\.\d+)?)?)[ \t]*(.+)$/;
const spaceBeforeUnit = (image: string): string => image.replace(NUMBER_AND_UNIT, '$1 $2');

/** Trailing spaces go; where every line begins with a star, the stars lose their indentation and get that of the place. */
function canonicalComment(image: string): string {
  const [first, ...rest] = image.split(LINE_END).map((line) => line.trimEnd());
  const starred = rest.every((line) => /^\s*\*/.test(line));
  return [first, ...(starred ? rest.map((line) => ` ${line.trimStart()}`) : rest)].join('\n');
}

function sameItems(before: readonly Item[], after: readonly Item[]): boolean {
  const plain = (item: Item): string =>
    item.kind === 'block-comment' ? item.text.replace(/\n\s*\*/g, '\n*') : item.text;
  return (
    before.length === after.length &&
    before.every((item, index) => item.type === after[index]!.type && plain(item) === plain(after[index]!))
  );
}

/** What begins at a token. Declarations and things begin a line; properties and rules may share one; rows are separated by commas. */
type Beginning = 'declaration' | 'thing' | 'property' | 'row';

interface Marks {
  readonly beginnings: ReadonlyMap<number, Beginning>;
  /** Offsets of tokens by their role, where the token alone does not tell. */
  readonly signs: ReadonlySet<number>;
  readonly callParentheses: ReadonlySet<number>;
  readonly partColons: ReadonlySet<number>;
}

function beginningOf(node: AstNode): Beginning | undefined {
  if (isAddition(node) || isReplacement(node) || isRemoval(node)) return 'thing';
  // What a variant adds begins with `add`.
  if (node.$container && (isAddition(node.$container) || isReplacement(node.$container))) return undefined;
  if (isUse(node) || isPart(node) || isDesign(node) || isVariant(node)) return 'declaration';
  if (isLet(node) || isProfileDeclaration(node) || isInstance(node) || isRun(node) || isLink(node)) return 'thing';
  if (isControl(node) || isScenario(node) || isRequire(node) || isAccept(node)) return 'thing';
  if (isReading(node) || isOutcome(node)) return 'thing';
  if (isSite(node) || isFallback(node)) return 'thing';
  if (isProperty(node) || isRule(node) || isInitialValue(node) || isOverride(node)) return 'property';
  return isTableRow(node) ? 'row' : undefined;
}

function marksOf(root: AstNode): Marks {
  const beginnings = new Map<number, Beginning>();
  const signs = new Set<number>();
  const callParentheses = new Set<number>();
  const partColons = new Set<number>();
  for (const node of AstUtils.streamAst(root)) {
    const offset = node.$cstNode?.offset;
    if (offset === undefined) continue;
    const beginning = beginningOf(node);
    // Where several begin at one place, the outermost comes first and counts.
    if (beginning && !beginnings.has(offset)) beginnings.set(offset, beginning);
    if (isUnary(node) && node.operator === '-') signs.add(offset);
    const keyword = isCall(node) ? '(' : isInstance(node) ? ':' : undefined;
    const found = keyword && GrammarUtils.findNodeForKeyword(node.$cstNode, keyword);
    if (found) (isCall(node) ? callParentheses : partColons).add(found.offset);
  }
  return { beginnings, signs, callParentheses, partColons };
}

interface Block {
  readonly open: boolean;
  /** The block was one line that is too long: its members fill lines. */
  readonly fill: boolean;
  readonly indent: number;
}

const MAY_CONTINUE_BEFORE = new Set(['->', 'and', 'or', 'during', 'because', 'until']);
const PLAIN_NUMBERS = new Set(['NUMBER', 'TIME', 'DATE']);

/** Works out the white space before every item, in one pass from the beginning to the end. */
class Layout {
  private readonly closing = new Map<number, number>();
  private readonly opened: Block[] = [];
  private column = 0;
  /** The item before stands first on its line. */
  private atLineStart = false;
  private tokenAhead = 0;

  constructor(
    private readonly items: readonly Item[],
    private readonly marks: Marks,
    private readonly text: string,
  ) {
    const braces: number[] = [];
    items.forEach((item, index) => {
      if (item.type === '{') braces.push(index);
      else if (item.type === '}') {
        const start = braces.pop();
        if (start !== undefined) this.closing.set(start, index);
      }
    });
  }

  edits(): LayoutEdit[] {
    const edits: LayoutEdit[] = [];
    const lineEnd = lineEndOf(this.text);
    const replace = (offset: number, end: number, layout: string): void => {
      const text = layout.replaceAll('\n', lineEnd);
      if (this.text.slice(offset, end) !== text) edits.push({ offset, end, text });
    };
    let previousEnd = this.text.startsWith(BYTE_ORDER_MARK) ? BYTE_ORDER_MARK.length : 0;
    this.items.forEach((item, index) => {
      if (item.type === '}') this.closeBlock();
      const gap = this.gapBefore(index);
      replace(previousEnd, item.offset, gap);
      const indented = item.kind === 'block-comment' ? this.indented(item, gap) : item.text;
      replace(item.offset, item.end, indented);
      this.advance(gap, indented);
      this.atLineStart = index === 0 || gap.includes('\n');
      previousEnd = item.end;
      if (item.type === '{') this.openBlock(index);
      if (item.type === '}') this.opened.pop();
    });
    replace(previousEnd, this.text.length, this.items.length > 0 ? '\n' : '');
    return edits;
  }

  private advance(gap: string, written: string): void {
    for (const piece of [gap, written]) {
      const lastLine = piece.lastIndexOf('\n');
      this.column = lastLine < 0 ? this.column + piece.length : piece.length - lastLine - 1;
    }
  }

  /** The lines of a starred comment stand one space right of its beginning. */
  private indented({ text }: Item, gap: string): string {
    const [first, ...rest] = text.split('\n');
    if (!rest.every((line) => line.startsWith(' *'))) return text;
    const lastLine = gap.lastIndexOf('\n');
    const column = lastLine < 0 ? this.column + gap.length : gap.length - lastLine - 1;
    return [first, ...rest.map((line) => ' '.repeat(column) + line)].join('\n');
  }

  private get block(): Block {
    return this.opened.at(-1) ?? { open: true, fill: false, indent: 0 };
  }

  /** The blocks around a closing brace, seen from the brace: it stands where its block began. */
  private closeBlock(): void {
    const block = this.opened.pop();
    if (block) this.opened.push({ ...block, indent: Math.max(0, block.indent - INDENT) });
  }

  private openBlock(index: number): void {
    const end = this.closing.get(index) ?? this.items.length - 1;
    const inner = this.items.slice(index + 1, end + 1);
    const wanted = inner.some(
      (item) =>
        item.lineEnds > 0 || item.kind === 'line-comment' || item.text.includes('\n') || this.mustBeginLine(item),
    );
    const empty = end === index + 1;
    const tooLong = !wanted && this.column + this.widthOf(index + 1, end) > WIDTH;
    this.opened.push({
      open: !empty && (wanted || tooLong),
      fill: !empty && !wanted && tooLong,
      indent: this.block.indent + INDENT,
    });
  }

  private mustBeginLine(item: Item): boolean {
    const beginning = this.marks.beginnings.get(item.offset);
    return item.kind === 'token' && (beginning === 'thing' || beginning === 'declaration');
  }

  /** Columns that the items up to and including `end` take when all stand on one line. */
  private widthOf(start: number, end: number): number {
    let width = 0;
    for (let index = start; index <= end; index += 1) {
      const item = this.items[index]!;
      width += item.text.length + this.spacesBefore(index);
    }
    return width;
  }

  private gapBefore(index: number): string {
    const item = this.items[index]!;
    const previous = this.items[index - 1];
    if (!previous) return '';
    const { block } = this;
    if (item.type === '}') return block.open ? this.newLine(1, block.indent) : ' '.repeat(this.spacesBefore(index));
    if (item.kind !== 'token') return this.gapBeforeComment(index, previous);
    const beginning = this.marks.beginnings.get(item.offset);
    if (beginning && block.open) return this.gapBeforeMember(index, previous, beginning);
    if (previous.kind === 'line-comment') return this.newLine(1, block.indent + CONTINUATION);
    const mayContinue =
      previous.type === ',' || previous.kind === 'block-comment' || MAY_CONTINUE_BEFORE.has(item.type);
    return block.open && mayContinue && item.lineEnds > 0
      ? this.newLine(1, block.indent + CONTINUATION)
      : ' '.repeat(this.spacesBefore(index));
  }

  private gapBeforeMember(index: number, previous: Item, beginning: Beginning): string {
    const item = this.items[index]!;
    const { block } = this;
    const onNewLine = this.newLine(Math.min(item.lineEnds, previous.type === '{' ? 1 : 2), block.indent);
    if (item.lineEnds > 0 || previous.type === '{' || previous.kind === 'line-comment') return onNewLine;
    // A comment in front of a thing on its line stays there.
    if (previous.kind === 'block-comment' && this.atLineStart) return ' ';
    if (beginning === 'declaration' || beginning === 'thing') return onNewLine;
    if (previous.type === '}' && this.atLineStart) return onNewLine;
    const spaces = this.spacesBefore(index);
    if (block.fill && this.column + spaces + this.memberWidth(index) > WIDTH) return onNewLine;
    return ' '.repeat(spaces);
  }

  /** Columns of a member up to the next one of its block or the end of the block. */
  private memberWidth(index: number): number {
    let end = index;
    for (let next = index + 1; next < this.items.length; next = (this.closing.get(next) ?? next) + 1) {
      if (this.items[next]!.type === '}' || this.marks.beginnings.has(this.items[next]!.offset)) break;
      end = this.closing.get(next) ?? next;
    }
    return this.widthOf(index, end) - this.spacesBefore(index);
  }

  private gapBeforeComment(index: number, previous: Item): string {
    const item = this.items[index]!;
    const { block } = this;
    const onItsOwn = item.lineEnds > 0 || previous.kind === 'line-comment' || (previous.type === '{' && block.open);
    const besides = item.kind === 'line-comment' && item.lineEnds === 0;
    if (besides || !onItsOwn) return ' '.repeat(this.spacesBefore(index));
    if (!this.atMemberPosition(index)) return this.newLine(1, block.indent + CONTINUATION);
    return this.newLine(Math.min(item.lineEnds, previous.type === '{' ? 1 : 2), block.indent);
  }

  /** Whether what follows a comment is a member, the end of its block, or nothing. */
  private atMemberPosition(index: number): boolean {
    // Comments in a row share the token after them.
    this.tokenAhead = Math.max(this.tokenAhead, index);
    while (this.tokenAhead < this.items.length && this.items[this.tokenAhead]!.kind !== 'token') this.tokenAhead += 1;
    const next = this.items[this.tokenAhead];
    return !next || next.type === '}' || this.marks.beginnings.has(next.offset);
  }

  private newLine(lineEnds: number, indent: number): string {
    return '\n'.repeat(Math.max(1, lineEnds)) + ' '.repeat(indent);
  }

  /** Spaces between an item and the one before it when both stand on one line. */
  private spacesBefore(index: number): number {
    const item = this.items[index]!;
    const previous = this.items[index - 1];
    if (!previous) return 0;
    if (item.kind === 'line-comment') return BEFORE_COMMENT;
    if (item.kind === 'block-comment' || previous.kind === 'block-comment') return 1;
    if (previous.type === '{') return item.type === '}' ? 0 : 1;
    if (item.type === '}' || previous.type === '}') return this.isMember(item) ? this.spacesBetweenMembers(item) : 1;
    if (this.isMember(item)) return this.spacesBetweenMembers(item);
    return this.isTight(item, previous, this.items[index - 2]) ? 0 : 1;
  }

  private isMember(item: Item): boolean {
    return this.marks.beginnings.has(item.offset);
  }

  private spacesBetweenMembers(item: Item): number {
    return this.marks.beginnings.get(item.offset) === 'row' ? 1 : BETWEEN_PROPERTIES;
  }

  private isTight(item: Item, previous: Item, beforePrevious: Item | undefined): boolean {
    if (item.type === ':') return !this.marks.partColons.has(item.offset);
    if (item.type === '(') return this.marks.callParentheses.has(item.offset) || this.isTightAfter(previous);
    if (item.type === '..') return PLAIN_NUMBERS.has(previous.type);
    if (previous.type === '..') return beforePrevious !== undefined && PLAIN_NUMBERS.has(beforePrevious.type);
    return [',', ')', '.', '^'].includes(item.type) || this.isTightAfter(previous);
  }

  private isTightAfter(previous: Item): boolean {
    return ['(', '.', '^'].includes(previous.type) || this.marks.signs.has(previous.offset);
  }
}
