import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { designText, randomDesign } from './arbitrary-design.js';
import { Examination, trials } from './examination.js';

const examination = new Examination();
afterAll(() => examination.end());

const TIME = 600_000;

/** Checks that speak of the text itself; a design that is right as a text gives them nothing to say. */
const OF_THE_TEXT = [
  'syntax-error',
  'unknown-name',
  'duplicate-name',
  'wrong-type',
  'wrong-dimension',
  'value-out-of-range',
];

describe('random designs', () => {
  it(
    'keep every promise, and nothing is wrong with them as texts',
    async () => {
      await fc.assert(
        fc.asyncProperty(randomDesign, async ({ members }) => {
          const { faults, findings } = await examination.ask(designText(members));
          expect(faults).toEqual([]);
          expect(findings.filter(({ check }) => OF_THE_TEXT.includes(check))).toEqual([]);
        }),
        trials(60),
      );
    },
    TIME,
  );

  it(
    'say the same of a value whether the design or its variant states it',
    async () => {
      await fc.assert(
        fc.asyncProperty(randomDesign, async ({ members, override, overridden }) => {
          const direct = await examination.ask(designText(overridden), false);
          const varied = await examination.ask(`${designText(members)}variant Other of Any { ${override} }\n`, false);
          expect(direct.faults).toEqual([]);
          expect(varied.faults).toEqual([]);
          const messages = (list: typeof direct.findings, design: string): string[] =>
            list
              .filter(({ subject }) => subject === design || subject.startsWith(`${design}.`))
              .map(({ check, subject, message }) => `${check} ${subject.slice(design.length)}: ${message}`);
          const ofVariant = new Set(messages(varied.findings, 'Other').map((text) => text.replaceAll('Other', 'Any')));
          const ofBase = new Set(messages(varied.findings, 'Any'));
          // What base and variant have in common at one place is said once, of the base.
          const missing = messages(direct.findings, 'Any').filter((text) => !ofVariant.has(text) && !ofBase.has(text));
          expect(missing).toEqual([]);
        }),
        trials(40),
      );
    },
    TIME,
  );
});
