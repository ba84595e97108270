import { nearest } from '../../model/nearest.js';
import { propose } from '../fixes.js';
import { LANGUAGE } from './sources.js';
import { defineTextCheck } from './problem-check.js';
import { oneOf, quoted, withoutStop } from './wording.js';

/** Names that are listed where none is near: as many as a scenario has properties. */
const LISTED = 9;

export const unknownName = defineTextCheck({
  id: 'unknown-name',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A name is not known here: a part, thing, property, value, terminal, function or file that does not exist.',
    guards: 'A misspelt property would silently leave a fact out.',
    how: 'Names are looked up in the design, its file, the files it uses and the standard library; properties, words and terminals in the catalogue of their kind. The nearest names are proposed.',
    fix: 'Correct the spelling; where a name close to it exists it is proposed. A file with the part is drawn in by `use`.',
    sources: [LANGUAGE],
    failing: `design Hut {
  load Lamp { powr: 40 W }
}
`,
    passing: `design Hut {
  load Lamp { power: 40 W }
}
`,
  },
  word: ({ name, wanted, candidates: all, meant = [], hint, needs, place }) => {
    const candidates = [...new Set(all)];
    if (wanted === 'file') {
      return hint === undefined
        ? {
            headline: `The file ${quoted(name)} cannot be read`,
            advice: 'Write a path relative to this file.',
          }
        : { headline: `The file ${quoted(name)} cannot be read`, why: `it ${hint}` };
    }
    if (needs)
      return {
        headline: `${quoted(name)} is no ${wanted}`,
        why: `it has one with \`${needs.statement}\``,
        fixes: [propose(`State \`${needs.statement}\``, [{ place: needs.place, text: needs.text }], true)],
      };
    // Where a thing has several terminals the name is right and only lacks its terminal.
    const isIncomplete = hint !== undefined;
    const near = isIncomplete ? candidates : [...new Set([...meant, ...nearest(name, candidates)])];
    const shown = near.slice(0, isIncomplete ? 4 : Math.min(3, Math.max(1, meant.length)));
    const list =
      shown.length > 0
        ? `did you mean ${oneOf(shown)}?`
        : candidates.length > 0 && candidates.length <= LISTED
          ? `there ${candidates.length === 1 ? 'is' : 'are'} ${oneOf(candidates, LISTED)}`
          : undefined;
    return {
      headline: isIncomplete ? `${withoutStop(hint)}; which one is not said` : `${quoted(name)} is no ${wanted}`,
      ...(list ? { why: list } : {}),
      fixes: near
        .slice(0, isIncomplete ? 4 : 3)
        .map((text, index) => propose(`Change to \`${text}\``, [{ place, text }], index === 0 && !isIncomplete)),
    };
  },
});
