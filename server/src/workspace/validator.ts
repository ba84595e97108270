import { type BegunAnalysis, type Finding, beginAnalysis, carriedFindings } from '@wattwright/language';
import {
  type DocumentValidator,
  type LangiumDocument,
  type URI,
  type ValidationOptions,
  interruptAndCheck,
  isOperationCancelled,
} from 'langium';
import { CancellationToken, type Diagnostic } from 'vscode-languageserver';
import { diagnosticsOf, failureDiagnostic } from '../convert/to-lsp.js';
import { type WattwrightServices, languageServices } from './analyses.js';
import { boundaryOf, isLibrary } from './boundaries.js';

export interface ValidatorContext {
  /** Today as `YYYY-MM-DD`; waivers and requirements may have a date. */
  readonly today: () => string;
  readonly workspaceFolders: () => readonly URI[];
  /** Shows findings before the whole analysis is done; the final ones follow. */
  readonly publishEarly?: (document: LangiumDocument, diagnostics: Diagnostic[]) => void;
}

/** Texts of this length (characters, some 500 lines) take long enough that what is known early is shown early. */
const LONG_TEXT = 20_000;

/** What was last found in a text besides what reading it finds. */
interface Judged {
  readonly text: string;
  readonly findings: readonly Finding[];
}

/** Lets the analysis speak: it alone decides what is wrong with a file, syntax errors included. */
export class AnalysisValidator implements DocumentValidator {
  private readonly judged = new WeakMap<LangiumDocument, Judged>();

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
      const begun = beginAnalysis(document, languageServices(this.services), {
        today: this.context.today(),
        workspace: boundaryOf(document.uri, this.context.workspaceFolders()),
      });
      const text = document.textDocument.getText();
      if (text.length >= LONG_TEXT && this.context.publishEarly) {
        this.context.publishEarly(document, this.early(document, begun));
        await interruptAndCheck(cancelToken);
      }
      const analysis = begun.complete();
      const read = new Set(begun.findings.map(key));
      this.judged.set(document, { text, findings: analysis.findings.filter((each) => !read.has(key(each))) });
      Analyses.keep(document, analysis);
      return diagnosticsOf(analysis);
    } catch (fault) {
      if (isOperationCancelled(fault)) throw fault;
      // A fault of the analysis must neither end the server nor look like a design without findings.
      console.error(`The analysis of ${document.uri.toString()} failed:`, fault);
      Analyses.forget(document);
      return [failureDiagnostic(fault)];
    }
  }

  /** What reading the text has found, and what was found before in the parts of it that have not changed. */
  private early(document: LangiumDocument, { findings }: BegunAnalysis): Diagnostic[] {
    const judged = this.judged.get(document);
    const carried = judged ? carriedFindings(judged.findings, judged.text, document.textDocument) : [];
    return diagnosticsOf({ uri: document.uri.toString(), findings: [...findings, ...carried] });
  }
}

/** Findings that say the same of the same thing, wherever it has moved. */
const key = ({ check, subject, message }: Finding): string => `${check} ${subject} ${message}`;
