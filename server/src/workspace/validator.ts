import { analyse } from '@wattwright/language';
import {
  type DocumentValidator,
  type LangiumDocument,
  type URI,
  type ValidationOptions,
  interruptAndCheck,
} from 'langium';
import { CancellationToken, type Diagnostic } from 'vscode-languageserver';
import { diagnosticsOf, failureDiagnostic } from '../convert/to-lsp.js';
import { type WattwrightServices, languageServices } from './analyses.js';
import { boundaryOf, isLibrary } from './boundaries.js';

export interface ValidatorContext {
  /** Today as `YYYY-MM-DD`; waivers and requirements may have a date. */
  readonly today: () => string;
  readonly workspaceFolders: () => readonly URI[];
}

/** Lets the analysis speak: it alone decides what is wrong with a file, syntax errors included. */
export class AnalysisValidator implements DocumentValidator {
  constructor(
    private readonly services: WattwrightServices,
    private readonly context: ValidatorContext,
  ) {}

  async validateDocument(
    document: LangiumDocument,
    _options?: ValidationOptions,
    cancelToken = CancellationToken.None,
  ): Promise<Diagnostic[]> {
    if (isLibrary(document.uri)) return [];
    await interruptAndCheck(cancelToken);
    const { Analyses } = this.services.analysis;
    try {
      const analysis = analyse(document, languageServices(this.services), {
        today: this.context.today(),
        workspace: boundaryOf(document.uri, this.context.workspaceFolders()),
      });
      Analyses.keep(document, analysis);
      return diagnosticsOf(analysis);
    } catch (fault) {
      // A fault of the analysis must neither end the server nor look like a design without findings.
      console.error(`The analysis of ${document.uri.toString()} failed:`, fault);
      Analyses.forget(document);
      return [failureDiagnostic(fault)];
    }
  }
}
