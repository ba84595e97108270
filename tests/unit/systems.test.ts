import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { formatText } from '@wattwright/language';
import { analyseText, createTestServices } from '../helpers/analyse.js';

interface PublishedSystem {
  readonly id: string;
  readonly file: string;
  /** Findings a practitioner expects: check and thing. */
  readonly found?: readonly { readonly check: string; readonly subject: string }[];
  /** Findings that would be false alarms: check and thing. */
  readonly silent?: readonly { readonly check: string; readonly subject: string }[];
  /** Facts that were not published and must be asked for: check and a word of the missing fact. */
  readonly asked?: readonly { readonly check: string; readonly missing: string }[];
}

const folder = path.resolve(import.meta.dirname, '../systems');
const { systems } = JSON.parse(readFileSync(path.join(folder, 'systems.json'), 'utf8')) as {
  readonly systems: readonly PublishedSystem[];
};

describe('publicly described systems', () => {
  it('are all there, each in its file', () => {
    const files = readdirSync(folder).filter((name) => name.endsWith('.watt'));
    expect(systems.map(({ file }) => file).sort()).toEqual(files.sort());
  });

  it.each(systems)(
    '$id $file gives the findings a practitioner expects, and asks for what was not published',
    async (system) => {
      const text = readFileSync(path.join(folder, system.file), 'utf8');
      const { wattwright } = await createTestServices();
      expect(formatText(text, wattwright).text).toBe(text);

      const analysis = await analyseText(text);
      expect(analysis.designs.length).toBeGreaterThan(0);
      const slips = analysis.findings.filter(({ check }) =>
        ['unknown-name', 'wrong-dimension', 'syntax'].includes(check),
      );
      expect(slips.map(({ told }) => told)).toEqual([]);
      // Published numbers stand as requirements of the design: they must come out.
      expect(analysis.requirements.filter(({ holds }) => holds !== true).map(({ text }) => text)).toEqual([]);
      for (const { check, subject } of system.found ?? [])
        expect(
          analysis.findings.some((finding) => finding.check === check && finding.subject.endsWith(`.${subject}`)),
          `${check} on ${subject}: ${analysis.findings.map((finding) => `${finding.check} ${finding.subject}`).join(', ')}`,
        ).toBe(true);
      for (const { check, subject } of system.silent ?? [])
        expect(
          analysis.findings.some((finding) => finding.check === check && finding.subject.endsWith(`.${subject}`)),
          `${check} on ${subject}`,
        ).toBe(false);
      for (const { check, missing } of system.asked ?? [])
        expect(
          analysis.questions.some(
            (question) => question.check === check && question.missing.some((fact) => fact.includes(missing)),
          ),
          `${check} asks for ${missing}`,
        ).toBe(true);
    },
  );
});
