import { FUNCTIONS } from '../calculate/index.js';
import { CHECKS } from '../checks/index.js';
import { ALL_KINDS } from '../equipment/index.js';
import { UNITS } from '../quantity/index.js';
import { checksPage } from './checks-page.js';
import { functionsPage } from './functions-page.js';
import { kindsPage } from './kinds-page.js';
import { unitsPage } from './units-page.js';

/** The reference pages of the package, made from what the program itself uses; `npm run docs` writes them. */
export const referencePages = (): readonly { readonly name: string; readonly text: string }[] => [
  { name: 'CHECKS.md', text: checksPage(CHECKS) },
  { name: 'FUNCTIONS.md', text: functionsPage(FUNCTIONS) },
  { name: 'UNITS.md', text: unitsPage(UNITS) },
  { name: 'KINDS.md', text: kindsPage(ALL_KINDS) },
];
