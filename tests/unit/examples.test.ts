import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { type Analysis, formatText } from '@wattwright/language';
import { analyseText, createTestServices } from '../helpers/analyse.js';

const examples = path.resolve(import.meta.dirname, '../../examples');
const filesOf = (folder: string): string[] =>
  readdirSync(path.join(examples, folder))
    .filter((name) => name.endsWith('.watt'))
    .sort();
const read = (folder: string, name: string): string => readFileSync(path.join(examples, folder, name), 'utf8');

/** Analyses one file of an example with the others beside it. */
async function analyseExample(folder: string, name: string): Promise<Analysis> {
  const others = filesOf(folder).filter((other) => other !== name);
  return analyseText(Object.fromEntries([name, ...others].map((file) => [file, read(folder, file)])));
}

const complaints = (analysis: Analysis): string[] =>
  analysis.findings
    .filter(({ severity, accepted }) => severity !== 'info' && !accepted)
    .map(({ check, subject, message }) => `${check} ${subject}: ${message}`);

/** One row of the README's tables: the mistake's number, its file, and the findings that must name it. */
interface Mistake {
  readonly number: string;
  readonly file: string;
  readonly checks: readonly string[];
  readonly subjects: readonly string[];
}

/** Reads the tables of README.md: `| W1 | … | \`check\`, \`check\` on \`Subject\` | … |` under `## \`file.watt\``. */
function mistakesOf(readme: string): Mistake[] {
  let file = '';
  return readme.split('\n').flatMap((line) => {
    file = /^## `([\w-]+\.watt)`/.exec(line)?.[1] ?? file;
    const cells = line.split('|').map((cell) => cell.trim());
    const number = cells[1] ?? '';
    if (!/^[A-Z]\d+$/.test(number)) return [];
    const [checks = '', subjects = ''] = (cells[3] ?? '').split(' on ');
    const names = (text: string): string[] => [...text.matchAll(/`([\w.-]+)`/g)].map((match) => match[1]!);
    return [{ number, file, checks: names(checks), subjects: names(subjects) }];
  });
}

describe('the examples', () => {
  it('are laid out canonically', async () => {
    const { wattwright } = await createTestServices();
    for (const folder of readdirSync(examples))
      for (const name of filesOf(folder)) {
        const text = read(folder, name);
        expect(formatText(text, wattwright).text, `${folder}/${name}`).toBe(text);
      }
  });

  it.each(['ridge-station', 'coastal-sloop'])('%s checks clean', async (folder) => {
    for (const name of filesOf(folder)) {
      const analysis = await analyseExample(folder, name);
      expect(complaints(analysis), name).toEqual([]);
      expect(analysis.requirements.filter(({ holds }) => holds === false)).toEqual([]);
    }
  });

  it('ridge-station has one accepted finding, and its requirements outside scenarios are decided', async () => {
    const analysis = await analyseExample('ridge-station', 'station.watt');
    expect(analysis.findings.filter(({ accepted }) => accepted).map(({ check }) => check)).toContain('voltage-drop');
    expect(analysis.requirements.filter(({ scenario, holds }) => !scenario && holds !== true)).toEqual([]);
  });

  describe('field-mistakes', () => {
    const mistakes = mistakesOf(readFileSync(path.join(examples, 'field-mistakes/README.md'), 'utf8'));
    const analyses = new Map<string, Analysis>();
    beforeAll(async () => {
      for (const name of filesOf('field-mistakes')) analyses.set(name, await analyseExample('field-mistakes', name));
    });

    it('numbers every mistake in the text and in the README alike', () => {
      const inText = filesOf('field-mistakes').flatMap((name) =>
        [...read('field-mistakes', name).matchAll(/Mistake ([A-Z]\d+)/g)].map((match) => match[1]!),
      );
      expect(mistakes.map(({ number }) => number).sort()).toEqual(inText.sort());
    });

    it.each(mistakes)('$number in $file is found', ({ file, checks, subjects }) => {
      const findings = analyses.get(file)?.findings ?? [];
      for (const check of checks) {
        const found = findings.filter((finding) => finding.check === check);
        expect(
          found.map(({ subject }) => subject),
          check,
        ).not.toEqual([]);
        if (subjects.length > 0)
          expect(
            found.some(({ subject }) => subjects.some((name) => subject === name || subject.split('.').includes(name))),
            `${check} on ${subjects.join(' or ')}; it is on ${found.map(({ subject }) => subject).join(', ')}`,
          ).toBe(true);
      }
    });
  });
});
