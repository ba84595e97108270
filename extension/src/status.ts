import * as vscode from 'vscode';
import { type BaseLanguageClient, State } from 'vscode-languageclient';
import { LANGUAGE, isDesign, laterOnce } from './designs.js';

interface RangeData {
  readonly start: { readonly line: number; readonly character: number };
  readonly end: { readonly line: number; readonly character: number };
}

/** A fact that is missing, as the server says it. */
export interface Question {
  readonly fact: string;
  readonly whom: 'nameplate' | 'site' | 'customer';
  readonly range: RangeData;
  readonly unlocks: number;
  readonly waiting: readonly string[];
  readonly answer?: {
    readonly range: RangeData;
    readonly state: string;
    readonly assume: string;
    readonly takes: string;
  };
}

/** How the server says that a file stands; see its `wattwright/state`. */
export interface FileState {
  readonly errors: number;
  readonly warnings: number;
  readonly isPlaying: boolean;
  readonly questions: readonly Question[];
}

/** In the status bar: how the design in view stands, and the questions that it leaves open; a click shows their view. */
export class DesignStatus implements vscode.Disposable {
  private readonly item = vscode.window.createStatusBarItem('wattwright.state', vscode.StatusBarAlignment.Left, 10);
  private readonly subscriptions: vscode.Disposable[];
  private shown: { readonly uri: vscode.Uri; readonly state: FileState } | undefined;
  private readonly changed = new vscode.EventEmitter<FileState | undefined>();
  /** How the design in view stands now; nothing where none is. */
  readonly onDidChange = this.changed.event;

  constructor(private readonly client: BaseLanguageClient) {
    this.item.name = 'Wattwright';
    this.item.command = 'wattwright.showQuestions';
    const changed = laterOnce((uri) => void this.update(uri));
    const inView = (): void => {
      const document = vscode.window.activeTextEditor?.document;
      if (document?.languageId === LANGUAGE && isDesign(document.uri)) changed.ask(document.uri);
      else if (document) this.forget();
    };
    this.subscriptions = [
      this.item,
      this.changed,
      changed,
      vscode.window.onDidChangeActiveTextEditor(inView),
      vscode.languages.onDidChangeDiagnostics(inView),
      client.onDidChangeState(inView),
    ];
    inView();
  }

  get state(): FileState | undefined {
    return this.shown?.state;
  }

  private forget(): void {
    this.item.hide();
    this.shown = undefined;
    this.changed.fire(undefined);
  }

  private async ask(uri: vscode.Uri): Promise<FileState | undefined> {
    if (this.client.state !== State.Running) return undefined;
    try {
      const state = await this.client.sendRequest<FileState | null>('wattwright/state', {
        uri: this.client.code2ProtocolConverter.asUri(uri),
      });
      return state ?? undefined;
    } catch {
      // What the server could not answer its log tells; the bar then shows nothing.
      return undefined;
    }
  }

  private async update(uri: vscode.Uri): Promise<void> {
    const state = await this.ask(uri);
    if (vscode.window.activeTextEditor?.document.uri.toString() !== uri.toString()) return;
    if (!state) return this.forget();
    this.shown = { uri, state };
    this.changed.fire(state);
    const { errors, warnings, questions, isPlaying } = state;
    const counts = [
      errors > 0 ? `$(error) ${errors}` : '',
      warnings > 0 ? `$(warning) ${warnings}` : '',
      questions.length > 0 ? `$(question) ${questions.length}` : '',
    ].filter(Boolean);
    this.item.text =
      `${isPlaying ? '$(sync~spin)' : counts.length > 0 ? '$(zap)' : '$(pass)'} Wattwright ${counts.join(' ')}`.trim();
    const told = vscode.l10n.t('{0} errors, {1} warnings, {2} open questions', errors, warnings, questions.length);
    this.item.tooltip = isPlaying ? vscode.l10n.t('{0}; scenarios are being simulated', told) : told;
    this.item.accessibilityInformation = { label: `Wattwright: ${told}` };
    this.item.backgroundColor = errors > 0 ? new vscode.ThemeColor('statusBarItem.errorBackground') : undefined;
    this.item.show();
  }

  /** Goes to where a question is asked. */
  async goTo({ range }: Question): Promise<void> {
    if (this.shown) await vscode.window.showTextDocument(this.shown.uri, { selection: rangeFrom(range) });
  }

  /** Writes the property of a question into the text, its value selected. The text may have changed since it was asked. */
  async answer({ fact }: Question, how: 'state' | 'assume'): Promise<void> {
    if (!this.shown) return;
    const { uri } = this.shown;
    const found = (await this.ask(uri))?.questions.find((each) => each.fact === fact);
    if (!found?.answer) return found && this.goTo(found);
    const editor = await vscode.window.showTextDocument(uri);
    await editor.insertSnippet(new vscode.SnippetString(found.answer[how]), rangeFrom(found.answer.range), {
      undoStopBefore: true,
      undoStopAfter: true,
    });
  }

  dispose(): void {
    for (const each of this.subscriptions) each.dispose();
  }
}

const rangeFrom = ({ start, end }: RangeData): vscode.Range =>
  new vscode.Range(start.line, start.character, end.line, end.character);
