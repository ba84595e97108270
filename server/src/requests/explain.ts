import { checkMarkdown, findCheck } from '@wattwright/language';
import { AbstractExecuteCommandHandler, type ExecuteCommandAcceptor, type LangiumSharedServices } from 'langium/lsp';
import { type Connection, RequestType } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { FILL_COMMAND, fillIn } from './holes.js';
import { SIMULATE_COMMAND, simulate } from './simulate.js';

/** The command an editor may use to get the documentation of a check, as Markdown. */
export const EXPLAIN_COMMAND = 'wattwright.server.explain';
/** The same as a request of its own: `{ id }` to Markdown, or null when there is no such check. */
export const ExplainRequest = new RequestType<{ id: string }, string | null, void>('wattwright/explain');

/** The documentation of a check; null when there is none of that name. */
export function explain(id: unknown): string | null {
  const check = typeof id === 'string' ? findCheck(id) : undefined;
  return check ? checkMarkdown(check) : null;
}

/** The commands that any editor may give the server. */
export class ServerCommands extends AbstractExecuteCommandHandler {
  constructor(private readonly shared: LangiumSharedServices) {
    super();
  }

  override registerCommands(acceptor: ExecuteCommandAcceptor): void {
    acceptor(EXPLAIN_COMMAND, ([id]) => explain(id));
    acceptor(SIMULATE_COMMAND, (given, token) => {
      const [language] = this.shared.ServiceRegistry.all;
      return simulate(given, language as WattwrightServices, this.shared.lsp.Connection, token);
    });
    acceptor(FILL_COMMAND, (given, token) => {
      const [language] = this.shared.ServiceRegistry.all;
      return fillIn(given, language as WattwrightServices, this.shared.lsp.Connection, token);
    });
  }
}

export function addExplainRequest(connection: Connection): void {
  connection.onRequest(ExplainRequest, (parameters: { id?: unknown } | undefined) => explain(parameters?.id));
}
