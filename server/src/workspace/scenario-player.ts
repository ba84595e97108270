import { type Analysis, ScenarioCache } from '@wattwright/language';
import type { LangiumDocument } from 'langium';

/** Quiet after the findings of an edit before scenarios are played, in ms: who types on needs the processor more. */
const QUIET = 150;

/** Time at a stretch for which a play holds up everything else, in ms. */
const STRETCH = 10;

export interface PlayerContext {
  /** Whether an analysis is the last one of a document, and of the text that is open now. */
  readonly isCurrent: (document: LangiumDocument, analysis: Analysis) => boolean;
  /** Whether the document is open in the editor; those are played first. */
  readonly isOpen: (document: LangiumDocument) => boolean;
  /** Takes the analysis with its scenarios played. */
  readonly finished: (document: LangiumDocument, analysis: Analysis) => void;
  readonly failed: (document: LangiumDocument, fault: unknown) => void;
}

/**
 * Plays scenarios behind the findings: in short stretches, so that every request and edit is answered in between, and only as long as the
 * text they belong to is the one that is open.
 */
export class ScenarioPlayer {
  readonly cache = new ScenarioCache();
  private readonly waiting = new Map<LangiumDocument, Analysis>();
  private isRunning = false;

  constructor(private readonly context: PlayerContext) {}

  /** Plays the scenarios of an analysis in a while. A later analysis of the same document takes its place. */
  later(document: LangiumDocument, analysis: Analysis): void {
    this.waiting.delete(document);
    this.waiting.set(document, analysis);
    if (this.isRunning) return;
    this.isRunning = true;
    void this.run();
  }

  private async run(): Promise<void> {
    for (;;) {
      await pause(QUIET);
      const next = this.next();
      if (!next) break;
      const [document, analysis] = next;
      this.waiting.delete(document);
      try {
        const whole = await this.play(document, analysis);
        if (whole) this.context.finished(document, whole);
      } catch (fault) {
        this.context.failed(document, fault);
      }
    }
    this.isRunning = false;
  }

  private next(): readonly [LangiumDocument, Analysis] | undefined {
    for (const [document, analysis] of this.waiting)
      if (!this.context.isCurrent(document, analysis)) this.waiting.delete(document);
    const all = [...this.waiting];
    return all.find(([document]) => this.context.isOpen(document)) ?? all[0];
  }

  private async play(document: LangiumDocument, analysis: Analysis): Promise<Analysis | undefined> {
    const plays = analysis.unplayed?.play();
    if (!plays) return undefined;
    for (let began = performance.now(); ;) {
      const step = plays.next();
      if (step.done) return step.value;
      if (performance.now() - began < STRETCH) continue;
      await pause(0);
      if (!this.context.isCurrent(document, analysis)) return undefined;
      began = performance.now();
    }
  }
}

const pause = (milliseconds: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, milliseconds));
