import type { Source } from '../../derivation/index.js';

/** The rules of the language itself. */
export const LANGUAGE: Source = { standard: 'the Wattwright language, version 0', provenance: 'own derivation' };
export const SI_UNITS: Source = { standard: 'BIPM SI Brochure', edition: '9th edition', provenance: 'published' };
