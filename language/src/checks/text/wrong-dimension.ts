import { propose } from '../fixes.js';
import { LANGUAGE, SI_UNITS } from './sources.js';
import { defineTextCheck } from './problem-check.js';
import { oneOf, quoted, capital } from './wording.js';

export const wrongDimension = defineTextCheck({
  id: 'wrong-dimension',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A quantity has another dimension than belongs here, or two are mixed that do not go together.',
    guards:
      '`200 A` where a capacity belongs, watts for watt-hours, kVA for kW: the number looks right and everything after it is wrong.',
    how: 'Every property, argument and operation has its dimension; apparent power (VA) and active power (W) are kept apart, temperatures (degC) and spans (K) too. Both sides are named, and the unit that was probably meant is proposed.',
    fix: 'Write the value in a unit of the dimension that is named.',
    sources: [SI_UNITS, LANGUAGE],
    failing: `design Hut {
  battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 200 A }
}
`,
    passing: `design Hut {
  battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 200 Ah }
}
`,
  },
  word: ({ what, expected, found, text, proposals, place }) => {
    const isOperation = !what.startsWith('`') && !what.startsWith('the ');
    const meant = proposals.length > 0 ? `did you mean ${oneOf(proposals)}?` : undefined;
    const words = isOperation
      ? {
          headline: `Cannot ${what}`,
          why: `in ${quoted(text)} the left side is ${expected}, the right side is ${found}`,
        }
      : {
          headline: `${capital(what)} needs ${expected}; ${quoted(text)} is ${found}`,
          ...(meant ? { why: meant } : {}),
        };
    return {
      ...words,
      fixes: proposals.map((proposal, index) =>
        propose(`Change to ${proposal}`, [{ place, text: proposal }], index === 0),
      ),
    };
  },
});
