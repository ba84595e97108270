import * as vscode from 'vscode';
import { LanguageClient } from 'vscode-languageclient/browser';
import { clientOptions, registerFeatures, type WattwrightApi } from './features.js';

let client: LanguageClient | undefined;

/** Starts the language server in a browser worker and connects the editor to it. */
export async function activate(context: vscode.ExtensionContext): Promise<WattwrightApi> {
  const script = vscode.Uri.joinPath(context.extensionUri, 'dist', 'server-web.js');
  const startWorker = async (): Promise<Worker> => new Worker(script.toString(true));
  client = new LanguageClient('wattwright', 'Wattwright', startWorker, clientOptions(context));
  const api = registerFeatures(context, client);
  await client.start();
  return api;
}

export async function deactivate(): Promise<void> {
  await client?.stop();
}
