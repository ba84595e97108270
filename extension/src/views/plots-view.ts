import * as vscode from 'vscode';
import type { BaseLanguageClient, Range } from 'vscode-languageclient';
import { type EarlierState, pickEarlierState } from './earlier-states.js';
import { FileView } from './file-view.js';
import { plotsHtml } from './html.js';

interface KnownScenario {
  readonly name: string;
  readonly uri: string;
  readonly range: Range;
  readonly unplayed?: string;
}

/** What the language server answers to `wattwright/plots`. */
interface PlotAnswer {
  readonly scenarios: readonly KnownScenario[];
  readonly isWaiting: boolean;
  readonly plots: readonly { readonly name: string }[];
  readonly table?: string;
  readonly remarks: readonly string[];
}

/** A log of the site that lies over a plot. */
interface Log {
  readonly title: string;
  readonly text: string;
}

type FromPage =
  | { readonly type: 'ready' | 'csv' | 'log' | 'earlier' }
  | { readonly type: 'choose'; readonly names: readonly string[] }
  | { readonly type: 'look'; readonly from: number; readonly to: number; readonly columns: number };

/** Larger logs are not read, in bytes: a value a second for a year, thinned to what anybody looks at. */
const LARGEST_LOG = 50_000_000;

/**
 * Plots of the scenarios of one file beside its text: one, or over it another, the same in an earlier state of the file, and a log of the
 * site.
 */
export class PlotsView extends FileView<FromPage> {
  private names: readonly string[] | undefined;
  private look: { readonly from?: number; readonly to?: number; readonly columns?: number } = {};
  private shown: PlotAnswer | undefined;
  private log: Log | undefined;
  private earlier: EarlierState | undefined;

  constructor(panel: vscode.WebviewPanel, uri: vscode.Uri, client: BaseLanguageClient, extensionUri: vscode.Uri) {
    super(panel, uri, client);
    panel.webview.html = plotsHtml(panel.webview, extensionUri);
  }

  protected async make(): Promise<void> {
    const answer = await this.ask<PlotAnswer | null>('wattwright/plots', {
      ...(this.names ? { names: this.names } : {}),
      ...this.look,
      ...(this.log ? { log: this.log.text } : {}),
      ...(this.earlier ? { earlier: this.earlier } : {}),
    });
    if (!answer || answer.scenarios.length === 0) {
      const text = answer?.isWaiting
        ? vscode.l10n.t('Simulating …')
        : vscode.l10n.t('There is no scenario in this file.');
      this.post({ type: 'problem', text });
      return;
    }
    // While a changed text is being simulated, what was last shown stays.
    if (answer.plots.length === 0 && answer.isWaiting) return;
    this.shown = answer;
    this.post({
      type: 'plots',
      scenarios: answer.scenarios.map(({ name, unplayed }) => ({ name, unplayed })),
      plots: answer.plots,
      remarks: answer.remarks,
      ...(this.names?.[1] === undefined ? {} : { second: this.names[1] }),
      ...(this.log ? { log: this.log.title } : {}),
      ...(this.earlier ? { earlier: this.earlier.title } : {}),
    });
  }

  /** The scenario in whose line the cursor is. */
  protected override point(uri: vscode.Uri, position: vscode.Position | undefined): void {
    const here = this.client.code2ProtocolConverter.asUri(uri);
    const scenario = this.shown?.scenarios.find(
      (each) => each.uri === here && each.range.start.line === position?.line && each.unplayed === undefined,
    );
    if (!scenario || this.names?.[0] === scenario.name) return;
    this.names = [scenario.name];
    this.look = {};
    void this.refresh();
  }

  protected async take(message: FromPage): Promise<void> {
    switch (message.type) {
      case 'ready':
        return this.refresh();
      case 'choose':
        this.names = message.names;
        this.look = {};
        return this.refresh();
      case 'look': {
        const { from, to, columns } = message;
        this.look = { from, to, columns };
        return this.refresh();
      }
      case 'csv':
        return this.saveTable();
      case 'log':
        this.log = this.log ? undefined : await this.pickLog();
        return this.refresh();
      case 'earlier':
        this.earlier = this.earlier ? undefined : await pickEarlierState(this.uri);
        return this.refresh();
    }
  }

  /** Asks for a file that a logger wrote. Undefined where none is chosen. */
  private async pickLog(): Promise<Log | undefined> {
    const [file] =
      (await vscode.window.showOpenDialog({
        title: vscode.l10n.t('Log of the site to lie over the scenario'),
        defaultUri: vscode.Uri.joinPath(this.uri, '..'),
        filters: { CSV: ['csv', 'tsv', 'txt'] },
      })) ?? [];
    if (!file) return undefined;
    if ((await vscode.workspace.fs.stat(file)).size > LARGEST_LOG)
      throw new Error(vscode.l10n.t('The log is too large to be shown.'));
    const text = new TextDecoder().decode(await vscode.workspace.fs.readFile(file));
    return { title: file.path.replace(/^.*\//, ''), text };
  }

  private async saveTable(): Promise<void> {
    const names = this.names ?? this.shown?.plots.map(({ name }) => name);
    const answer = await this.ask<PlotAnswer | null>('wattwright/plots', {
      ...(names ? { names } : {}),
      isForFile: true,
    });
    if (answer?.table !== undefined) await this.save('csv', new TextEncoder().encode(answer.table));
  }
}
