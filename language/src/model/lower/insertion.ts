import { type AstNode, AstUtils, type CstNode, GrammarUtils } from 'langium';
import type * as ast from '../../grammar/generated/ast.js';
import type { InsertionPoint } from '../types.js';
import type { Body } from './lowered.js';
import { afterPlace, placeOfCst, placeOfNode } from './place.js';

/** Where a property can be added to a thing with an optional body. */
export function insertionInto(node: AstNode, body: Body): InsertionPoint {
  const uri = AstUtils.getDocument(node).uri.toString();
  const last = body?.properties?.at(-1);
  if (last?.$cstNode) return behind(last.$cstNode, body!.$cstNode, uri);
  const open = body && GrammarUtils.findNodeForKeyword(body.$cstNode, '{');
  if (open)
    return {
      place: afterPlace(placeOfCst(open, uri)),
      before: ' ',
      after: /^\{\s/.test(body.$cstNode?.text ?? '') ? '' : ' ',
    };
  return { place: afterPlace(placeOfNode(node, uri)), before: ' { ', after: ' }' };
}

export function insertionAtEnd(node: ast.Control): InsertionPoint {
  const uri = AstUtils.getDocument(node).uri.toString();
  const last = node.members?.at(-1);
  if (last?.$cstNode) return behind(last.$cstNode, node.$cstNode, uri);
  const open = GrammarUtils.findNodeForKeyword(node.$cstNode, '{');
  return {
    place: afterPlace(placeOfCst(open ?? node.$cstNode, uri)),
    before: ' ',
    after: '',
  };
}

/** Where a new member of the design can be written: before the closing bracket. */
export function insertionInDesign(node: ast.Design): InsertionPoint {
  const uri = AstUtils.getDocument(node).uri.toString();
  const last = node.members?.at(-1);
  if (last?.$cstNode) return { place: afterPlace(placeOfCst(last.$cstNode, uri)), before: '\n  ', after: '' };
  const open = GrammarUtils.findNodeForKeyword(node.$cstNode, '{');
  return {
    place: afterPlace(placeOfCst(open ?? node.$cstNode, uri)),
    before: '\n  ',
    after: '\n',
  };
}

/** After the last member: on a line of its own where the members stand on lines, else behind it. */
function behind(last: CstNode, container: CstNode | undefined, uri: string): InsertionPoint {
  const place = afterPlace(placeOfCst(last, uri));
  const lines = container ? container.range.end.line > container.range.start.line : false;
  return {
    place,
    before:
      lines && last.range.start.line > (container?.range.start.line ?? 0) ? `\n${' '.repeat(indentOf(last))}` : '   ',
    after: '',
  };
}

/** Column of the first thing on the line a node starts on, so that an added line lines up. */
function indentOf(node: CstNode): number {
  const text = node.root.fullText;
  const lineStart = text.lastIndexOf('\n', node.offset - 1) + 1;
  return /^[ \t]*/.exec(text.slice(lineStart, node.offset))?.[0].length ?? 0;
}
