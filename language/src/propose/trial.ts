import { DocumentState, type LangiumDocument } from 'langium';
import { analyse } from '../analyse/analyse.js';
import type { AnalyseOptions } from '../analyse/surroundings.js';
import type { Analysis } from '../analyse/types.js';
import type { LanguageServices } from '../syntax/module.js';

/** A file that has been read, with all that its analysis needs. */
export interface Ground {
  readonly document: LangiumDocument;
  readonly services: LanguageServices;
  readonly options: AnalyseOptions;
}

/** Another text of a file, read into a document of its own that no other document ever refers to, so that nothing is left behind. */
export function readAs(text: string, { document, services }: Pick<Ground, 'document' | 'services'>): LangiumDocument {
  const trial = services.shared.workspace.LangiumDocumentFactory.fromString(text, document.uri);
  // References are resolved when they are asked for; the scopes of the language need no preparation.
  trial.state = DocumentState.ComputedScopes;
  return trial;
}

/** Analyses a file as if it had another text. Only the named designs are judged. */
export function analyseAs(
  text: string,
  ground: Ground,
  designs: (name: string) => boolean,
  scenarios: 'play' | 'leave',
): Analysis {
  return analyse(readAs(text, ground), ground.services, { ...ground.options, designs, scenarios });
}
