import { propose } from '../fixes.js';
import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';
import { oneOf, quoted, capital } from './wording.js';

export const wrongType = defineTextCheck({
  id: 'wrong-type',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A value is of another sort than belongs here: a word for a number, a number for a table, a part of another kind.',
    guards: 'A value that cannot be read leaves a fact out.',
    how: 'Every property and argument has a type (quantity, word, yes or no, text, date, table, part); the message says which, with an example.',
    fix: 'Write a value of the sort that is named.',
    sources: [LANGUAGE],
    failing: `design Hut {
  charger Rect { remoteSense: true }
}
`,
    passing: `design Hut {
  charger Rect { remoteSense: yes }
}
`,
  },
  word: ({ what, expected, text, proposals, place }) => ({
    headline: `${capital(what)} must be ${expected}; ${quoted(text)} is not`,
    ...(proposals.length > 0 ? { why: `did you mean ${oneOf(proposals)}?` } : {}),
    fixes: proposals.map((proposal, index) =>
      propose(`Change to \`${proposal}\``, [{ place, text: proposal }], index === 0),
    ),
  }),
});
