import { eagerLoad } from 'langium';
import { DefaultLanguageServer } from 'langium/lsp';
import type { WattwrightServices } from './analyses.js';

/** Answers `initialize` at once: only services that wait for it are made before, the parser after. */
export class QuickStartServer extends DefaultLanguageServer {
  protected override eagerLoadServices(): void {
    // Invariant: what is made here is everything that subscribes to `onInitialize`.
    eagerLoad(this.services.lsp);
    for (const language of this.services.ServiceRegistry.all)
      void (language as WattwrightServices).lsp.SemanticTokenProvider;
  }
}
