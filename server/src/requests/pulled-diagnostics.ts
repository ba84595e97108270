import { DocumentState, type LangiumDocument, URI } from 'langium';
import type { LangiumSharedServices } from 'langium/lsp';
import { type Connection, DocumentDiagnosticReportKind } from 'vscode-languageserver';
import { isLibrary } from '../workspace/boundaries.js';

/** Answers questions for the findings of a document, in short where they are those that the editor has. */
export function addPulledDiagnostics(connection: Connection, { workspace }: LangiumSharedServices): void {
  const { DocumentBuilder, LangiumDocuments } = workspace;
  connection.languages.diagnostics.on(async ({ textDocument, previousResultId }, token) => {
    const uri = URI.parse(textDocument.uri);
    await DocumentBuilder.waitUntil(DocumentState.Validated, uri, token);
    const document = LangiumDocuments.getDocument(uri);
    const { items, resultId } = findingsOf(document);
    return previousResultId === resultId
      ? { kind: DocumentDiagnosticReportKind.Unchanged, resultId }
      : { kind: DocumentDiagnosticReportKind.Full, resultId, items };
  });
}

function findingsOf(document: LangiumDocument | undefined): {
  readonly items: NonNullable<LangiumDocument['diagnostics']>;
  readonly resultId: string;
} {
  const items = !document || isLibrary(document.uri) ? [] : (document.diagnostics ?? []);
  return { items, resultId: shortHash(JSON.stringify(items)) };
}

/** A short name for a text: FNV-1a, 32 bits, with the length. It names one answer to one editor, nothing more. */
function shortHash(text: string): string {
  let hash = 0x811c9dc5;
  for (let at = 0; at < text.length; at += 1) hash = Math.imul(hash ^ text.charCodeAt(at), 0x01000193) >>> 0;
  return `${text.length}-${hash.toString(16)}`;
}
