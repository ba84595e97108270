import { inPeopleUnits } from '@wattwright/language';
import { safeText } from './safe-text.js';

/** Text for people, fit for a terminal, in the units that they write. It stands apart: what only needs `safeText` must not load the language. */
export const peopleText = (text: string): string => safeText(inPeopleUnits(text));
