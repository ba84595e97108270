import { DocumentState, URI } from 'langium';
import type { LangiumSharedServices } from 'langium/lsp';
import type { Connection } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { resolved } from './completion-resolve.js';

/**
 * Answers lists at once: out of the text as it is and the last tree of it, whatever is being worked out. Only a file that has never been read
 * is waited for.
 */
export function addCompletion(
  connection: Connection,
  shared: LangiumSharedServices,
  wattwright: WattwrightServices,
): void {
  const { DocumentBuilder, LangiumDocuments, WorkspaceManager } = shared.workspace;
  connection.onCompletion(async (parameters, token) => {
    const uri = URI.parse(parameters.textDocument.uri);
    await WorkspaceManager.ready;
    if (!LangiumDocuments.hasDocument(uri)) await DocumentBuilder.waitUntil(DocumentState.Parsed, uri, token);
    const document = LangiumDocuments.getDocument(uri);
    if (!document) return null;
    return (await wattwright.lsp.CompletionProvider?.getCompletion(document, parameters, token)) ?? null;
  });
  connection.onCompletionResolve((item) => resolved(item, wattwright));
}
