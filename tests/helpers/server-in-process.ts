import { EmptyFileSystem, type LangiumDocument, URI } from 'langium';
import type { Connection } from 'vscode-languageserver';
import { type Analysis, addLibrary, analyse } from '../../language/src/index.js';
import { type Server, createServer } from '../../server/src/create-server.js';
import { languageServices } from '../../server/src/workspace/analyses.js';
import { TODAY } from './analyse.js';

export interface Folder {
  readonly server: Server;
  readonly documents: ReadonlyMap<string, LangiumDocument>;
  /** Finished analysis of a file of the folder; scenarios are not played. */
  readonly analyse: (name: string) => Analysis;
}

/** The services of a language server in this process, with a folder of files and nobody connected. */
export async function folderInServer(
  files: Readonly<Record<string, string>>,
  connection?: Connection,
): Promise<Folder> {
  const server = createServer({ ...EmptyFileSystem, readsFiles: false, ...(connection ? { connection } : {}) });
  const { LangiumDocumentFactory, LangiumDocuments, DocumentBuilder } = server.shared.workspace;
  await DocumentBuilder.build(addLibrary(server.shared), { validation: false });
  const documents = new Map<string, LangiumDocument>();
  for (const [name, text] of Object.entries(files)) {
    const document = LangiumDocumentFactory.fromString(text, URI.parse(`file:///folder/${name}`));
    LangiumDocuments.addDocument(document);
    documents.set(name, document);
  }
  await DocumentBuilder.build([...documents.values()], { validation: false });
  return {
    server,
    documents,
    analyse: (name) =>
      analyse(documents.get(name)!, languageServices(server.wattwright), { today: TODAY, scenarios: 'leave' }),
  };
}
