import * as vscode from 'vscode';
import type { BaseLanguageClient, Range } from 'vscode-languageclient';
import { drawingHtml } from './html.js';
import type { Picture, Pictures, Positions } from './pictures.js';

/** Quiet time after the last change of a text before it is drawn again, ms. */
const QUIET = 120;
/** No state: the drawing that holds for all of them. */
const WHOLE = '';

interface Element {
  readonly id: string;
  readonly kind: 'symbol' | 'run' | 'link';
  readonly description: string;
  readonly uri: string;
  readonly range: Range;
}

/** What the language server answers to `wattwright/drawing`. */
interface DrawingAnswer {
  readonly designs: readonly string[];
  readonly design: string;
  readonly drawing: { readonly states: readonly { readonly id: string; readonly title: string }[] };
  readonly elements: readonly Element[];
  readonly stamp: unknown;
}

type FromPage =
  | { readonly type: 'ready' | 'tidy' | 'exportSvg' }
  | { readonly type: 'reveal'; readonly id: string }
  | { readonly type: 'state' | 'design'; readonly name: string }
  | { readonly type: 'exportPng'; readonly data: string };

/** The drawing of one file beside its text: one picture of a design in one state of its sources. */
export class DrawingPanel implements vscode.Disposable {
  private readonly subscriptions: vscode.Disposable[] = [];
  private design: string | undefined;
  private state = WHOLE;
  private answer: DrawingAnswer | undefined;
  private picture: Picture | undefined;
  /** Places that hold the picture while the text changes; forgotten by *Tidy*. */
  private former: Positions = {};
  private timer: ReturnType<typeof setTimeout> | undefined;
  private isDrawing = false;
  private isStale = false;

  constructor(
    private readonly panel: vscode.WebviewPanel,
    private readonly uri: vscode.Uri,
    private readonly client: BaseLanguageClient,
    private readonly pictures: Pictures,
    extensionUri: vscode.Uri,
    closed: () => void,
  ) {
    panel.webview.html = drawingHtml(panel.webview, extensionUri);
    this.subscriptions.push(
      panel.webview.onDidReceiveMessage((message: FromPage) => void this.take(message)),
      panel.onDidDispose(() => {
        this.dispose();
        closed();
      }),
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

  show(): void {
    this.panel.reveal(undefined, true);
  }

  private soon(): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.draw(), QUIET);
  }

  /** One drawing at a time; what has changed meanwhile is drawn after it. */
  private async draw(): Promise<void> {
    if (this.isDrawing) {
      this.isStale = true;
      return;
    }
    this.isDrawing = true;
    try {
      do {
        this.isStale = false;
        await this.drawOnce();
      } while (this.isStale);
    } catch (fault) {
      this.post({ type: 'problem', text: fault instanceof Error ? fault.message : String(fault) });
    } finally {
      this.isDrawing = false;
    }
  }

  private async drawOnce(): Promise<void> {
    const answer = await this.ask(false);
    if (!answer) {
      this.post({ type: 'problem', text: vscode.l10n.t('There is no design in this file.') });
      return;
    }
    this.answer = answer;
    this.design = answer.design;
    if (!answer.drawing.states.some(({ id }) => id === this.state)) this.state = WHOLE;
    const keptText = await this.keptText();
    this.picture = await this.pictures.draw({
      view: this.uri.toString(),
      drawing: answer.drawing,
      former: this.former,
      ...(keptText === undefined ? {} : { keptText }),
      write: { stamp: answer.stamp, sheets: this.sheets() },
    });
    this.former = this.picture.positions;
    this.send();
  }

  private ask(isForFile: boolean): Promise<DrawingAnswer | null> {
    return this.client.sendRequest<DrawingAnswer | null>('wattwright/drawing', {
      textDocument: { uri: this.client.code2ProtocolConverter.asUri(this.uri) },
      ...(this.design === undefined ? {} : { design: this.design }),
      isForFile,
    });
  }

  private sheets(): 'whole' | { readonly state: string } {
    return this.state === WHOLE ? 'whole' : { state: this.state };
  }

  /** Text of `<name>.layout.json` beside the design, where there is one. */
  private async keptText(): Promise<string | undefined> {
    const file = this.uri.with({ path: this.uri.path.replace(/\.watt$/, '.layout.json') });
    try {
      return new TextDecoder().decode(await vscode.workspace.fs.readFile(file));
    } catch {
      return undefined;
    }
  }

  private send(): void {
    if (!this.answer || !this.picture) return;
    const { positions } = this.picture;
    const placeOf = (id: string): number => (positions[id] ? positions[id].x * 1e5 + positions[id].y : Infinity);
    this.post({
      type: 'picture',
      svg: this.picture.svg,
      designs: this.answer.designs,
      design: this.answer.design,
      states: this.answer.drawing.states.map(({ id, title }) => ({ id, title })),
      state: this.state,
      // In the order of power flow, which is the order of places.
      elements: [...this.answer.elements]
        .sort((a, b) => placeOf(a.id) - placeOf(b.id))
        .map(({ id, kind, description }) => ({ id, kind, description })),
    });
    const editor = vscode.window.visibleTextEditors.find(
      ({ document }) => document.uri.toString() === this.uri.toString(),
    );
    if (editor) this.point(editor.document.uri, editor.selection.active);
  }

  /** Lights the element in whose line the cursor is. */
  private point(uri: vscode.Uri, position: vscode.Position | undefined): void {
    const here = this.client.code2ProtocolConverter.asUri(uri);
    const element = this.answer?.elements.find((each) => each.uri === here && each.range.start.line === position?.line);
    this.post({ type: 'cursor', id: element?.id ?? '' });
  }

  private async take(message: FromPage): Promise<void> {
    switch (message.type) {
      case 'ready':
        this.send();
        return this.draw();
      case 'tidy':
        this.former = {};
        return this.draw();
      case 'design':
        this.design = message.name;
        this.former = {};
        this.state = WHOLE;
        return this.draw();
      case 'state':
        this.state = message.name;
        return this.draw();
      case 'reveal':
        return this.reveal(message.id);
      case 'exportSvg':
        return this.exportSvg();
      case 'exportPng':
        return this.save(
          'png',
          Uint8Array.from(atob(message.data), (letter) => letter.charCodeAt(0)),
        );
    }
  }

  private async reveal(id: string): Promise<void> {
    const element = this.answer?.elements.find((each) => each.id === id);
    if (!element) return;
    const selection = this.client.protocol2CodeConverter.asRange(element.range);
    const document = await vscode.workspace.openTextDocument(this.client.protocol2CodeConverter.asUri(element.uri));
    const shown = vscode.window.visibleTextEditors.find((each) => each.document === document);
    const viewColumn = shown?.viewColumn ?? vscode.ViewColumn.One;
    await vscode.window.showTextDocument(document, { selection, viewColumn });
  }

  /** What is written to a file is drawn afresh from the text, as the command line does: the same bytes. */
  private async exportSvg(): Promise<void> {
    const answer = await this.ask(true);
    if (!answer) return;
    const keptText = await this.keptText();
    const { svg } = await this.pictures.draw({
      view: `${this.uri.toString()} for a file`,
      drawing: answer.drawing,
      ...(keptText === undefined ? {} : { keptText }),
      write: { stamp: answer.stamp, sheets: 'all' },
    });
    await this.save('svg', new TextEncoder().encode(svg));
  }

  private async save(ending: 'svg' | 'png', bytes: Uint8Array): Promise<void> {
    const file = await vscode.window.showSaveDialog({
      defaultUri: this.uri.with({ path: this.uri.path.replace(/\.watt$/, `.${ending}`) }),
      filters: { [ending.toUpperCase()]: [ending] },
    });
    if (file) await vscode.workspace.fs.writeFile(file, bytes);
  }

  private post(message: unknown): void {
    void this.panel.webview.postMessage(message);
  }

  dispose(): void {
    clearTimeout(this.timer);
    vscode.Disposable.from(...this.subscriptions).dispose();
  }
}
