import {
  type AstNode,
  AstUtils,
  type CompositeCstNode,
  type CstNode,
  GrammarAST,
  GrammarUtils,
  isCompositeCstNode,
} from 'langium';
import type { Place } from '../../derivation/index.js';
import type * as ast from '../../grammar/generated/ast.js';

/** The stretch of text a node was read from. Nodes that error recovery invented have none and stand at the start of the file. */
export function placeOfNode(node: AstNode, uri: string): Place {
  return placeBetween(outerOperand(node, 'left').$cstNode, outerOperand(node, 'right').$cstNode, uri);
}

export const placeOfCst = (cst: CstNode | undefined, uri: string): Place => placeBetween(cst, cst, uri);

/** Operations within one chain (`2 * a > b`) all carry the text of the whole chain: their own reaches from operand to operand. */
function outerOperand(node: AstNode, side: 'left' | 'right'): AstNode {
  let at = node;
  while (at.$type === 'Arithmetic' || at.$type === 'Logic') {
    const next: AstNode | undefined = (at as ast.Arithmetic)[side];
    if (!next?.$cstNode) break;
    at = next;
  }
  return at;
}

function placeBetween(from: CstNode | undefined, to: CstNode | undefined, uri: string): Place {
  const first = from && firstToken(from);
  const last = to && lastToken(to);
  if (!first || !last) return { uri, offset: 0, end: 0, line: 0, character: 0, endLine: 0, endCharacter: 0 };
  const { start } = first.range;
  const { end } = last.range;
  return {
    uri,
    offset: first.offset,
    end: last.end,
    line: start.line,
    character: start.character,
    endLine: end.line,
    endCharacter: end.character,
  };
}

/**
 * The first or last token of a node; comments within it do not count. Walks down once, where `offset`, `end` and `range` walk each. Plain
 * loops: this runs several times for every property of a text.
 */
function firstToken(cst: CstNode): CstNode | undefined {
  let node: CstNode | undefined = cst;
  while (node && isCompositeCstNode(node)) {
    const { content }: CompositeCstNode = node;
    let index = 0;
    while (index < content.length && content[index]!.hidden) index += 1;
    node = content[index] ?? content[0];
  }
  return node;
}

function lastToken(cst: CstNode): CstNode | undefined {
  let node: CstNode | undefined = cst;
  while (node && isCompositeCstNode(node)) {
    const { content }: CompositeCstNode = node;
    let index = content.length - 1;
    while (index >= 0 && content[index]!.hidden) index -= 1;
    node = content[index] ?? content[content.length - 1];
  }
  return node;
}

/** The place of one property of a node, such as its name; the whole node when that part is missing. */
export function placeOfProperty(node: AstNode, property: string, uri: string): Place {
  const cst = node.$cstNode;
  return placeOfCst((cst && nodeOfProperty(cst, property, cst.astNode)) ?? cst, uri);
}

/** The place of one of several values of a property, such as the second step of a path; the whole node when there is none. */
export function placeOfItem(node: AstNode, property: string, index: number, uri: string): Place {
  return placeOfCst(GrammarUtils.findNodeForProperty(node.$cstNode, property, index) ?? node.$cstNode, uri);
}

/** Which property of its rule a grammar element is assigned to, for all texts: the grammar never changes, and no design is there yet. */
const features = new WeakMap<AstNode, string | null>();

function featureOf(element: AstNode): string | null {
  let feature = features.get(element);
  if (feature === undefined) {
    feature = AstUtils.getContainerOfType(element, GrammarAST.isAssignment)?.feature ?? null;
    features.set(element, feature);
  }
  return feature;
}

/** The first stretch assigned to a property; stops at it, where Langium's own search collects every one. */
function nodeOfProperty(cst: CstNode, property: string, owner: AstNode): CstNode | undefined {
  if (!isCompositeCstNode(cst) || cst.astNode !== owner) return undefined;
  for (const child of cst.content) {
    if (child.grammarSource && featureOf(child.grammarSource) === property) return child;
    const found = nodeOfProperty(child, property, owner);
    if (found) return found;
  }
  return undefined;
}

/** The empty place right after another. */
export const afterPlace = (place: Place): Place => ({
  ...place,
  offset: place.end,
  line: place.endLine,
  character: place.endCharacter,
});

/** The text of a node with white space folded, for messages. */
export function textOf(node: AstNode | undefined): string {
  const from = node && outerOperand(node, 'left').$cstNode;
  const to = node && outerOperand(node, 'right').$cstNode;
  const first = from && firstToken(from);
  const last = to && lastToken(to);
  if (!first || !last) return '';
  const text = first.root.fullText.slice(first.offset, last.end);
  return /\s/.test(text) ? text.replace(/\s+/g, ' ').trim() : text;
}
