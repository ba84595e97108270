import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';
import { quoted, capital } from './wording.js';

export const valueOutOfRange = defineTextCheck({
  id: 'value-out-of-range',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A value is impossible, or outside the range in which a calculation holds.',
    guards: 'Calculations outside their range give numbers that mean nothing.',
    how: 'Properties have the limits of what is physically possible or ever built; functions state their range of validity, and answer with the argument and the range instead of a number.',
    fix: 'Correct the value, or the unit behind it.',
    sources: [LANGUAGE],
    failing: `design Hut {
  charger Rect { efficiency: 140 % }
}
`,
    passing: `design Hut {
  charger Rect { efficiency: 93 % }
}
`,
  },
  word: ({ what, text, reason }) => ({
    headline: reason.includes('`') ? capital(reason) : `${capital(what)} is ${quoted(text)}; ${reason}`,
  }),
});
