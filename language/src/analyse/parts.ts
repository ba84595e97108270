import type { LangiumDocument } from 'langium';
import { CATALOGUE_KINDS, INSTANCE_KINDS } from '../equipment/index.js';
import { lowerFile } from '../model/lower/lower.js';
import type { Part } from '../model/types.js';
import type { LanguageServices } from '../syntax/module.js';
import { type AnalyseOptions, loweringServices } from './surroundings.js';

/** The kinds that parts are of, in the order of the language. */
export const PART_KINDS: readonly string[] = [...INSTANCE_KINDS, ...CATALOGUE_KINDS].map(({ kind }) => kind);

/** The parts that a file declares, and those that it could use: its own, those it draws in and the standard library's. */
export function partsOfFile(
  document: LangiumDocument,
  services: LanguageServices,
  options: AnalyseOptions,
): { readonly own: readonly Part[]; readonly usable: readonly Part[] } {
  const { parts, partsOf } = lowerFile(document, loweringServices(document, services, options));
  return { own: parts, usable: PART_KINDS.flatMap((kind) => partsOf(kind)) };
}
