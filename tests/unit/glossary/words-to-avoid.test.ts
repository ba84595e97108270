import { describe, expect, test } from 'vitest';
import { HOLE, userTexts } from '../../helpers/user-texts.js';

/** What no text says, what it writes instead, and a sentence that holds it. */
const AVOIDED: readonly (readonly [pattern: RegExp, instead: string, example: string])[] = [
  [/\bfor want of\b/i, 'not checked: … missing', '3 checks skipped for want of facts'],
  [/\b(?:re)?play(?:s|ed|ing)?\b/i, 'simulate', 'the scenario is played'],
  [
    /\b(?:an?|the|one|each|every|this|that|no|two|small|larger|smaller|second|worn|frame) sets?(?:['’]s)?\b(?! (?:of|points?|screws?|current|voltage)\b)/i,
    'generator',
    'a larger set is needed',
  ],
  [/\b(?:is|are|was|be|not|longer) told\b|\btold (?:once|by|at)\b/i, 'is reported', 'each design is told once'],
  [/\bstands? in\b/i, 'is in', 'what stands in the block'],
  [/\bhangs? on\b/i, 'connected to', 'what hangs on the bus'],
  [/\bhours on end\b/i, 'continuously (3 h or more)', 'carries 24 A for hours on end'],
  [/\bgood for\b/i, 'needs', 'must be good for 30 A'],
  [/\basks? for\b/i, 'needs, demands', 'the site asks for no reduction'],
  [/\btakes\b(?! (?:longer|turns|place|the bank from)\b)/i, 'accepts, draws, needs', 'the bank takes 140 A'],
  [/\bmend(?:s|ed|ing)?\b/i, 'fix', 'mend its syntax errors'],
  [/\blacks?\b/i, 'missing', 'a fact lacks'],
  [/\bnobody took\b/i, 'curtailed', 'energy that nobody took'],
  [/\bgot\b|\bdid not get\b/i, 'served, unserved', 'what the loads did not get'],
  [/\bfinds? fault\b/i, 'fails', 'the check finds fault with it'],
  [/\bputs? right\b/i, 'fix', 'what is put right'],
  [/\bthin(?:ner)?\b(?!-| air\b)/i, 'undersized', 'the run is too thin'],
  [/\bbears?\b/i, 'carry, withstand', 'what the conductors bear'],
  [/\bsurely\b/i, 'certainly, or leave it out', 'it surely opens'],
];

/** Without what is language, an address or a name of a thing: those are not sentences. */
const prose = (text: string): string =>
  text
    .replace(/```[\s\S]*?```/g, HOLE)
    .replace(/`[^`]*`/g, HOLE)
    .replace(/\]\([^)]*\)/g, ']')
    .replace(/\bhttps?:\S+/g, HOLE)
    .replace(/\s*\n\s*(?:\*\*? |\/\/+ ?|\* )?/g, ' ');

describe('words to avoid', () => {
  const texts = userTexts().map(({ text, ...at }) => ({ ...at, text: prose(text) }));

  test('are looked for in thousands of texts of every sort', () => {
    expect(texts.length).toBeGreaterThan(4000);
    for (const sort of [/^language\/src\//, /^server\/src\//, /^extension\/src\//, /\.md$/, /\.watt$/, /\.json$/])
      expect(texts.some(({ file }) => sort.test(file))).toBe(true);
  });

  test.each(AVOIDED)('%s is found where it is written: rather “%s”', (pattern, _instead, example) => {
    expect(prose(example)).toMatch(pattern);
  });

  test.each(AVOIDED)('%s is written nowhere: rather “%s”', (pattern) => {
    const everywhere = new RegExp(pattern.source, 'gi');
    const found = texts.flatMap(({ file, line, text }) =>
      [...text.matchAll(everywhere)].map(
        ({ index }) => `${file}:${line} …${text.slice(Math.max(0, index - 50), index + 60)}…`,
      ),
    );
    expect(found).toEqual([]);
  });
});
