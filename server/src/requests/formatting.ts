import { ast, formatText } from '@wattwright/language';
import { type AstNode, AstUtils, CstUtils, type LangiumDocument } from 'langium';
import type { Formatter, LangiumServices } from 'langium/lsp';
import type { DocumentOnTypeFormattingParams, DocumentRangeFormattingParams, TextEdit } from 'vscode-languageserver';
import { layoutEditsOf } from '../convert/to-lsp.js';

/** What a brace closes as a whole: from its first word on. */
const isDeclared = (node: AstNode): node is AstNode =>
  [ast.isPart, ast.isDesign, ast.isVariant, ast.isInstance, ast.isRun, ast.isLink, ast.isControl, ast.isScenario].some(
    (is) => is(node),
  );

/** The canonical layout, as the smallest edits. A text with syntax errors is left alone. */
export class DesignFormatter implements Formatter {
  /** A closed block is put in order: only there is it known what belongs to it. */
  readonly formatOnTypeOptions = { firstTriggerCharacter: '}' };

  constructor(private readonly services: LangiumServices) {}

  formatDocument({ textDocument }: LangiumDocument): TextEdit[] {
    const result = formatText(textDocument.getText(), this.services);
    return result.kind === 'formatted' ? layoutEditsOf(result.edits, textDocument) : [];
  }

  formatDocumentRange(document: LangiumDocument, { range }: Pick<DocumentRangeFormattingParams, 'range'>): TextEdit[] {
    const [from, to] = [document.textDocument.offsetAt(range.start), document.textDocument.offsetAt(range.end)];
    return this.formatDocument(document).filter((edit) => {
      const [start, end] = [
        document.textDocument.offsetAt(edit.range.start),
        document.textDocument.offsetAt(edit.range.end),
      ];
      return start >= from && end <= to;
    });
  }

  formatDocumentOnType(document: LangiumDocument, { position }: DocumentOnTypeFormattingParams): TextEdit[] {
    const root = document.parseResult.value.$cstNode;
    const brace = root && CstUtils.findLeafNodeAtOffset(root, document.textDocument.offsetAt(position) - 1);
    if (brace?.text !== '}' || !brace.container) return [];
    const block = AstUtils.getContainerOfType(brace.astNode, isDeclared)?.$cstNode ?? brace.container;
    return this.formatDocumentRange(document, { range: block.range });
  }
}
