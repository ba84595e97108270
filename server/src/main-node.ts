import './runtime-fill.js';
import { type URI } from 'langium';
import { existsSync } from 'node:fs';
import { type Connection, ProposedFeatures, createConnection } from 'vscode-languageserver/node';
import { stampOf } from './cli/stamp.js';
import { today } from './cli/today.js';
import { type Server, startServer as startWith } from './create-server.js';
import { CarefulFileSystem } from './files/careful-file-system.js';
import { isReallyInside } from './files/inside.js';
import { textBeside, unreadBecause } from './files/text-beside.js';
import { projectsForServer } from './project/for-server-of-machine.js';

/** Why a file of a workspace folder that is there cannot be read. What a link leads to elsewhere is not even looked at. */
function whyUnread(folder: URI, file: URI): string | undefined {
  if (file.scheme !== 'file') return undefined;
  if (isReallyInside(folder.fsPath, file.fsPath)) return unreadBecause(file.fsPath);
  return existsSync(file.fsPath) ? 'is a link that leads out of the workspace folder' : undefined;
}

/** Starts the language server on a connection, with the files of this machine. */
export const startServer = (connection: Connection): Server =>
  startWith(connection, {
    ...CarefulFileSystem,
    readsFiles: true,
    mayRead: (folder, file) => file.scheme !== 'file' || isReallyInside(folder.fsPath, file.fsPath),
    readText: (uri) => (uri.scheme === 'file' ? textBeside(uri.fsPath) : undefined),
    whyUnread,
    projects: projectsForServer,
    today: () => today(),
    stampOf,
  });

/** Starts the language server on the connection the arguments name: `--stdio`, `--node-ipc`, `--socket=…` or `--pipe=…`. */
export function startFromArguments(): Server {
  const server = startServer(createConnection(ProposedFeatures.all));
  // Work that nobody waits for and that fails would end the process; what it was for is lost, the rest goes on.
  process.on('unhandledRejection', (fault) => server.faults.tell('work in the background', fault));
  return server;
}
