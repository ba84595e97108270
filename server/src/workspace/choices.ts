import {
  type Analysis,
  type ChosenDesign,
  A_SECOND,
  Effort,
  type OpenDesign,
  chosenFor,
  openValues,
} from '@wattwright/language';
import { type LangiumDocument, OperationCancelled } from 'langium';
import { CancellationToken } from 'vscode-languageserver';
import { type WattwrightServices, languageServices } from './analyses.js';

/** Time that one request waits for values, in ms; what is not done by then goes on when it is asked for again. */
const PATIENCE = 2000;

/** Time at a stretch for which trying values holds up everything else, in ms. */
const STRETCH = 20;

/** Time after which values are asked for again whose search ended with a new analysis of the same text, and how often where there is none, in ms. */
const AGAIN = 200;
const MOST_WITHOUT_ANALYSIS = 50;

/** What is tried of one text: some ten seconds on an ordinary machine. Counted in things judged, so that every machine answers the same. */
const MOST_TRIED = 30 * A_SECOND;

/** The search for the values of one analysed text. */
interface Seeking {
  readonly version: number;
  readonly work: Generator<void, readonly ChosenDesign[]>;
  chosen?: readonly ChosenDesign[];
  /** Whether a request is at work on it: another one waits for what that finds. */
  isBusy: boolean;
}

/** Finds values for what a design leaves open when an editor asks, in short stretches, and keeps them as long as the text stays. */
export class Choices {
  private readonly seeking = new WeakMap<Analysis, Map<number, Seeking>>();

  /** Documents whose values are waited for, with the version of their text. */
  private readonly awaited = new WeakMap<LangiumDocument, number>();

  constructor(private readonly services: WattwrightServices) {}

  /** What a document leaves open, from its tree alone. */
  open(document: LangiumDocument): readonly OpenDesign[] {
    return document.textDocument.getText().includes('?')
      ? openValues(document.parseResult.value, document.uri.toString())
      : [];
  }

  /** What has been found so far, with so many answers each; undefined where that was not asked for or is not found yet. */
  known(document: LangiumDocument, top: number): readonly ChosenDesign[] | undefined {
    const analysis = this.services.analysis.Analyses.of(document);
    return analysis && this.seeking.get(analysis)?.get(top)?.chosen;
  }

  /**
   * The values for what a document leaves open, of each design so many answers; undefined where they are not found yet or the text has
   * changed.
   */
  async of(document: LangiumDocument, token: CancellationToken, top = 1): Promise<readonly ChosenDesign[] | undefined> {
    const analysis = this.services.analysis.Analyses.of(document);
    const options = this.services.analysis.Analyses.optionsOf(document);
    if (!analysis || !options || this.open(document).length === 0) return undefined;
    let all = this.seeking.get(analysis);
    if (!all) this.seeking.set(analysis, (all = new Map()));
    let seeking = all.get(top);
    if (!seeking) {
      const ground = {
        document,
        services: languageServices(this.services),
        options: { ...options, scenarios: 'play' as const },
      };
      const work = chosenFor(analysis, ground, { effort: new Effort(MOST_TRIED), top });
      seeking = { version: document.textDocument.version, work, isBusy: false };
      all.set(top, seeking);
    }
    await this.seek(document, analysis, seeking, token);
    return seeking.chosen;
  }

  /**
   * Goes on until the values are found for the text as it stands now, though it be analysed anew meanwhile; answers whether they were.
   * Who asks while another waits for the same is told that they were not.
   */
  async whenFound(document: LangiumDocument): Promise<boolean> {
    const { version } = document.textDocument;
    if (this.awaited.get(document) === version) return false;
    this.awaited.set(document, version);
    const isCurrent = (): boolean => document.textDocument.version === version;
    try {
      for (let without = 0; isCurrent() && without < MOST_WITHOUT_ANALYSIS;) {
        if (await this.of(document, CancellationToken.None)) return isCurrent();
        without = this.services.analysis.Analyses.of(document) ? 0 : without + 1;
        await new Promise((resolve) => setTimeout(resolve, AGAIN));
      }
      return false;
    } finally {
      this.awaited.delete(document);
    }
  }

  private async seek(
    document: LangiumDocument,
    analysis: Analysis,
    seeking: Seeking,
    token: CancellationToken,
  ): Promise<void> {
    const until = performance.now() + PATIENCE;
    const isCurrent = (): boolean =>
      document.textDocument.version === seeking.version && this.services.analysis.Analyses.of(document) === analysis;
    const pause = async (milliseconds: number): Promise<void> => {
      await new Promise((resolve) => setTimeout(resolve, milliseconds));
      if (token.isCancellationRequested) throw OperationCancelled;
    };
    while (seeking.isBusy && !seeking.chosen && isCurrent() && performance.now() < until) await pause(STRETCH);
    if (seeking.chosen || seeking.isBusy) return;
    seeking.isBusy = true;
    try {
      for (let began = performance.now(); isCurrent() && performance.now() < until;) {
        const step = seeking.work.next();
        if (step.done) {
          seeking.chosen = step.value;
          return;
        }
        if (performance.now() - began < STRETCH) continue;
        await pause(0);
        began = performance.now();
      }
    } finally {
      seeking.isBusy = false;
    }
  }
}
