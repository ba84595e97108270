import * as vscode from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import { isDesign, laterOnce } from './designs.js';

/** What the server says can be run; see its `wattwright/provables`. */
interface Provable {
  readonly id: string;
  readonly design: string;
  readonly sort: 'requirement' | 'scenario' | 'reading';
  readonly label: string;
  readonly range: { readonly start: PositionData; readonly end: PositionData };
  readonly within?: string;
}

interface PositionData {
  readonly line: number;
  readonly character: number;
}

/** What the server says came of it; see its `wattwright/prove`. */
interface Outcome {
  readonly id: string;
  readonly state: 'passed' | 'failed' | 'open' | 'waiting';
  readonly message: string;
  readonly output?: string;
}

/** Requirements, scenarios and readings in the test explorer: listed by file and design, run there, told at their lines. */
export class Proving implements vscode.Disposable {
  private readonly controller = vscode.tests.createTestController('wattwright', 'Wattwright');
  private readonly subscriptions: vscode.Disposable[];

  constructor(private readonly client: BaseLanguageClient) {
    this.controller.createRunProfile(
      vscode.l10n.t('Run'),
      vscode.TestRunProfileKind.Run,
      (request, token) => this.run(request, token),
      true,
    );
    this.controller.refreshHandler = async () => {
      for (const file of await vscode.workspace.findFiles('**/*.watt', '**/{node_modules,out,dist}/**'))
        await this.list(file);
    };
    const changed = laterOnce((uri) => void this.list(uri));
    this.subscriptions = [
      this.controller,
      changed,
      vscode.languages.onDidChangeDiagnostics(({ uris }) => uris.filter(isDesign).forEach((uri) => changed.ask(uri))),
      vscode.workspace.onDidDeleteFiles(({ files }) =>
        files.forEach((uri) => this.controller.items.delete(uri.toString())),
      ),
    ];
    for (const { uri } of vscode.workspace.textDocuments) if (isDesign(uri)) changed.ask(uri);
  }

  /** Lists what a file has to run, as it is now. */
  private async list(uri: vscode.Uri): Promise<void> {
    if (!this.client.isRunning()) return;
    const found = await this.ask<Provable[]>('wattwright/provables', {
      uri: this.client.code2ProtocolConverter.asUri(uri),
    });
    if (!found || found.length === 0) return this.controller.items.delete(uri.toString());
    const file = this.controller.createTestItem(uri.toString(), vscode.workspace.asRelativePath(uri), uri);
    for (const design of new Set(found.map((each) => each.design))) {
      const own = found.filter((each) => each.design === design);
      const item = this.controller.createTestItem(`${uri.toString()}#${design}`, design, uri);
      const items = new Map(own.map((each) => [each.id, this.itemOf(each, uri)]));
      for (const each of own) {
        const around = each.within === undefined ? undefined : items.get(each.within);
        (around ?? item).children.add(items.get(each.id)!);
      }
      file.children.add(item);
    }
    this.controller.items.add(file);
  }

  private itemOf({ id, label, range, sort }: Provable, uri: vscode.Uri): vscode.TestItem {
    const item = this.controller.createTestItem(id, label, uri);
    item.range = new vscode.Range(range.start.line, range.start.character, range.end.line, range.end.character);
    item.description = SORTS()[sort];
    return item;
  }

  private async run(request: vscode.TestRunRequest, token: vscode.CancellationToken): Promise<void> {
    const run = this.controller.createTestRun(request);
    try {
      const chosen = new Map<string, vscode.TestItem[]>();
      const excluded = new Set(request.exclude ?? []);
      for (const item of request.include ?? children(this.controller.items))
        for (const leaf of provablesIn(item, excluded)) {
          const key = leaf.uri!.toString();
          chosen.set(key, [...(chosen.get(key) ?? []), leaf]);
        }
      for (const [uri, items] of chosen) {
        if (token.isCancellationRequested) break;
        await this.runFile(vscode.Uri.parse(uri), items, run, token);
      }
    } finally {
      run.end();
    }
  }

  private async runFile(
    uri: vscode.Uri,
    items: readonly vscode.TestItem[],
    run: vscode.TestRun,
    token: vscode.CancellationToken,
  ): Promise<void> {
    for (const item of items) run.started(item);
    await vscode.workspace.openTextDocument(uri);
    const outcomes = await this.ask<Outcome[]>(
      'wattwright/prove',
      { uri: this.client.code2ProtocolConverter.asUri(uri), ids: items.map(({ id }) => id) },
      token,
    );
    for (const item of items) {
      const outcome = outcomes?.find(({ id }) => id === item.id);
      this.report(item, outcome, run);
    }
  }

  private report(item: vscode.TestItem, outcome: Outcome | undefined, run: vscode.TestRun): void {
    const message = new vscode.TestMessage(outcome?.message ?? vscode.l10n.t('The language server gave no answer.'));
    if (item.uri && item.range) message.location = new vscode.Location(item.uri, item.range);
    const said = outcome?.output ?? outcome?.message;
    if (said) run.appendOutput(`${said.replaceAll('\n', '\r\n')}\r\n`, undefined, item);
    switch (outcome?.state) {
      case 'passed':
        return run.passed(item);
      case 'failed':
        return run.failed(item, message);
      case 'open':
      case 'waiting':
        // Neither held nor broken: a mark of its own, so that nobody takes it for passed.
        return run.errored(item, message);
      default:
        return run.skipped(item);
    }
  }

  /** What the server answers; undefined where it refuses, which its log tells. */
  private async ask<T>(method: string, parameters: object, token?: vscode.CancellationToken): Promise<T | undefined> {
    try {
      return await this.client.sendRequest<T>(method, parameters, token);
    } catch {
      return undefined;
    }
  }

  dispose(): void {
    for (const each of this.subscriptions) each.dispose();
  }
}

const SORTS = (): Record<Provable['sort'], string> => ({
  requirement: vscode.l10n.t('requirement'),
  scenario: vscode.l10n.t('scenario'),
  reading: vscode.l10n.t('reading'),
});

const children = (items: vscode.TestItemCollection): vscode.TestItem[] => {
  const all: vscode.TestItem[] = [];
  items.forEach((item) => all.push(item));
  return all;
};

/** What can be run in an item, itself included; files and designs are no test themselves. */
function provablesIn(item: vscode.TestItem, excluded: ReadonlySet<vscode.TestItem>): vscode.TestItem[] {
  if (excluded.has(item)) return [];
  const within = children(item.children).flatMap((each) => provablesIn(each, excluded));
  return item.range ? [item, ...within] : within;
}
