import * as vscode from 'vscode';
import { LanguageClient, TransportKind } from 'vscode-languageclient/node';
import { clientOptions, registerFeatures, type WattwrightApi } from './features.js';

let client: LanguageClient | undefined;

/** Starts the language server as a Node process of its own and connects the editor to it. */
export async function activate(context: vscode.ExtensionContext): Promise<WattwrightApi> {
  const module = vscode.Uri.joinPath(context.extensionUri, 'dist', 'server.cjs').fsPath;
  const server = { module, transport: TransportKind.ipc };
  client = new LanguageClient('wattwright', 'Wattwright', { run: server, debug: server }, clientOptions(context));
  const api = registerFeatures(context, client);
  await client.start();
  return api;
}

export async function deactivate(): Promise<void> {
  await client?.stop();
}
