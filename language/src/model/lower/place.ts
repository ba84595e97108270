import { type AstNode, type CstNode, GrammarUtils } from 'langium';
import type { Place } from '../../derivation/index.js';

/** The stretch of text a node was read from. Nodes that error recovery invented have none and stand at the start of the file. */
export function placeOfNode(node: AstNode, uri: string): Place {
  return placeOfCst(node.$cstNode, uri);
}

export function placeOfCst(cst: CstNode | undefined, uri: string): Place {
  if (!cst) return { uri, offset: 0, end: 0, line: 0, character: 0, endLine: 0, endCharacter: 0 };
  const { start, end } = cst.range;
  return {
    uri,
    offset: cst.offset,
    end: cst.end,
    line: start.line,
    character: start.character,
    endLine: end.line,
    endCharacter: end.character,
  };
}

/** The place of one property of a node, such as its name; the whole node when that part is missing. */
export function placeOfProperty(node: AstNode, property: string, uri: string, index?: number): Place {
  return placeOfCst(GrammarUtils.findNodeForProperty(node.$cstNode, property, index) ?? node.$cstNode, uri);
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
  return (node?.$cstNode?.text ?? '').replace(/\s+/g, ' ').trim();
}
