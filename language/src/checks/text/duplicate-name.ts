import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';
import { quoted } from './wording.js';

export const duplicateName = defineTextCheck({
  id: 'duplicate-name',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A name or property is given twice in one place.',
    guards: 'Only one of the two would count, and which one is easily misread.',
    how: 'Names must differ within a design and within a file; a property may stand once in a thing.',
    fix: 'Rename or remove one of the two.',
    sources: [LANGUAGE],
    failing: `design Hut {
  load Lamp { power: 40 W }
  load Lamp { power: 60 W }
}
`,
    passing: `design Hut {
  load Lamp { power: 40 W }
  load Heater { power: 60 W }
}
`,
  },
  word: ({ name, what, first }) => ({
    headline: `${quoted(name)} is already the name of a ${what} in line ${first.line + 1}`,
    advice: 'Rename or remove one of them.',
    related: [{ place: first, text: `${name} stands here first` }],
  }),
});
