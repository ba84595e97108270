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
    finds: 'Files use each other in a circle, or a part extends itself through others.',
    guards: 'What is inherited or drawn in would depend on where one starts to read.',
    how: 'From every `use` the files it leads to are followed, and from every `extends` the parts; a way back to the start is an error, and the way is shown.',
    sources: [LANGUAGE],
    failing: `part load Lamp extends Bulb { power: 40 W }
part load Bulb extends Lamp { power: 60 W }
`,
    passing: `part load Lamp { power: 40 W }
part load Bulb extends Lamp { power: 60 W }
`,
  },
  word: ({ chain }) => ({
    message: `This leads in a circle: ${chain.map(short).join(' → ')}. Take one step out of it.`,
  }),
});
