import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { Examination, trials } from './examination.js';
import { edited, edits } from './edits.js';
import { designTexts, withBeside } from './texts.js';

const examination = new Examination();
afterAll(() => examination.end());

/** Random texts tried of each design file; WATTWRIGHT_FUZZ multiplies it, see examination.ts. */
const TRIALS_OF_A_FILE = 3;
const TIME = 600_000;

describe('design files of the project', () => {
  it.each(designTexts())(
    '$name keeps every promise as it stands',
    async (design) => {
      const { faults } = await examination.ask(withBeside(design, design.text));
      expect(faults).toEqual([]);
    },
    TIME,
  );

  it.each(designTexts())(
    '$name keeps every promise after random edits',
    async (design) => {
      const few = design.name.startsWith('language/library') ? 1 : TRIALS_OF_A_FILE;
      await fc.assert(
        fc.asyncProperty(edits, async (changes) => {
          const { faults } = await examination.ask(withBeside(design, edited(design.text, changes)));
          expect(faults).toEqual([]);
        }),
        trials(few),
      );
    },
    TIME,
  );
});
