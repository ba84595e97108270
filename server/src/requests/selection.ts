import { type CstNode, CstUtils, type LangiumDocument } from 'langium';
import type { Position, Range, SelectionRange } from 'vscode-languageserver';

/** What may be selected around a position, from the word outwards: word, value, property, block, thing, design, file. */
export function selectionAt(document: LangiumDocument, position: Position): SelectionRange {
  const root = document.parseResult.value.$cstNode;
  const leaf = root && CstUtils.findLeafNodeAtOffset(root, document.textDocument.offsetAt(position));
  const ranges: Range[] = [];
  for (let node: CstNode | undefined = leaf; node; node = node.container) {
    const last = ranges.at(-1);
    if (!last || !isSame(last, node.range)) ranges.push(node.range);
  }
  const innermost = ranges.reduceRight<SelectionRange | undefined>(
    (parent, range) => ({ range, ...(parent ? { parent } : {}) }),
    undefined,
  );
  return innermost ?? { range: { start: position, end: position } };
}

const isSame = (left: Range, right: Range): boolean =>
  left.start.line === right.start.line &&
  left.start.character === right.start.character &&
  left.end.line === right.end.line &&
  left.end.character === right.end.character;
