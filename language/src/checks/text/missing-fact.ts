import { type Check, defineCheck } from '../define.js';
import { LANGUAGE } from './sources.js';

/** Made by the analysis from what the checks had to leave open; this file holds its documentation. */
export const missingFact: Check = defineCheck({
  id: 'missing-fact',
  group: 'text',
  severity: 'info',
  since: '0.1.0',
  docs: {
    finds: 'A fact is missing, so that checks cannot decide: they neither pass nor fail.',
    guards:
      'Silence is not a pass. The list of what is missing is the list of questions for the customer or the site visit.',
    how: 'Every check with a missing fact says which; the facts are gathered by thing, with the checks they hold up. A value may be given as `assumed 25 m` until it is known.',
    fix: 'State the fact; until it is known, `assumed` marks a value that counts and stays listed.',
    sources: [LANGUAGE],
    failing: `design Hut {
  battery Bank { chemistry: lfp }
}
`,
    passing: `design Hut {
  battery Bank { chemistry: lfp   voltage: 12.8 V }
}
`,
  },
  judge: () => [],
});
