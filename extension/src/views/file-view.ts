import * as vscode from 'vscode';
import type { BaseLanguageClient, Range } from 'vscode-languageclient';

/** Quiet time after the last change of a text before a view of it is made again, ms. */
const QUIET = 120;

/** A page beside the text of one file, made again whenever something it may rest on has changed. */
export abstract class FileView<FromPage> implements vscode.Disposable {
  private readonly subscriptions: vscode.Disposable[] = [];
  private timer: ReturnType<typeof setTimeout> | undefined;
  private isMaking = false;
  private isStale = false;

  constructor(
    protected readonly panel: vscode.WebviewPanel,
    protected readonly uri: vscode.Uri,
    protected readonly client: BaseLanguageClient,
  ) {
    this.subscriptions.push(
      panel.webview.onDidReceiveMessage((message: FromPage) => void this.answer(message)),
      panel.onDidDispose(() => this.dispose()),
      // A change of any file may change a part that the design uses.
      vscode.workspace.onDidChangeTextDocument(({ document }) => {
        if (document.languageId === 'wattwright') this.soon();
      }),
      vscode.languages.onDidChangeDiagnostics(({ uris }) => {
        if (uris.some((each) => each.toString() === this.uri.toString())) this.soon();
      }),
      vscode.window.onDidChangeTextEditorSelection(({ textEditor, selections }) => {
        if (textEditor.document.languageId === 'wattwright') this.point(textEditor.document.uri, selections[0]?.active);
      }),
    );
  }

  /** Asks for what is shown, and shows it. */
  protected abstract make(): Promise<void>;
  protected abstract take(message: FromPage): Promise<void> | void;
  /** Told where the cursor is. */
  protected point(uri: vscode.Uri, position: vscode.Position | undefined): void {
    void uri;
    void position;
  }

  show(): void {
    this.panel.reveal(undefined, true);
  }

  private async answer(message: FromPage): Promise<void> {
    try {
      await this.take(message);
    } catch (fault) {
      this.problem(fault);
    }
  }

  private soon(): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.refresh(), QUIET);
  }

  /** One at a time; what has changed meanwhile is made after it. */
  protected async refresh(): Promise<void> {
    if (this.isMaking) {
      this.isStale = true;
      return;
    }
    this.isMaking = true;
    try {
      do {
        this.isStale = false;
        await this.make();
      } while (this.isStale);
    } catch (fault) {
      this.problem(fault);
    } finally {
      this.isMaking = false;
    }
  }

  protected ask<T>(method: string, parameters: object): Promise<T> {
    return this.client.sendRequest<T>(method, {
      textDocument: { uri: this.client.code2ProtocolConverter.asUri(this.uri) },
      ...parameters,
    });
  }

  /** Shows a place in the editor that has its file open, or in the first one. */
  protected async reveal({ uri, range }: { readonly uri: string; readonly range: Range }): Promise<void> {
    const selection = this.client.protocol2CodeConverter.asRange(range);
    const document = await vscode.workspace.openTextDocument(this.client.protocol2CodeConverter.asUri(uri));
    const shown = vscode.window.visibleTextEditors.find((each) => each.document === document);
    await vscode.window.showTextDocument(document, {
      selection,
      viewColumn: shown?.viewColumn ?? vscode.ViewColumn.One,
    });
  }

  /** Asks where to save something that is named after the design, and writes it there. */
  protected async save(ending: string, bytes: Uint8Array): Promise<void> {
    const file = await vscode.window.showSaveDialog({
      defaultUri: this.uri.with({ path: this.uri.path.replace(/\.watt$/, `.${ending}`) }),
      filters: { [ending.toUpperCase()]: [ending] },
    });
    if (file) await vscode.workspace.fs.writeFile(file, bytes);
  }

  protected post(message: unknown): void {
    void this.panel.webview.postMessage(message);
  }

  protected problem(fault: unknown): void {
    this.post({ type: 'problem', text: fault instanceof Error ? fault.message : String(fault) });
  }

  dispose(): void {
    clearTimeout(this.timer);
    vscode.Disposable.from(...this.subscriptions).dispose();
  }
}
