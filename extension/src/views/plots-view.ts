import * as vscode from 'vscode';
import type { BaseLanguageClient, Range } from 'vscode-languageclient';
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
}

type FromPage =
  | { readonly type: 'ready' | 'csv' }
  | { readonly type: 'choose'; readonly names: readonly string[] }
  | { readonly type: 'look'; readonly from: number; readonly to: number; readonly columns: number };

/** Plots of the scenarios of one file beside its text: one, or two over each other. */
export class PlotsView extends FileView<FromPage> {
  private names: readonly string[] | undefined;
  private look: { readonly from?: number; readonly to?: number; readonly columns?: number } = {};
  private shown: PlotAnswer | undefined;

  constructor(panel: vscode.WebviewPanel, uri: vscode.Uri, client: BaseLanguageClient, extensionUri: vscode.Uri) {
    super(panel, uri, client);
    panel.webview.html = plotsHtml(panel.webview, extensionUri);
  }

  protected async make(): Promise<void> {
    const answer = await this.ask<PlotAnswer | null>('wattwright/plots', {
      ...(this.names ? { names: this.names } : {}),
      ...this.look,
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
    }
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
