import { checkMarkdown, findCheck, findFunction, functionMarkdown } from '@wattwright/language';
import { URI } from 'langium';
import { AbstractExecuteCommandHandler, type ExecuteCommandAcceptor, type LangiumSharedServices } from 'langium/lsp';
import { type Connection, RequestType } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { FILL_COMMAND, fillIn } from './holes.js';
import { SIMULATE_COMMAND, simulate } from './simulate.js';
import { CAUTIONS_PAGE, cautionsMarkdown, workedPage } from './worked-pages.js';

/** The command an editor may use to get the documentation of a check, as Markdown; of a thing with the file it is in, its calculations. */
export const EXPLAIN_COMMAND = 'wattwright.server.explain';
/** The same as a request of its own: `{ id }` to Markdown, or null when there is no such check. */
export const ExplainRequest = new RequestType<{ id: string }, string | null, void>('wattwright/explain');

/** The documentation of a check or function, or the cautions; null when there is none of that name. */
export function explain(id: unknown): string | null {
  if (typeof id !== 'string') return null;
  if (id === CAUTIONS_PAGE) return cautionsMarkdown();
  const check = findCheck(id);
  const definition = findFunction(id);
  return check ? checkMarkdown(check) : definition ? functionMarkdown(definition) : null;
}

/** Everything that is worked out for a thing of a file, by its path; null when there is none. */
function explainThing(path: unknown, uri: string, shared: LangiumSharedServices): string | null {
  const document = shared.workspace.LangiumDocuments.getDocument(URI.parse(uri));
  const [language] = shared.ServiceRegistry.all;
  const analysis = document && (language as WattwrightServices).analysis.Analyses.of(document);
  return (typeof path === 'string' && analysis && workedPage(path, analysis)) || null;
}

/** The commands that any editor may give the server. */
export class ServerCommands extends AbstractExecuteCommandHandler {
  constructor(private readonly shared: LangiumSharedServices) {
    super();
  }

  override registerCommands(acceptor: ExecuteCommandAcceptor): void {
    acceptor(EXPLAIN_COMMAND, ([id, uri]: unknown[]) =>
      typeof uri === 'string' && uri !== '' ? explainThing(id, uri, this.shared) : explain(id),
    );
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
