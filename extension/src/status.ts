import * as vscode from 'vscode';
import { type BaseLanguageClient, State } from 'vscode-languageclient';
import { LANGUAGE, isDesign, laterOnce } from './designs.js';

/** How the server says that a file stands; see its `wattwright/state`. */
interface FileState {
  readonly errors: number;
  readonly warnings: number;
  readonly isPlaying: boolean;
  readonly questions: readonly {
    readonly fact: string;
    readonly whom: 'nameplate' | 'site' | 'customer';
    readonly range: { readonly start: { readonly line: number; readonly character: number } };
    readonly unlocks: number;
  }[];
}

/** In the status bar: how the design in view stands, and the questions that it leaves open, which a click lists. */
export class DesignStatus implements vscode.Disposable {
  private readonly item = vscode.window.createStatusBarItem('wattwright.state', vscode.StatusBarAlignment.Left, 10);
  private readonly subscriptions: vscode.Disposable[];
  private shown: { readonly uri: vscode.Uri; readonly state: FileState } | undefined;

  constructor(private readonly client: BaseLanguageClient) {
    this.item.name = 'Wattwright';
    this.item.command = 'wattwright.showQuestions';
    const changed = laterOnce((uri) => void this.update(uri));
    const inView = (): void => {
      const document = vscode.window.activeTextEditor?.document;
      if (document?.languageId === LANGUAGE && isDesign(document.uri)) changed.ask(document.uri);
      else this.item.hide();
    };
    this.subscriptions = [
      this.item,
      changed,
      vscode.window.onDidChangeActiveTextEditor(inView),
      vscode.languages.onDidChangeDiagnostics(inView),
      client.onDidChangeState(inView),
    ];
    inView();
  }

  private async update(uri: vscode.Uri): Promise<void> {
    if (this.client.state !== State.Running) return this.item.hide();
    let state: FileState | null = null;
    try {
      state = await this.client.sendRequest<FileState | null>('wattwright/state', {
        uri: this.client.code2ProtocolConverter.asUri(uri),
      });
    } catch {
      // What the server could not answer its log tells; the bar then shows nothing.
    }
    if (vscode.window.activeTextEditor?.document.uri.toString() !== uri.toString()) return;
    if (!state) return this.item.hide();
    this.shown = { uri, state };
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

  /** Lists the open questions of the design in view, and goes to where the chosen one is asked. */
  async showQuestions(): Promise<void> {
    if (!this.shown) return;
    const { uri, state } = this.shown;
    const whom = {
      nameplate: vscode.l10n.t('data sheet or nameplate'),
      site: vscode.l10n.t('a look on site'),
      customer: vscode.l10n.t('who uses the system'),
    };
    if (state.questions.length === 0) {
      void vscode.window.showInformationMessage(
        vscode.l10n.t('No question is open: no fact is missing that a check needs.'),
      );
      return;
    }
    const items = state.questions.map((question) => ({
      label: question.fact,
      description: whom[question.whom],
      detail: vscode.l10n.t('Checks that wait for it: {0}', question.unlocks),
      question,
    }));
    const chosen = await vscode.window.showQuickPick(items, {
      placeHolder: vscode.l10n.t('What is asked of this design'),
    });
    if (!chosen) return;
    const { line, character } = chosen.question.range.start;
    const place = new vscode.Position(line, character);
    await vscode.window.showTextDocument(uri, { selection: new vscode.Range(place, place) });
  }

  dispose(): void {
    for (const each of this.subscriptions) each.dispose();
  }
}
