import './runtime-fill.js';
import { type URI } from 'langium';
import { NodeFileSystem } from 'langium/node';
import { readFileSync, realpathSync } from 'node:fs';
import path from 'node:path';
import { type Connection, ProposedFeatures, createConnection } from 'vscode-languageserver/node';
import { today } from './cli/today.js';
import { type Server, startServer as startWith } from './create-server.js';

/** Whether a file lies in a folder also when symbolic links are followed. */
function isReallyInside(folder: URI, file: URI): boolean {
  if (file.scheme !== 'file') return true;
  try {
    const relative = path.relative(realpathSync(folder.fsPath), realpathSync(file.fsPath));
    return relative !== '' && !relative.startsWith('..') && !path.isAbsolute(relative);
  } catch {
    return false;
  }
}

function readText(uri: URI): string | undefined {
  if (uri.scheme !== 'file') return undefined;
  try {
    return readFileSync(uri.fsPath, 'utf8');
  } catch {
    return undefined;
  }
}

/** Starts the language server on a connection, with the files of this machine. */
export const startServer = (connection: Connection): Server =>
  startWith(connection, {
    ...NodeFileSystem,
    readsFiles: true,
    mayRead: isReallyInside,
    readText,
    today: () => today(),
  });

/** Starts the language server on the connection the arguments name: `--stdio`, `--node-ipc`, `--socket=…` or `--pipe=…`. */
export function startFromArguments(): Server {
  const server = startServer(createConnection(ProposedFeatures.all));
  // Work that nobody waits for and that fails would end the process; what it was for is lost, the rest goes on.
  process.on('unhandledRejection', (fault) => server.faults.tell('work in the background', fault));
  return server;
}
