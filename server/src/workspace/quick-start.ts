import { eagerLoad } from 'langium';
import { DefaultLanguageServer } from 'langium/lsp';
import type { InitializeParams, InitializeResult } from 'vscode-languageserver';
import type { WattwrightServices } from './analyses.js';

/** Answers `initialize` at once: only services that wait for it are made before, the parser after. */
export class QuickStartServer extends DefaultLanguageServer {
  protected override eagerLoadServices(): void {
    // Invariant: what is made here is everything that subscribes to `onInitialize`.
    eagerLoad(this.services.lsp);
    for (const language of this.services.ServiceRegistry.all)
      void (language as WattwrightServices).lsp.SemanticTokenProvider;
  }

  /** Langium knows some of the abilities of this server; the others are added here. */
  protected override buildInitializeResult(parameters: InitializeParams): InitializeResult {
    const { capabilities, ...rest } = super.buildInitializeResult(parameters);
    return {
      ...rest,
      capabilities: {
        ...capabilities,
        completionProvider: { ...capabilities.completionProvider, resolveProvider: true },
      },
    };
  }
}
