import {
  type AstNode,
  type CompositeCstNode,
  type CstNode,
  type LeafCstNode,
  type Mutable,
  type RootCstNode,
  isCompositeCstNode,
} from 'langium';
import type { Design, File } from '../grammar/generated/ast.js';
import { type Position, positionAt } from './positions.js';
import { type Lists, type ReadSegment, bodyNode, contentOf, listsOf } from './segment-reader.js';
import type { Segment } from './segments.js';

/** Where a leaf of a tree stands, as the framework keeps it. */
interface LeafPosition {
  _offset: number;
  _length: number;
  _startLine: number;
  _startColumn: number;
  _endLine: number;
  _endColumn: number;
}

/** What a tree keeps of itself besides what it shows. */
interface Kept {
  container: CompositeCstNode | undefined;
  content: CstNode[];
  astNode: AstNode | undefined;
  _rangeCache: unknown;
  _text: string;
}

const kept = (node: CstNode): Kept => node as unknown as Kept;

/** How far a part of a tree moves. */
interface Move {
  readonly characters: number;
  readonly lines: number;
  /** The line, before the move, on which characters are shifted as well, and how far. */
  readonly line: number;
  readonly columns: number;
}

function move(nodes: readonly CstNode[], from: number, by: Move): void {
  for (let index = from; index < nodes.length; index += 1) {
    const node = nodes[index]!;
    if (isCompositeCstNode(node)) {
      kept(node)._rangeCache = undefined;
      move(contentOf(node), 0, by);
    } else moveLeaf(node as LeafCstNode, by);
  }
}

function moveLeaf(leaf: LeafCstNode, { characters, lines, line, columns }: Move): void {
  const position = leaf as unknown as LeafPosition;
  position._offset += characters;
  if (position._startLine === line) position._startColumn += columns;
  if (position._endLine === line) position._endColumn += columns;
  position._startLine += lines;
  position._endLine += lines;
}

/** A segment of the new text with what was read of it. */
export interface Graft {
  readonly segment: Segment;
  readonly read: ReadSegment;
}

/** What is cut out of a tree, and what comes in its place. */
export interface Exchange {
  /** The stretch of the text before that goes. */
  readonly from: number;
  readonly to: number;
  readonly before: string;
  /** The text with what comes, and where that ends in it. */
  readonly text: string;
  readonly end: number;
  readonly grafts: readonly Graft[];
}

/** The first of sorted things that begins at or behind a place. */
function firstFrom<T>(things: readonly T[], place: number, offsetOf: (thing: T) => number): number {
  let [low, high] = [0, things.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (offsetOf(things[middle]!) < place) low = middle + 1;
    else high = middle;
  }
  return low;
}

const offsetOf = (node: AstNode): number => node.$cstNode!.offset;

/**
 * Puts what was read anew into the tree of a file, in place of what stood there: in `design`, or at its top. The tree of before is used up:
 * what is not touched is taken over from it, moved to where it stands now. The design and the file are new nodes, so that nothing that is kept by
 * them is taken for the new ones.
 */
export function grafted(file: File, design: Design | undefined, exchange: Exchange): File {
  const owner = design ?? file;
  const written = owner.$cstNode!;
  const container = design ? bodyNode(written) : written.root;
  const lists = Object.fromEntries(
    Object.keys(exchange.grafts[0]!.read.nodes).map((name) => [name, exchangedIn(owner, name, exchange)]),
  );
  exchangeChildren(container, exchange);
  const changed = shell(owner, lists);
  if (!design) return changed as File;
  const declarations = file.declarations.map((each) => (each === design ? (changed as Design) : each));
  return shell(file, { declarations }) as File;
}

function exchangedIn(owner: AstNode, name: string, { from, to, grafts }: Exchange): AstNode[] {
  const nodes = (owner as unknown as Record<string, readonly AstNode[]>)[name]!;
  return [
    ...nodes.slice(0, firstFrom(nodes, from, offsetOf)),
    ...grafts.flatMap(({ read }) => read.nodes[name]!),
    ...nodes.slice(firstFrom(nodes, to, offsetOf)),
  ];
}

function exchangeChildren(container: CstNode, { from, to, before, text, end, grafts }: Exchange): void {
  const content = contentOf(container);
  const first = firstFrom(content, from, ({ offset }) => offset);
  const behind = firstFrom(content, to, ({ offset }) => offset);
  const begin = positionAt(before, from);
  const oldEnd = positionAt(before, to, from, begin);
  const newEnd = positionAt(text, end, from, begin);
  const by: Move = {
    characters: end - to,
    lines: newEnd.line - oldEnd.line,
    line: oldEnd.line,
    columns: newEnd.character - oldEnd.character,
  };
  if (by.characters !== 0 || by.lines !== 0 || by.columns !== 0) move(content, behind, by);
  forgetRange(container);
  for (let node: CstNode = container, parent = node.container; parent; node = parent, parent = node.container) {
    forgetRange(parent);
    const beside = contentOf(parent);
    move(beside, beside.indexOf(node) + 1, by);
  }
  let place: [number, Position] = [from, begin];
  const children = grafts.flatMap(({ segment, read }) => {
    const position = positionAt(text, segment.from, ...place);
    place = [segment.from, position];
    move(read.children, 0, {
      characters: segment.from - read.ahead,
      lines: position.line,
      line: 0,
      columns: position.character - read.ahead,
    });
    return read.children;
  });
  for (const child of children) kept(child).container = container as CompositeCstNode;
  const rest = restBehind(content[behind - 1], to, end, newEnd);
  kept(container).content = [...content.slice(0, first), ...children, ...rest, ...content.slice(behind)];
  kept(container.root as RootCstNode)._text = text;
}

/** What is left of the space in place of a segment that was not read, where it goes on behind the segment. */
function restBehind(last: CstNode | undefined, to: number, end: number, { line, character }: Position): CstNode[] {
  if (!last?.hidden || last.end <= to || last.offset >= to) return [];
  const position = last as unknown as LeafPosition;
  position._length = last.end - to;
  position._offset = end;
  position._startLine = line;
  position._startColumn = character;
  return [last];
}

const forgetRange = (node: CstNode): void => {
  kept(node)._rangeCache = undefined;
};

const firstOffset = (node: AstNode | undefined): number => node?.$cstNode?.offset ?? Number.MAX_SAFE_INTEGER;

const withoutLists = (node: AstNode): AstNode =>
  Object.fromEntries(
    Object.entries(node).filter(([name, value]) => name.startsWith('$') || !Array.isArray(value)),
  ) as unknown as AstNode;

/** A copy of a node with other lists, which takes its place in the tree. */
function shell(node: AstNode, lists: Lists): AstNode {
  const copy = withoutLists(node);
  const own = Object.entries({ ...listsOf(node), ...lists });
  // What stands first in the text comes first, as where it is read as a whole; lists that hold nothing come last.
  for (const [name, list] of [...own].sort(([, [left]], [, [right]]) => firstOffset(left) - firstOffset(right)))
    Object.assign(copy, { [name]: list });
  kept(copy.$cstNode!).astNode = copy;
  for (const [name, list] of own)
    list.forEach((each: Mutable<AstNode>, index) => {
      each.$container = copy;
      each.$containerProperty = name;
      each.$containerIndex = index;
    });
  return copy;
}
