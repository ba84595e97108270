import { CallError, EXIT } from '../call-error.js';

/** `wattwright lsp`: hands the process over to the language server, which ends it when its client says so. */
export async function serve(options: { readonly stdio?: boolean }): Promise<number> {
  if (!options.stdio) throw new CallError('say `wattwright lsp --stdio`: standard input and output is how it talks');
  const { startFromArguments } = await import('../../main-node.js');
  startFromArguments();
  return EXIT.clean;
}
