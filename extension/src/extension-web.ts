import * as vscode from 'vscode';
import { BrowserMessageReader, BrowserMessageWriter, LanguageClient, State } from 'vscode-languageclient/browser';
import { DESIGN_FILES, LEFT_OUT, PROJECT_FILES } from './designs.js';
import { clientOptions, registerFeatures, type WattwrightApi } from './features.js';
import type { WorkerPort } from './views/pictures.js';

let client: LanguageClient | undefined;

/** Starts the language server in a browser worker and connects the editor to it. */
export async function activate(context: vscode.ExtensionContext): Promise<WattwrightApi> {
  const script = vscode.Uri.joinPath(context.extensionUri, 'dist', 'server-web.js');
  client = new LanguageClient('wattwright', 'Wattwright', () => connect(script), clientOptions(context));
  const pictures = vscode.Uri.joinPath(context.extensionUri, 'dist', 'pictures-web.js');
  const api = registerFeatures(context, client, async () => portOf(await startWorker(pictures)));
  await client.start();
  await shareDesignFiles(context);
  await shareProjectFiles(context, client);
  return api;
}

export async function deactivate(): Promise<void> {
  await client?.stop();
}

/** A worker cannot read files: the editor opens every design file for it, so that `use` finds what it names. */
async function shareDesignFiles(context: vscode.ExtensionContext): Promise<void> {
  const share = async (file: vscode.Uri): Promise<void> => void (await vscode.workspace.openTextDocument(file));
  const watcher = vscode.workspace.createFileSystemWatcher(DESIGN_FILES);
  context.subscriptions.push(watcher, watcher.onDidCreate(share), watcher.onDidChange(share));
  await Promise.all((await vscode.workspace.findFiles(DESIGN_FILES)).map(share));
}

/** Nor can it read project files, which may name tables among the designs: their texts follow, and again after each change. */
async function shareProjectFiles(context: vscode.ExtensionContext, server: LanguageClient): Promise<void> {
  const textOf = async (file: vscode.Uri): Promise<{ uri: string; text?: string }> => {
    const uri = file.toString();
    try {
      return { uri, text: new TextDecoder().decode(await vscode.workspace.fs.readFile(file)) };
    } catch {
      return { uri };
    }
  };
  const share = async (): Promise<void> => {
    const files = await vscode.workspace.findFiles(PROJECT_FILES, LEFT_OUT);
    if (server.isRunning())
      await server.sendNotification('wattwright/projectFiles', { files: await Promise.all(files.map(textOf)) });
  };
  const watcher = vscode.workspace.createFileSystemWatcher(PROJECT_FILES);
  context.subscriptions.push(
    watcher,
    watcher.onDidCreate(share),
    watcher.onDidChange(share),
    watcher.onDidDelete(share),
    // A server that was started again knows nothing of them.
    server.onDidChangeState(({ newState }) => {
      if (newState === State.Running) void share();
    }),
  );
  await share();
}

/** The editor hands out stand-ins for workers, which the client would not recognise: it gets a reader and a writer instead. */
async function connect(script: vscode.Uri): Promise<{ reader: BrowserMessageReader; writer: BrowserMessageWriter }> {
  const worker = await startWorker(script);
  return { reader: new BrowserMessageReader(worker), writer: new BrowserMessageWriter(worker) };
}

/** The editor starts workers from web addresses only; where the extension lies on a remote machine, its text is handed over. */
async function startWorker(script: vscode.Uri): Promise<Worker> {
  if (script.scheme === 'https' || script.scheme === 'http') return new Worker(script.toString(true));
  const text = new TextDecoder().decode(await vscode.workspace.fs.readFile(script));
  return new Worker(URL.createObjectURL(new Blob([text], { type: 'text/javascript' })));
}

/** A worker of the browser as drawings talk to it. */
const portOf = (worker: Worker): WorkerPort => ({
  post: (message) => worker.postMessage(message),
  listen: (onMessage, onFault) => {
    worker.onmessage = ({ data }: MessageEvent<unknown>) => onMessage(data);
    worker.onerror = ({ message }) => onFault(message);
  },
  end: () => worker.terminate(),
});
