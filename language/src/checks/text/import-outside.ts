import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';
import { quoted, capital } from './wording.js';

export const importOutside = defineTextCheck({
  id: 'import-outside',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A `use` or a weather file leads out of the folders that may be read, or is no relative path.',
    guards:
      'A design must be complete in its repository, and checking a foreign one must not read files elsewhere on the machine.',
    how: 'Paths are relative to the file that says them, with `/`. In an editor they may not leave the workspace folder; on the command line not the working folder and the folders that were named. A link that leads outside counts as outside.',
    fix: 'Move the file below the folder of the design or project, and write its path from there.',
    sources: [LANGUAGE],
    failing: `use "/etc/parts.watt"
design Hut {}
`,
    passing: `design Hut {}
`,
  },
  word: ({ path, reason, mend }) => ({
    headline:
      reason === 'outside'
        ? mend === undefined
          ? `${quoted(path)} lies outside the workspace folder`
          : `${quoted(path)} lies outside the folders that may be read`
        : `${quoted(path)} is no relative path`,
    advice:
      reason === 'outside'
        ? `${mend === undefined ? 'Copy' : `${capital(mend)}, or copy`} the file into ${mend === undefined ? 'it' : 'one of them'}.`
        : 'Write it relative to this file, with `/`, as in `use "../parts/stock.watt"`.',
  }),
});
