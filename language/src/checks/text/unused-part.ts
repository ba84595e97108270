import { propose } from '../fixes.js';
import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';
import { quoted } from './wording.js';

export const unusedPart = defineTextCheck({
  id: 'unused-part',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A part is declared in a file with a design and used by nothing.',
    guards: 'A data sheet left over from an earlier choice misleads whoever orders parts.',
    how: 'Parts of a file that also holds a design must be used there, by an instance, a property or another part; files of parts alone, and files drawn in by others, are free to hold more.',
    fix: 'Use the part, move it to a file of parts, or remove it.',
    sources: [LANGUAGE],
    failing: `part load Lamp40 { power: 40 W }
design Hut {
  load Lamp { power: 60 W }
}
`,
    passing: `part load Lamp40 { power: 40 W }
design Hut {
  load Lamp : Lamp40
}
`,
  },
  word: ({ name, whole }) => ({
    headline: `Part ${quoted(name)} is used by nothing in this file`,
    advice: 'Remove it or use it.',
    // Safe: nothing refers to it, and files that others draw in are left out of this check.
    fixes: [{ ...propose(`Remove part ${name}`, [{ place: whole, text: '' }]), safe: true }],
  }),
});
