import {
  type AstNode,
  type CompositeCstNode,
  type CstNode,
  type LeafCstNode,
  type ParseResult,
  isCompositeCstNode,
  isLeafCstNode,
} from 'langium';
import type { File } from '../grammar/generated/ast.js';
import * as ast from '../grammar/generated/ast.js';
import { type Parse, movedTo } from './islands.js';
import type { ParserError } from './own-error.js';
import { positionAt } from './positions.js';
import { recovered } from './recovery.js';
import type { Segment } from './segments.js';

type LexerError = ParseResult['lexerErrors'][number];

/** What members are read within. A faulty text is read by its layout: what ends a line there ends one here as well. */
const HEAD = 'design X{';
const ENDS_LINE = /[ \t]*(?:\n|\r|\/\/)/y;
const tailOf = (text: string, to: number): string => {
  ENDS_LINE.lastIndex = to;
  return ENDS_LINE.test(text) ? '\n}' : '}';
};

/** Nodes by the names of the lists that hold them. */
export type Lists = Readonly<Record<string, readonly AstNode[]>>;

/** What was read of one segment. Trees and errors are placed as in the text that was read for it, `ahead` characters further than in the segment. */
export interface ReadSegment {
  readonly ahead: number;
  /** Members of a design, or what stands at the top of a file, in the lists that hold them. */
  readonly nodes: Lists;
  readonly children: readonly CstNode[];
  readonly lexerErrors: readonly LexerError[];
  readonly parserErrors: readonly ParserError[];
}

export const isFaulty = ({ lexerErrors, parserErrors }: ReadSegment | ParseResult): boolean =>
  lexerErrors.length + parserErrors.length > 0;

/** Reads a segment by itself, mending what is wrong in it; undefined where what was read is not of its sort. */
export function readSegment(text: string, { from, to, holds }: Segment, parse: Parse): ReadSegment | undefined {
  const own = text.slice(from, to);
  const written = holds === 'members' ? `${HEAD}${own}${tailOf(text, to)}` : own;
  const first = parse(written);
  const result = isFaulty(first) ? recovered(written, first, parse) : first;
  const file = result.value;
  if (!ast.isFile(file) || !file.$cstNode) return undefined;
  const { lexerErrors, parserErrors } = result;
  if (holds === 'declarations')
    return { ahead: 0, nodes: listsOf(file), children: file.$cstNode.root.content, lexerErrors, parserErrors };
  const body = bodyOf(file, HEAD.length + own.length);
  if (!body) return undefined;
  return { ahead: HEAD.length, nodes: { members: body.members }, children: body.children, lexerErrors, parserErrors };
}

/** The lists of nodes that a node holds, by their names. */
export const listsOf = (node: AstNode): Lists =>
  Object.fromEntries(Object.entries(node).filter(([name, value]) => !name.startsWith('$') && Array.isArray(value)));

/** What stands in the brackets of the one design of a text. Of a faulty one they may close early, or not at all. */
function bodyOf(
  { uses, declarations }: File,
  end: number,
): { members: readonly AstNode[]; children: readonly CstNode[] } | undefined {
  const [design, further] = declarations;
  if (further || uses.length > 0 || design?.$type !== 'Design' || !design.$cstNode) return undefined;
  const content = contentOf(bodyNode(design.$cstNode));
  const open = content.findIndex(isBracket('{'));
  if (open < 0 || content[open]!.end !== HEAD.length) return undefined;
  const children = content.slice(open + 1).filter(({ offset }) => offset < end);
  return { members: design.members, children };
}

export const contentOf = (node: CstNode): readonly CstNode[] =>
  isCompositeCstNode(node) ? (node as CompositeCstNode).content : [];

/** The part of a tree that has the brackets of a design among its own: rules that are a choice of others wrap it. */
export function bodyNode(node: CstNode): CstNode {
  const own = contentOf(node).filter(({ hidden }) => !hidden);
  return own.length === 1 && isCompositeCstNode(own[0]) ? bodyNode(own[0]) : node;
}

export const isBracket =
  (bracket: string) =>
  (node: CstNode): node is LeafCstNode =>
    isLeafCstNode(node) && (node as LeafCstNode).tokenType.name === bracket;

/** Errors of a segment as those of the text that it stands in. */
export function errorsWithin(
  text: string,
  { from, to }: Segment,
  { ahead, lexerErrors, parserErrors }: ReadSegment,
): { lexerErrors: LexerError[]; parserErrors: ParserError[] } {
  return {
    parserErrors: parserErrors.map((error) => movedTo(error, from - ahead, text, { from, to })),
    lexerErrors: lexerErrors.map((error) => {
      const offset = error.offset + from - ahead;
      const { line, character } = positionAt(text, offset);
      return { ...error, offset, line: line + 1, column: character + 1 };
    }),
  };
}
