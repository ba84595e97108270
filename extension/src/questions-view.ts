import * as vscode from 'vscode';
import type { DesignStatus, FileState, Question } from './status.js';

/** A heading of the view, or a question under it. */
type Entry = { readonly whom: Question['whom']; readonly questions: readonly Question[] } | Question;

const ORDER = ['nameplate', 'site', 'customer'] as const;

const HEADINGS = (): Readonly<Record<Question['whom'], string>> => ({
  nameplate: vscode.l10n.t('Read the nameplate'),
  site: vscode.l10n.t('Measure on site'),
  customer: vscode.l10n.t('Ask the customer'),
});

const ICONS = { nameplate: 'note', site: 'location', customer: 'person' } as const;

/** What the design in view is asked, by who can answer; each question states itself in the text, or assumes a value. */
export class QuestionsView implements vscode.TreeDataProvider<Entry>, vscode.Disposable {
  private readonly changed = new vscode.EventEmitter<void>();
  readonly onDidChangeTreeData = this.changed.event;
  private readonly view: vscode.TreeView<Entry>;
  private readonly subscriptions: vscode.Disposable[];
  private questions: readonly Question[] = [];

  constructor(private readonly status: DesignStatus) {
    this.view = vscode.window.createTreeView('wattwright.questions', { treeDataProvider: this });
    this.subscriptions = [
      this.view,
      this.changed,
      status.onDidChange((state) => this.show(state)),
      vscode.commands.registerCommand('wattwright.goToQuestion', (question: Question) => status.goTo(question)),
      vscode.commands.registerCommand('wattwright.stateFact', (entry?: Entry) => this.answer(entry, 'state')),
      vscode.commands.registerCommand('wattwright.assumeFact', (entry?: Entry) => this.answer(entry, 'assume')),
    ];
    this.show(status.state);
  }

  private show(state: FileState | undefined): void {
    this.questions = state?.questions ?? [];
    const count = this.questions.length;
    this.view.message =
      state && count === 0 ? vscode.l10n.t('No question is open: no fact is missing that a check needs.') : undefined;
    this.view.badge = count > 0 ? { value: count, tooltip: vscode.l10n.t('{0} open questions', count) } : undefined;
    void vscode.commands.executeCommand('setContext', 'wattwright.designInView', state !== undefined);
    this.changed.fire();
  }

  getChildren(entry?: Entry): Entry[] {
    if (entry) return 'questions' in entry ? [...entry.questions] : [];
    return ORDER.map((whom) => ({ whom, questions: this.questions.filter((each) => each.whom === whom) })).filter(
      ({ questions }) => questions.length > 0,
    );
  }

  getTreeItem(entry: Entry): vscode.TreeItem {
    if ('questions' in entry) {
      const heading = new vscode.TreeItem(HEADINGS()[entry.whom], vscode.TreeItemCollapsibleState.Expanded);
      heading.id = entry.whom;
      heading.description = String(entry.questions.length);
      heading.iconPath = new vscode.ThemeIcon(ICONS[entry.whom]);
      return heading;
    }
    const item = new vscode.TreeItem(entry.fact);
    item.id = `${entry.whom}/${entry.fact}`;
    item.description =
      entry.unlocks === 1 ? vscode.l10n.t('1 check waits') : vscode.l10n.t('{0} checks wait', entry.unlocks);
    item.tooltip = [entry.answer?.takes, ...entry.waiting.map((each) => `• ${each}`)].filter(Boolean).join('\n');
    item.contextValue = entry.answer ? 'answerable' : 'question';
    item.command = {
      command: 'wattwright.goToQuestion',
      title: vscode.l10n.t('Go to where it is asked'),
      arguments: [entry],
    };
    return item;
  }

  /** Writes a property with its value to fill in where the fact belongs. */
  private async answer(entry: Entry | undefined, how: 'state' | 'assume'): Promise<void> {
    const chosen = entry ?? this.view.selection[0];
    if (chosen && 'fact' in chosen) await this.status.answer(chosen, how);
  }

  dispose(): void {
    for (const each of this.subscriptions) each.dispose();
  }
}
