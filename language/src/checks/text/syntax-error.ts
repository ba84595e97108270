import { capital } from './wording.js';
import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';

export const syntaxError = defineTextCheck({
  id: 'syntax-error',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The text does not follow the grammar of the language at this place.',
    guards: 'A part of the design that is not read is not checked.',
    how: 'The parser names what is missing or does not belong, goes on behind it, and checks everything it could read.',
    fix: 'Correct the text at the place marked; the message names what is missing or does not fit.',
    sources: [LANGUAGE],
    failing: `design Hut {
  load Lamp { power: 40 W
}
`,
    passing: `design Hut {
  load Lamp { power: 40 W }
}
`,
  },
  word: ({ message }) => ({ headline: capital(message) }),
});
