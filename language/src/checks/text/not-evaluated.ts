import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';

export const notEvaluated = defineTextCheck({
  id: 'not-evaluated',
  severity: 'info',
  since: '0.1.0',
  docs: {
    finds: 'A design holds holes `?`, which this version reads but does not fill in yet.',
    guards: 'A design with open values is not mistaken for a finished one.',
    how: 'The design is checked around its holes; that they are not evaluated is said once in each design.',
    sources: [LANGUAGE],
    failing: `design Hut {
  load Lamp { power: ? }
}
`,
    passing: `design Hut {
  load Lamp { power: 40 W }
}
`,
  },
  word: ({ what, count, reason }) => ({
    headline: `${count === 1 ? `One ${what} is` : `${count} ${what}s are`} not evaluated yet`,
    why: reason,
  }),
});
