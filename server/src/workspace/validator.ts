import {
  type AnalyseOptions,
  type Analysis,
  type BegunAnalysis,
  type Finding,
  type UnreadText,
  beginAnalysis,
  carriedFindings,
  isInside,
} from '@wattwright/language';
import {
  type DocumentValidator,
  type LangiumDocument,
  type URI,
  type ValidationOptions,
  OperationCancelled,
  UriUtils,
  delayNextTick,
  interruptAndCheck,
  isOperationCancelled,
} from 'langium';
import { CancellationToken, type Connection, type Diagnostic } from 'vscode-languageserver';
import { diagnosticsOf, failureDiagnostic, unreadDiagnostic } from '../convert/to-lsp.js';
import { type WattwrightServices, languageServices } from './analyses.js';
import { LONG_TEXT, boundaryOf, isLibrary } from './boundaries.js';
import { LongWork } from './long-work.js';
import { ScenarioPlayer } from './scenario-player.js';
import type { ServerProjects } from './server-projects.js';

export interface ValidatorContext {
  /** Today as `YYYY-MM-DD`; waivers and requirements may have a date. */
  readonly today: () => string;
  readonly workspaceFolders: () => readonly URI[];
  /** Shows findings before the whole analysis is done; the final ones follow. */
  readonly publishEarly?: (document: LangiumDocument, diagnostics: Diagnostic[]) => void;
  /** Shows findings of scenarios, which are played after everything else has been shown. */
  readonly publishLate?: (document: LangiumDocument, diagnostics: Diagnostic[]) => void;
  readonly isOpen?: (document: LangiumDocument) => boolean;
  /** Whether nothing has happened to a document, or to what it uses, since it was judged. */
  readonly isSettled?: (document: LangiumDocument) => boolean;
  /** Tells of a fault of the tool itself. */
  readonly failed?: (during: string, fault: unknown, document: LangiumDocument) => void;
  /** Text of a file beside a design; undefined when it may not or cannot be read. */
  readonly textBeside?: (design: URI, boundary: URI, file: string) => string | UnreadText | undefined;
  readonly projects: ServerProjects;
  /** Shows how far long work is. */
  readonly connection?: Connection | undefined;
  /** Why a file that is there cannot be read, in words that follow on its name. */
  readonly whyUnread?: (boundary: URI, uri: URI) => string | undefined;
}

/** Time at a stretch for which judging a text holds up everything else, in ms: a list of what may be written cannot wait longer. */
const STRETCH = 5;

/** What was last found in a text besides what reading it finds. */
interface Judged {
  readonly text: string;
  readonly read: readonly Finding[];
  readonly findings: readonly Finding[];
}

/** Lets the analysis speak: it alone decides what is wrong with a file, syntax errors included. */
export class AnalysisValidator implements DocumentValidator {
  private readonly judged = new WeakMap<LangiumDocument, Judged>();
  private readonly player = new ScenarioPlayer({
    isCurrent: (document, analysis) =>
      this.services.analysis.Analyses.of(document) === analysis && (this.context.isSettled?.(document) ?? true),
    isOpen: (document) => this.context.isOpen?.(document) ?? true,
    finished: (document, analysis) => this.finished(document, analysis),
    failed: (document, fault) => this.broke('simulating the scenarios', document, fault),
    shown: (document) =>
      new LongWork(this.context.connection, `Simulating ${UriUtils.basename(document.uri)} and proving its rules`),
  });

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
      const workspace = boundaryOf(document.uri, this.context.workspaceFolders());
      const unread = this.whyEmpty(document, workspace);
      if (unread !== undefined) return [unreadDiagnostic(unread)];
      const { projects } = this.context;
      if (projects.leavesOut(document.uri) && !(this.context.isOpen?.(document) ?? true)) {
        Analyses.forget(document);
        return [];
      }
      const project = projects.rulesFor(document.uri);
      const options: AnalyseOptions = {
        today: this.context.today(),
        workspace,
        reach: {
          mayUse: (from, to) => isInside(workspace, to) || projects.allows(from, to),
          howToAllow: () => undefined,
        },
        ...(project ? { project } : {}),
        whyUnread: (uri) => projects.whyMissing(document.uri, uri) ?? this.context.whyUnread?.(workspace, uri),
        cache: this.player.cache,
        weatherText: (file) => this.context.textBeside?.(document.uri, workspace, file),
      };
      const begun = beginAnalysis(document, languageServices(this.services), options);
      const text = document.textDocument.getText();
      if (text.length >= LONG_TEXT && this.context.publishEarly) {
        this.context.publishEarly(document, this.early(document, begun));
        await interruptAndCheck(cancelToken);
      }
      const fast = await inStretches(begun.steps(), cancelToken);
      const analysis = fast.unplayed?.kept() ?? fast;
      this.keep(document, analysis, begun.findings, options);
      if (analysis.unplayed && this.context.publishLate) this.player.later(document, analysis);
      return diagnosticsOf(analysis);
    } catch (fault) {
      if (isOperationCancelled(fault)) throw fault;
      // A fault of the analysis must neither end the server nor look like a design without findings.
      this.context.failed?.('the analysis', fault, document);
      Analyses.forget(document);
      return [failureDiagnostic(fault)];
    }
  }

  /** Why a file that no editor has open is empty to us: it could not be read. A file that is empty gives no reason. */
  private whyEmpty(document: LangiumDocument, workspace: URI): string | undefined {
    if (document.textDocument.getText() !== '' || (this.context.isOpen?.(document) ?? true)) return undefined;
    return this.context.whyUnread?.(workspace, document.uri);
  }

  private keep(
    document: LangiumDocument,
    analysis: Analysis,
    read: readonly Finding[],
    options?: AnalyseOptions,
  ): void {
    const known = new Set(read.map(key));
    const text = document.textDocument.getText();
    this.judged.set(document, { text, read, findings: analysis.findings.filter((each) => !known.has(key(each))) });
    this.services.analysis.Analyses.keep(document, analysis, options);
  }

  /** The scenarios of a document have been played: its findings are whole now. */
  private finished(document: LangiumDocument, analysis: Analysis): void {
    this.keep(document, analysis, this.judged.get(document)?.read ?? []);
    const diagnostics = diagnosticsOf(analysis);
    document.diagnostics = diagnostics;
    this.context.publishLate?.(document, diagnostics);
  }

  /** Scenarios that broke off must not look like scenarios that were met. */
  private broke(during: string, document: LangiumDocument, fault: unknown): void {
    this.context.failed?.(during, fault, document);
    const lost = failureDiagnostic(fault, 'The scenarios were not simulated to their end');
    document.diagnostics = [...(document.diagnostics ?? []), lost];
    this.context.publishLate?.(document, document.diagnostics);
  }

  /** What reading the text has found, and what was found before in the parts of it that have not changed. */
  private early(document: LangiumDocument, { findings }: BegunAnalysis): Diagnostic[] {
    const judged = this.judged.get(document);
    const carried = judged ? carriedFindings(judged.findings, judged.text, document.textDocument) : [];
    return diagnosticsOf({ uri: document.uri.toString(), findings: [...findings, ...carried] });
  }
}

/** Runs something in steps, so that requests are answered in between, as long as nobody cancels it. */
async function inStretches<T>(steps: Generator<void, T>, token: CancellationToken): Promise<T> {
  for (let began = performance.now(); ;) {
    const step = steps.next();
    if (step.done) return step.value;
    if (performance.now() - began < STRETCH) continue;
    await delayNextTick();
    if (token.isCancellationRequested) throw OperationCancelled;
    began = performance.now();
  }
}

/** Findings that say the same of the same thing, wherever it has moved. */
const key = ({ check, subject, message }: Finding): string => `${check} ${subject} ${message}`;
