import { wayRound } from './wording.js';
import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';

/** The name of a file in an address, or of a part. */
function short(step: string): string {
  const last = step.split('/').at(-1) ?? step;
  try {
    return decodeURIComponent(last);
  } catch {
    return last;
  }
}

export const importLoop = defineTextCheck({
  id: 'import-loop',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'Files use each other in a circle.',
    guards: 'What is drawn in would depend on where one starts to read.',
    how: 'From every `use` the files it leads to are followed; a way back to the start is an error, and the way is shown.',
    fix: 'Move what both files need to a third one.',
    sources: [LANGUAGE],
    failing: `// in the file design.watt
use "design.watt"
part load Lamp { power: 40 W }
`,
    passing: `// in the file design.watt
part load Lamp { power: 40 W }
`,
  },
  word: ({ chain }) => ({
    headline: chain.length > 2 ? 'These files use one another in a circle' : 'This file uses itself',
    why: wayRound(chain.map(short)),
    advice: 'Remove one of the `use` lines.',
  }),
});
