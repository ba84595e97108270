import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { foreignWords } from '../../language/src/glossary/basis-words.js';
import { type Analysis, CHECKS, type Finding } from '../../language/src/index.js';
import { analyseText } from '../helpers/analyse.js';

/** Most characters of a headline, and of headline and reason together; each name and each piece of code counts as `NAME`. */
const HEADLINE = 100;
const TOGETHER = 200;
const NAME = 12;

/** Names of things in an analysis: what a designer calls them is not the length of our sentences. */
const namesIn = ({ designs }: Analysis): string[] =>
  designs.flatMap(({ system }) => [
    system.name,
    ...[...system.instances, ...system.runs, ...system.links, ...system.controls, ...system.scenarios].map(
      ({ name }) => name,
    ),
  ]);

/** The length of a text with every name and every piece of code counted as one of `NAME` characters. */
function lengthOf(text: string, names: readonly string[]): number {
  const longest = [...new Set(names)].sort((a, b) => b.length - a.length);
  const pattern = longest.length > 0 ? new RegExp(`\\b(?:${longest.join('|')})\\b`, 'g') : undefined;
  const plain = text.replace(/`[^`]*`/g, '§');
  const short = pattern ? plain.replace(pattern, '§') : plain;
  return short.length + (short.split('§').length - 1) * (NAME - 1);
}

interface Measured {
  readonly finding: Finding;
  readonly headline: number;
  readonly together: number;
}

const measured = (analysis: Analysis): Measured[] => {
  const names = namesIn(analysis);
  return analysis.findings.map((finding) => ({
    finding,
    headline: lengthOf(finding.headline, names),
    together: lengthOf(finding.headline, names) + (finding.why ? lengthOf(finding.why, names) + 2 : 0),
  }));
};

const root = path.resolve(import.meta.dirname, '../..');
/** Designs with every kind of fault: the examples of all checks, those that are full of mistakes, and published systems. */
const TEXTS: readonly string[] = [
  ...CHECKS.map(({ docs }) => docs.failing),
  ...globSync('{examples/field-mistakes,tests/systems}/*.watt', { cwd: root }).map((file) =>
    readFileSync(path.join(root, file), 'utf8'),
  ),
];

describe('findings in one breath', async () => {
  const all: Measured[] = [];
  for (const text of TEXTS) all.push(...measured(await analyseText(text)));

  it('measures texts of nearly every check', () => {
    expect(new Set(all.map(({ finding }) => finding.check)).size).toBeGreaterThan(100);
  });

  it(`keeps headlines to ${HEADLINE} characters`, () => {
    const longest = all.reduce((so, next) => (next.headline > so.headline ? next : so));
    console.info(`longest headline (${longest.headline}): ${longest.finding.headline}`);
    const tooLong = all.filter(({ headline }) => headline > HEADLINE);
    expect(tooLong.map(({ finding, headline }) => `${headline} ${finding.check}: ${finding.headline}`)).toEqual([]);
  });

  it(`keeps headline and reason to ${TOGETHER} characters`, () => {
    const longest = all.reduce((so, next) => (next.together > so.together ? next : so));
    console.info(`longest headline and reason (${longest.together}): ${longest.finding.message}`);
    const tooLong = all.filter(({ together }) => together > TOGETHER);
    expect(tooLong.map(({ finding, together }) => `${together} ${finding.check}: ${finding.message}`)).toEqual([]);
  });

  it('ends no headline with a full stop and gives no rule or advice in it', () => {
    const wrong = all.filter(
      ({ finding: { headline } }) => /[.]$/.test(headline) || /\(NEC|\(IEC|\bshould\b/.test(headline),
    );
    expect(wrong.map(({ finding }) => `${finding.check}: ${finding.headline}`)).toEqual([]);
  });

  it('writes whole texts', () => {
    const texts = all.flatMap(({ finding }) => [finding.message, finding.rule ?? '', ...finding.assumes]);
    expect(texts.filter((text) => /undefined|NaN|\[object|Infinity|\b(degC|ohm)\b(?![^`]*`)/.test(text))).toEqual([]);
  });
});

/** The same design under another practice. */
const under = (practice: string, text: string): string =>
  /^ *basis:/m.test(text)
    ? text.replace(/^( *)basis:[^\n]*/gm, `$1basis: ${practice}`)
    : text.replace(/^design (\w+) \{/m, `design $1 {\n  basis: ${practice}`);

describe.each(['nec', 'iec', 'craft'] as const)('words of the practice %s', (practice) => {
  it('are none of another one', async () => {
    const texts = CHECKS.filter(({ group }) => group === 'conductors').map(({ docs }) => under(practice, docs.failing));
    const told: string[] = [];
    for (const text of texts) {
      const { findings } = await analyseText(text);
      for (const { headline, why, consequence, advice, check } of findings)
        if (CHECKS.find(({ id }) => id === check)?.group !== 'text')
          told.push([headline, why, consequence, advice].join('; ').replace(/`[^`]*`/g, '§'));
    }
    expect(told.length).toBeGreaterThan(20);
    const foreign = foreignWords(practice).map((word) => new RegExp(`\\b${word}s?\\b(?!-)`, 'i'));
    expect(told.filter((text) => foreign.some((word) => word.test(text)))).toEqual([]);
  });
});
