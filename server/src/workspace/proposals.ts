import { type Analysis, type Answer, type Finding, Proposer, UNSOUGHT } from '@wattwright/language';
import { type LangiumDocument, OperationCancelled } from 'langium';
import type { CancellationToken } from 'vscode-languageserver';
import { type WattwrightServices, languageServices } from './analyses.js';

/** Time that one request may spend on trying changes, in ms; what is not done by then goes on when it is asked for again. */
const PATIENCE = 2000;

/** Time at a stretch for which trying changes holds up everything else, in ms. */
const STRETCH = 20;

/** Changes for the findings of one analysis, as far as they have been asked for. */
interface Sought {
  readonly version: number;
  readonly proposer: Proposer;
  readonly begun: Map<Finding, Generator<void, Answer>>;
  readonly answers: Map<Finding, Answer>;
}

/** Works out what can be done about findings when an editor asks, in short stretches, and keeps it as long as the text stays. */
export class Proposals {
  private readonly sought = new WeakMap<Analysis, Sought>();

  constructor(private readonly services: WattwrightServices) {}

  /** The answers to some findings of a document, in their order; unsought where time ran out or the text has changed. */
  async answers(
    document: LangiumDocument,
    findings: readonly Finding[],
    token: CancellationToken,
  ): Promise<readonly Answer[]> {
    const analysis = this.services.analysis.Analyses.of(document);
    const options = this.services.analysis.Analyses.optionsOf(document);
    if (!analysis || !options) return findings.map(() => UNSOUGHT);
    let sought = this.sought.get(analysis);
    if (!sought) {
      const ground = { document, services: languageServices(this.services), options };
      const version = document.textDocument.version;
      sought = { version, proposer: new Proposer(analysis, ground), begun: new Map(), answers: new Map() };
      this.sought.set(analysis, sought);
    }
    const until = performance.now() + PATIENCE;
    for (const finding of findings) await this.seek(document, analysis, finding, sought, until, token);
    return findings.map((finding) => sought.answers.get(finding) ?? UNSOUGHT);
  }

  private async seek(
    document: LangiumDocument,
    analysis: Analysis,
    finding: Finding,
    { version, proposer, begun, answers }: Sought,
    until: number,
    token: CancellationToken,
  ): Promise<void> {
    if (answers.has(finding)) return;
    const work = begun.get(finding) ?? proposer.answer(finding);
    begun.set(finding, work);
    const isCurrent = (): boolean =>
      document.textDocument.version === version && this.services.analysis.Analyses.of(document) === analysis;
    for (let began = performance.now(); isCurrent() && performance.now() < until;) {
      const step = work.next();
      if (step.done) {
        answers.set(finding, step.value);
        begun.delete(finding);
        return;
      }
      if (performance.now() - began < STRETCH) continue;
      await new Promise((resolve) => setTimeout(resolve, 0));
      if (token.isCancellationRequested) throw OperationCancelled;
      began = performance.now();
    }
  }
}
