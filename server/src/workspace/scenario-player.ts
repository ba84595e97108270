import { type Analysis, ScenarioCache } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import type { LongWork } from './long-work.js';

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
  /** Shows how far the plays of a document are, where they last. */
  readonly shown?: (document: LangiumDocument) => LongWork;
}

/** A document whose scenarios are to be played, or are being played. */
interface Waiting {
  readonly analysis: Analysis;
  /** When its turn may come first. */
  readonly from: number;
  plays?: ReturnType<NonNullable<Analysis['unplayed']>['play']>;
  work?: LongWork | undefined;
}

/**
 * Plays scenarios behind the findings: in short stretches, so that every request and edit is answered in between, and only as long as the
 * text they belong to is the one that is open. Documents take turns, so that a long play of one does not hold up those of the others.
 */
export class ScenarioPlayer {
  readonly cache = new ScenarioCache();
  private readonly waiting = new Map<LangiumDocument, Waiting>();
  private isRunning = false;

  constructor(private readonly context: PlayerContext) {}

  /** Plays the scenarios of an analysis in a while. A later analysis of the same document takes its place. */
  later(document: LangiumDocument, analysis: Analysis): void {
    this.leave(document);
    this.waiting.set(document, { analysis, from: performance.now() + QUIET });
    if (this.isRunning) return;
    this.isRunning = true;
    void this.run();
  }

  private async run(): Promise<void> {
    try {
      for (let next = this.next(); this.waiting.size > 0; next = this.next()) {
        if (next) {
          this.stretch(...next);
          await pause(0);
        } else await pause(QUIET / 3);
      }
    } finally {
      this.isRunning = false;
    }
  }

  /** Whose turn it is: an open document before others, the one that has waited longest first. */
  private next(): readonly [LangiumDocument, Waiting] | undefined {
    const due = [...this.waiting].filter(([document, { analysis, from }]) => {
      if (from > performance.now()) return false;
      // Asked when the turn has come: an analysis is handed over before its document counts as finished.
      if (this.context.isCurrent(document, analysis)) return true;
      this.leave(document);
      return false;
    });
    return due.find(([document]) => this.context.isOpen(document)) ?? due[0];
  }

  private leave(document: LangiumDocument): void {
    this.waiting.get(document)?.work?.done();
    this.waiting.delete(document);
  }

  private stretch(document: LangiumDocument, entry: Waiting): void {
    this.waiting.delete(document);
    try {
      const plays = (entry.plays ??= entry.analysis.unplayed?.play());
      entry.work ??= this.context.shown?.(document);
      for (const began = performance.now(); plays && performance.now() - began < STRETCH;) {
        const step = plays.next();
        if (step.done) {
          entry.work?.done();
          return this.context.finished(document, step.value);
        }
        entry.work?.report(step.value);
      }
      // What somebody leaves off stays as it is, until its text changes or one of its scenarios is asked for.
      if (entry.work?.isCancelled) entry.work.done();
      else if (plays) this.waiting.set(document, entry);
    } catch (fault) {
      entry.work?.done();
      this.context.failed(document, fault);
    }
  }
}

const pause = (milliseconds: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, milliseconds));
