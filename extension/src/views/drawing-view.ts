import * as vscode from 'vscode';
import type { BaseLanguageClient, Range } from 'vscode-languageclient';
import { FileView } from './file-view.js';
import { drawingHtml } from './html.js';
import type { Picture, Pictures, Positions } from './pictures.js';

/** No state: the drawing that holds for all of them. */
const WHOLE = '';

const STAYS = (): string =>
  vscode.l10n.t('Columns follow the flow of power; within its column a symbol can be dragged above or below another.');

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
  | { readonly type: 'place'; readonly id: string; readonly right: number; readonly down: number }
  | { readonly type: 'exportPng'; readonly data: string };

/** The drawing of one file beside its text: one picture of a design in one state of its sources. */
export class DrawingView extends FileView<FromPage> {
  private design: string | undefined;
  private state = WHOLE;
  private shown: DrawingAnswer | undefined;
  private picture: Picture | undefined;
  /** Places that hold the picture while the text changes; forgotten by *Tidy*. */
  private former: Positions = {};

  constructor(
    panel: vscode.WebviewPanel,
    uri: vscode.Uri,
    client: BaseLanguageClient,
    private readonly pictures: Pictures,
    extensionUri: vscode.Uri,
  ) {
    super(panel, uri, client);
    panel.webview.html = drawingHtml(panel.webview, extensionUri);
  }

  protected async make(): Promise<void> {
    const answer = await this.drawing(false);
    if (!answer) {
      this.post({ type: 'problem', text: vscode.l10n.t('There is no design in this file.') });
      return;
    }
    this.shown = answer;
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

  private drawing(isForFile: boolean): Promise<DrawingAnswer | null> {
    return this.ask('wattwright/drawing', {
      ...(this.design === undefined ? {} : { design: this.design }),
      isForFile,
    });
  }

  private sheets(): 'whole' | { readonly state: string } {
    return this.state === WHOLE ? 'whole' : { state: this.state };
  }

  /** Text of `<name>.layout.json` beside the design, where there is one. */
  private async keptText(): Promise<string | undefined> {
    try {
      return new TextDecoder().decode(await vscode.workspace.fs.readFile(this.keptFile));
    } catch {
      return undefined;
    }
  }

  private get keptFile(): vscode.Uri {
    return this.uri.with({ path: this.uri.path.replace(/\.watt$/, '.layout.json') });
  }

  /** A symbol was dragged: places are kept in the file from now on, and the picture is made of them. */
  private async place(id: string, right: number, down: number): Promise<void> {
    const { positions } = this.picture ?? {};
    const place = positions?.[id];
    if (!positions || !place || this.design === undefined) return;
    const moved = { ...positions, [id]: { x: place.x + right, y: place.y + down } };
    const keptText = await this.keptText();
    const text = await this.pictures.keep({
      keep: { design: this.design, positions: moved },
      ...(keptText === undefined ? {} : { keptText }),
    });
    await vscode.workspace.fs.writeFile(this.keptFile, new TextEncoder().encode(text));
    this.former = {};
    await this.refresh();
    const now = this.picture?.positions ?? {};
    const isSame = Object.entries(positions).every(([name, { x, y }]) => now[name]?.x === x && now[name]?.y === y);
    if (isSame) this.post({ type: 'problem', text: STAYS() });
  }

  private send(): void {
    if (!this.shown || !this.picture) return;
    const { positions } = this.picture;
    const placeOf = (id: string): number => (positions[id] ? positions[id].x * 1e5 + positions[id].y : Infinity);
    this.post({
      type: 'picture',
      svg: this.picture.svg,
      designs: this.shown.designs,
      design: this.shown.design,
      states: this.shown.drawing.states.map(({ id, title }) => ({ id, title })),
      state: this.state,
      // In the order of power flow, which is the order of places.
      elements: [...this.shown.elements]
        .sort((a, b) => placeOf(a.id) - placeOf(b.id))
        .map(({ id, kind, description }) => ({ id, kind, description })),
    });
    const editor = vscode.window.visibleTextEditors.find(
      ({ document }) => document.uri.toString() === this.uri.toString(),
    );
    if (editor) this.point(editor.document.uri, editor.selection.active);
  }

  /** Lights the element in whose line the cursor is. */
  protected override point(uri: vscode.Uri, position: vscode.Position | undefined): void {
    const here = this.client.code2ProtocolConverter.asUri(uri);
    const element = this.shown?.elements.find((each) => each.uri === here && each.range.start.line === position?.line);
    this.post({ type: 'cursor', id: element?.id ?? '' });
  }

  protected async take(message: FromPage): Promise<void> {
    switch (message.type) {
      case 'ready':
        this.send();
        return this.refresh();
      case 'tidy':
        this.former = {};
        return this.refresh();
      case 'design':
        this.design = message.name;
        this.former = {};
        this.state = WHOLE;
        return this.refresh();
      case 'state':
        this.state = message.name;
        return this.refresh();
      case 'reveal':
        return this.revealElement(message.id);
      case 'place':
        return this.place(message.id, message.right, message.down);
      case 'exportSvg':
        return this.exportSvg();
      case 'exportPng':
        return this.save(
          'png',
          Uint8Array.from(atob(message.data), (letter) => letter.charCodeAt(0)),
        );
    }
  }

  private async revealElement(id: string): Promise<void> {
    const element = this.shown?.elements.find((each) => each.id === id);
    if (element) await this.reveal(element);
  }

  /** What is written to a file is drawn afresh from the text, as the command line does: the same bytes. */
  private async exportSvg(): Promise<void> {
    const answer = await this.drawing(true);
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
}
