import { EmptyFileSystem } from 'langium';
import type { Connection } from 'vscode-languageserver';
import { type Server, startServer } from './create-server.js';
import { PROJECT_FILES_TOLD, ToldFiles, projectsForEditor } from './project/for-editor.js';
import type { DesignUpdateHandler } from './workspace/update-handler.js';

/** Starts a server that reads no files: the editor opens every design for it and tells it the texts of project files. */
export function startBrowserServer(connection: Connection): Server {
  const told = new ToldFiles();
  const server: Server = startServer(connection, {
    ...EmptyFileSystem,
    readsFiles: false,
    projects: (folders) => projectsForEditor(folders, told, () => server.shared.workspace.LangiumDocuments),
  });
  connection.onNotification(PROJECT_FILES_TOLD, (said: unknown) => {
    if (told.replace(said)) (server.shared.lsp.DocumentUpdateHandler as DesignUpdateHandler).projectsChanged();
  });
  return server;
}
