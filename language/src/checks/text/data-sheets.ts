import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';
import { firstFew, quoted } from './wording.js';

export const contradictoryRatings = defineTextCheck({
  id: 'contradictory-ratings',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'Two ratings of a part cannot both be right.',
    guards: 'A figure copied into the wrong line of a data sheet would size everything that is connected to it.',
    how: 'By what the ratings mean: surge is not below the continuous rating, open-circuit voltage and short-circuit current lie above those at maximum power, float is not above absorption, and a limit as set is not above what the data sheet allows. Reported in the file of the part.',
    fix: 'Compare both with the data sheet and correct the one that is wrong.',
    sources: [LANGUAGE],
    failing: `part inverter InventedInverter { rated: 3 kW   surge: 2 kW }
`,
    passing: `part inverter InventedInverter { rated: 2 kW   surge: 3 kW }
`,
  },
  word: ({ part, lower, higher, isBelow }) => ({
    headline: `${quoted(lower.name)} of part ${part} is ${lower.text}, ${quoted(higher.name)} only ${higher.text}`,
    why: isBelow ? 'the first is below the second by definition' : 'the first cannot exceed the second',
    advice: 'Compare both with the data sheet.',
  }),
});

export const missingRating = defineTextCheck({
  id: 'missing-rating',
  severity: 'info',
  since: '0.1.0',
  docs: {
    finds: 'A part is without a rating that every design needs.',
    guards: 'Every design with this part leaves checks open because of the same figure.',
    how: 'Asked of a bank: voltage and capacity; of a module: power, open-circuit voltage and short-circuit current; of a generator or inverter: its rating; of a charge controller: its current. A part that others extend may leave it to them.',
    fix: 'State the rating from the data sheet.',
    sources: [LANGUAGE],
    failing: `part battery InventedBattery { chemistry: lfp   voltage: 12.8 V }
`,
    passing: `part battery InventedBattery { chemistry: lfp   voltage: 12.8 V   capacity: 100 Ah }
`,
  },
  word: ({ part, missing }) => ({
    headline: `Part ${part} states no ${firstFew(missing)}`,
    why: 'every design with it leaves checks open',
    advice: 'Read it in the data sheet.',
  }),
});
