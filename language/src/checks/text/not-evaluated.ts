import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';

export const notEvaluated = defineTextCheck({
  id: 'not-evaluated',
  severity: 'info',
  since: '0.1.0',
  docs: {
    finds: 'A design leaves values open with `?`.',
    guards: 'A design with open values is not mistaken for a finished one.',
    how: 'The design is checked around its open values; that there are any is said once in each design. `wattwright solve` finds values that hold.',
    fix: 'Write a value, or let `wattwright solve` find those that hold.',
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
    headline: `${count === 1 ? `One ${what} is` : `${count} ${what}s are`} left open with \`?\``,
    why: reason,
  }),
});
