import * as vscode from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import { DrawingPanel } from './panel.js';
import { Pictures, type WorkerPort } from './pictures.js';

const VIEW = 'wattwright.drawing';

/** The drawings that are open, one for each file. */
export class Drawings implements vscode.Disposable {
  private readonly pictures: Pictures;
  private readonly open = new Map<string, DrawingPanel>();
  private readonly command: vscode.Disposable;

  constructor(
    private readonly extensionUri: vscode.Uri,
    private readonly client: BaseLanguageClient,
    startWorker: () => Promise<WorkerPort>,
  ) {
    this.pictures = new Pictures(startWorker);
    this.command = vscode.commands.registerCommand('wattwright.showDrawing', (uri?: vscode.Uri) => this.show(uri));
  }

  private show(given?: vscode.Uri): void {
    const uri = given ?? vscode.window.activeTextEditor?.document.uri;
    if (!uri?.path.endsWith('.watt')) {
      void vscode.window.showInformationMessage(vscode.l10n.t('Wattwright: open a design to see its drawing.'));
      return;
    }
    const key = uri.toString();
    const shown = this.open.get(key);
    if (shown) return shown.show();
    const name = uri.path.replace(/^.*\//, '');
    const panel = vscode.window.createWebviewPanel(
      VIEW,
      vscode.l10n.t('Drawing of {0}', name),
      { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true },
      {
        enableScripts: true,
        localResourceRoots: [
          vscode.Uri.joinPath(this.extensionUri, 'media'),
          vscode.Uri.joinPath(this.extensionUri, 'dist'),
        ],
      },
    );
    this.open.set(
      key,
      new DrawingPanel(panel, uri, this.client, this.pictures, this.extensionUri, () => this.open.delete(key)),
    );
  }

  dispose(): void {
    this.command.dispose();
    for (const panel of this.open.values()) panel.dispose();
    this.pictures.dispose();
  }
}
