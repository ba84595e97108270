import { formatText } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import type { Formatter, LangiumServices } from 'langium/lsp';
import type { DocumentRangeFormattingParams, TextEdit } from 'vscode-languageserver';
import { layoutEditsOf } from '../convert/to-lsp.js';

/** The canonical layout, as the smallest edits. A text with syntax errors is left alone. */
export class DesignFormatter implements Formatter {
  readonly formatOnTypeOptions = undefined;

  constructor(private readonly services: LangiumServices) {}

  formatDocument({ textDocument }: LangiumDocument): TextEdit[] {
    const result = formatText(textDocument.getText(), this.services);
    return result.kind === 'formatted' ? layoutEditsOf(result.edits, textDocument) : [];
  }

  formatDocumentRange(document: LangiumDocument, { range }: DocumentRangeFormattingParams): TextEdit[] {
    const [from, to] = [document.textDocument.offsetAt(range.start), document.textDocument.offsetAt(range.end)];
    return this.formatDocument(document).filter((edit) => {
      const [start, end] = [
        document.textDocument.offsetAt(edit.range.start),
        document.textDocument.offsetAt(edit.range.end),
      ];
      return start >= from && end <= to;
    });
  }

  formatDocumentOnType(): TextEdit[] {
    return [];
  }
}
