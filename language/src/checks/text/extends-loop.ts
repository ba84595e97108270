import { wayRound } from './wording.js';
import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';

export const extendsLoop = defineTextCheck({
  id: 'extends-loop',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A part extends itself, alone or through others.',
    guards: 'What is inherited would depend on where one starts to read.',
    how: 'From every `extends` the parts are followed; a way back to one of them is an error, and the way is shown.',
    fix: 'Let one of the parts extend another base, or none.',
    sources: [LANGUAGE],
    failing: `part load Lamp extends Bulb { power: 40 W }
part load Bulb extends Lamp { power: 60 W }
`,
    passing: `part load Lamp { power: 40 W }
part load Bulb extends Lamp { power: 60 W }
`,
  },
  word: ({ chain }) => ({
    headline: 'These parts extend one another in a circle',
    why: wayRound(chain),
    advice: 'Remove one `extends`.',
  }),
});
