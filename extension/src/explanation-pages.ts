import * as vscode from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';

const SCHEME = 'wattwright-explain';

/** The command the language server answers with one page, as Markdown. */
const EXPLAIN_COMMAND = 'wattwright.server.explain';

/** Read-only pages with the documentation of a check, or the calculations of a thing, shown by the editor's own Markdown preview. */
export class ExplanationPages implements vscode.TextDocumentContentProvider, vscode.Disposable {
  private readonly registration: vscode.Disposable;

  constructor(private readonly client: BaseLanguageClient) {
    this.registration = vscode.workspace.registerTextDocumentContentProvider(SCHEME, this);
  }

  async provideTextDocumentContent(uri: vscode.Uri): Promise<string> {
    const check = uri.path.replace(/^\//, '').replace(/\.md$/, '');
    const answer: unknown = await this.client.sendRequest('workspace/executeCommand', {
      command: EXPLAIN_COMMAND,
      // A page of calculations says in which file its thing is.
      arguments: [check, uri.query],
    });
    return typeof answer === 'string' ? answer : `There is no documentation for \`${check.replace(/[^\w-]/g, '')}\`.`;
  }

  async show(check: string): Promise<void> {
    const uri = vscode.Uri.from({ scheme: SCHEME, path: `/${check}.md` });
    await vscode.commands.executeCommand('markdown.showPreviewToSide', uri);
  }

  dispose(): void {
    this.registration.dispose();
  }
}
