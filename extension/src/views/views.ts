import * as vscode from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import { DrawingView } from './drawing-view.js';
import type { FileView } from './file-view.js';
import { Pictures, type WorkerPort } from './pictures.js';
import { PlotsView } from './plots-view.js';

type ViewKind = 'drawing' | 'plots';

/** The views that are open beside texts, one of each kind for each file. */
export class Views implements vscode.Disposable {
  private readonly pictures: Pictures;
  private readonly open = new Map<string, FileView<never>>();
  private readonly commands: vscode.Disposable;

  constructor(
    private readonly extensionUri: vscode.Uri,
    private readonly client: BaseLanguageClient,
    startWorker: () => Promise<WorkerPort>,
  ) {
    this.pictures = new Pictures(startWorker);
    this.commands = vscode.Disposable.from(
      vscode.commands.registerCommand('wattwright.showDrawing', (uri?: vscode.Uri) => this.show('drawing', uri)),
      vscode.commands.registerCommand('wattwright.showPlots', (uri?: vscode.Uri) => this.show('plots', uri)),
    );
  }

  private show(kind: ViewKind, given?: vscode.Uri): void {
    const uri = given ?? vscode.window.activeTextEditor?.document.uri;
    if (!uri?.path.endsWith('.watt')) {
      void vscode.window.showInformationMessage(vscode.l10n.t('Wattwright: open a design to see it drawn or plotted.'));
      return;
    }
    const key = `${kind} ${uri.toString()}`;
    const shown = this.open.get(key);
    if (shown) return shown.show();
    const name = uri.path.replace(/^.*\//, '');
    const title = kind === 'drawing' ? vscode.l10n.t('Drawing of {0}', name) : vscode.l10n.t('Plots of {0}', name);
    const panel = vscode.window.createWebviewPanel(
      `wattwright.${kind}`,
      title,
      { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true },
      {
        enableScripts: true,
        localResourceRoots: [
          vscode.Uri.joinPath(this.extensionUri, 'media'),
          vscode.Uri.joinPath(this.extensionUri, 'dist'),
        ],
      },
    );
    panel.onDidDispose(() => this.open.delete(key));
    this.open.set(key, this.view(kind, panel, uri));
  }

  private view(kind: ViewKind, panel: vscode.WebviewPanel, uri: vscode.Uri): FileView<never> {
    return kind === 'drawing'
      ? new DrawingView(panel, uri, this.client, this.pictures, this.extensionUri)
      : new PlotsView(panel, uri, this.client, this.extensionUri);
  }

  dispose(): void {
    this.commands.dispose();
    for (const view of this.open.values()) view.dispose();
    this.pictures.dispose();
  }
}
