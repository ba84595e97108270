import type { Analysis, LanguageServices } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import type { LangiumServices } from 'langium/lsp';

/** What a request gets beside the services of the language: the finished analyses. */
export interface ServerServices {
  readonly analysis: { readonly Analyses: Analyses };
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

  of(document: LangiumDocument): Analysis | undefined {
    return this.finished.get(document);
  }

  keep(document: LangiumDocument, analysis: Analysis): void {
    this.finished.set(document, analysis);
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
