import {
  BrowserMessageReader,
  BrowserMessageWriter,
  ProposedFeatures,
  createConnection,
} from 'vscode-languageserver/browser';
import { startBrowserServer } from './browser-server.js';

// In a worker the global object is the port to the editor. It is typed here because the project has no types of the browser.
const port = globalThis as unknown as ConstructorParameters<typeof BrowserMessageReader>[0];
const connection = createConnection(
  ProposedFeatures.all,
  new BrowserMessageReader(port),
  new BrowserMessageWriter(port),
);
startBrowserServer(connection);
