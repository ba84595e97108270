import { DocumentState, type LangiumDocument } from 'langium';
import type { LangiumSharedServices } from 'langium/lsp';
import type { Connection, Diagnostic } from 'vscode-languageserver';
import { isLibrary } from '../workspace/boundaries.js';
import type { VersionedDocumentFactory } from '../workspace/builder.js';
import type { QuickStartServer } from '../workspace/quick-start.js';

/** Publishes the findings of every document as soon as it is finished, with the version of the text they are about. */
export function addDiagnosticsPublisher(connection: Connection, shared: LangiumSharedServices): void {
  const { DocumentBuilder } = shared.workspace;
  DocumentBuilder.onUpdate((_changed, deleted) => {
    for (const uri of deleted) void connection.sendDiagnostics({ uri: uri.toString(), diagnostics: [] });
  });
  DocumentBuilder.onDocumentPhase(DocumentState.Validated, (document) => {
    if (!isLibrary(document.uri)) publishDiagnostics(connection, shared, document, document.diagnostics ?? []);
  });
}

/** Publishes findings of a document with the version of the text they are about. */
export function publishDiagnostics(
  connection: Connection,
  shared: LangiumSharedServices,
  document: LangiumDocument,
  diagnostics: Diagnostic[],
): void {
  const { LangiumDocumentFactory, TextDocuments } = shared.workspace;
  const isOpen = TextDocuments.get(document.uri) !== undefined;
  const version = isOpen ? (LangiumDocumentFactory as VersionedDocumentFactory).parsedVersion(document) : undefined;
  // An editor that asks for the findings of open files is told none; what it was told of the closed file holds no more.
  const isAsking = isOpen && (shared.lsp.LanguageServer as QuickStartServer).editor.pullsDiagnostics;
  void connection.sendDiagnostics({
    uri: document.uri.toString(),
    ...(version === undefined ? {} : { version }),
    diagnostics: isAsking ? [] : diagnostics,
  });
}
