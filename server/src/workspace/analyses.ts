import type { Analysis, AnalyseOptions, LanguageServices } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import type { LangiumServices } from 'langium/lsp';
import type { Choices } from './choices.js';
import type { Proposals } from './proposals.js';

/** What a request gets beside the services of the language: the finished analyses. */
export interface ServerServices {
  readonly analysis: { readonly Analyses: Analyses; readonly Choices: Choices; readonly Proposals: Proposals };
}

export type WattwrightServices = LangiumServices & ServerServices;

/** The services in the form the analysis takes them. */
export const languageServices = (services: LangiumServices): LanguageServices => ({
  shared: services.shared,
  wattwright: services,
});

/** The last finished analysis of each document. Requests read from here and never start one. */
export class Analyses {
  private readonly finished = new WeakMap<LangiumDocument, Analysis>();
  private readonly sound = new WeakMap<LangiumDocument, Analysis>();
  private readonly options = new WeakMap<LangiumDocument, AnalyseOptions>();

  of(document: LangiumDocument): Analysis | undefined {
    return this.finished.get(document);
  }

  /** The last one of a text that could be read without a syntax error: while somebody types, what is around the cursor is often lost. */
  soundOf(document: LangiumDocument): Analysis | undefined {
    return this.sound.get(document) ?? this.finished.get(document);
  }

  /** What it was made with, so that a change of the text can be tried in the same surroundings. */
  optionsOf(document: LangiumDocument): AnalyseOptions | undefined {
    return this.options.get(document);
  }

  keep(document: LangiumDocument, analysis: Analysis, options?: AnalyseOptions): void {
    this.finished.set(document, analysis);
    if (document.parseResult.parserErrors.length === 0) this.sound.set(document, analysis);
    if (options) this.options.set(document, options);
  }

  forget(document: LangiumDocument): void {
    this.finished.delete(document);
  }
}

/** Today in the local calendar, as `YYYY-MM-DD`. */
export function today(now = new Date()): string {
  const pad = (part: number): string => String(part).padStart(2, '0');
  return `${now.getFullYear()}-${pad(now.getMonth() + 1)}-${pad(now.getDate())}`;
}
