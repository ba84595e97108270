import { DocumentState } from 'langium';
import type { LangiumSharedServices } from 'langium/lsp';
import type { Connection } from 'vscode-languageserver';
import { isLibrary } from '../workspace/boundaries.js';
import type { VersionedDocumentFactory } from '../workspace/builder.js';

/** Publishes the findings of every document as soon as it is finished, with the version of the text they are about. */
export function addDiagnosticsPublisher(connection: Connection, shared: LangiumSharedServices): void {
  const { DocumentBuilder, LangiumDocumentFactory, TextDocuments } = shared.workspace;
  DocumentBuilder.onUpdate((_changed, deleted) => {
    for (const uri of deleted) void connection.sendDiagnostics({ uri: uri.toString(), diagnostics: [] });
  });
  DocumentBuilder.onDocumentPhase(DocumentState.Validated, (document) => {
    if (isLibrary(document.uri)) return;
    const isOpen = TextDocuments.get(document.uri) !== undefined;
    const version = isOpen ? (LangiumDocumentFactory as VersionedDocumentFactory).parsedVersion(document) : undefined;
    void connection.sendDiagnostics({
      uri: document.uri.toString(),
      ...(version === undefined ? {} : { version }),
      diagnostics: document.diagnostics ?? [],
    });
  });
}
