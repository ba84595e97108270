import * as vscode from 'vscode';
import { LanguageClient, TransportKind } from 'vscode-languageclient/node';
import { Worker } from 'node:worker_threads';
import type { WorkerPort } from './views/pictures.js';
import { clientOptions, registerFeatures, type WattwrightApi } from './features.js';

let client: LanguageClient | undefined;

/** Starts the language server as a Node process of its own and connects the editor to it. */
export async function activate(context: vscode.ExtensionContext): Promise<WattwrightApi> {
  const module = vscode.Uri.joinPath(context.extensionUri, 'dist', 'server.cjs').fsPath;
  const server = { module, transport: TransportKind.ipc };
  client = new LanguageClient('wattwright', 'Wattwright', { run: server, debug: server }, clientOptions(context));
  const api = registerFeatures(context, client, () => Promise.resolve(startPictures(context)));
  await client.start();
  return api;
}

export async function deactivate(): Promise<void> {
  await client?.stop();
}

/** The thread in which drawings are laid out. */
function startPictures(context: vscode.ExtensionContext): WorkerPort {
  const file = (name: string): string => vscode.Uri.joinPath(context.extensionUri, 'dist', name).fsPath;
  const worker = new Worker(file('pictures.cjs'), { workerData: { script: file('pictures-web.js') } });
  return {
    post: (message) => worker.postMessage(message),
    listen: (onMessage, onFault) => {
      worker.on('message', onMessage);
      worker.on('error', (fault: Error) => onFault(fault.message));
    },
    end: () => void worker.terminate(),
  };
}
