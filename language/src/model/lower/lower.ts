import type { LangiumDocument } from 'langium';
import { FileReader } from './file-reader.js';
import type { LoweredFile, LoweringServices } from './lowered.js';

export type { DesignValues, LoweredDesign, LoweredFile, LoweringServices } from './lowered.js';

/** Reads one file: checks names, kinds and types, and builds a `System` for every design and variant. */
export function lowerFile(document: LangiumDocument, services: LoweringServices): LoweredFile {
  return new FileReader(document, services).lower();
}
