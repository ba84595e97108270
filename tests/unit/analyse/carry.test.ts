import { TextDocument } from 'langium';
import { describe, expect, it } from 'vitest';
import { type Finding, type Place, carriedFindings } from '../../../language/src/index.js';

const URI = 'file:///design.watt';

const placeOf = (text: string, word: string): Place => {
  const document = TextDocument.create(URI, 'wattwright', 1, text);
  const offset = text.indexOf(word);
  const [from, to] = [document.positionAt(offset), document.positionAt(offset + word.length)];
  return {
    uri: URI,
    offset,
    end: offset + word.length,
    line: from.line,
    character: from.character,
    endLine: to.line,
    endCharacter: to.character,
  };
};

const findingAt = (place: Place, related: readonly Place[] = []): Finding => ({
  check: 'voltage-drop',
  severity: 'warning',
  place,
  subject: 'House.Feed',
  headline: 'Feed loses too much',
  assumes: [],
  message: 'Feed loses too much',
  numbers: {},
  sources: [],
  related: related.map((each) => ({ place: each, text: 'set here' })),
  ways: [{ title: 'Use 16 mm2', safe: false, edits: [{ place, text: '16 mm2' }] }],
});

const carry = (before: string, after: string, ...words: string[]): Finding[] =>
  carriedFindings(
    words.map((word) => findingAt(placeOf(before, word))),
    before,
    TextDocument.create(URI, 'wattwright', 2, after),
  );

describe('findings carried over an edit', () => {
  const before = 'one two\nthree four\nfive six';

  it('stay where they are before the edit and move with their words after it', () => {
    const after = 'one two\nthree more\nand four\nfive six';
    expect(carry(before, after, 'one', 'six').map(({ place }) => place)).toEqual([
      placeOf(after, 'one'),
      placeOf(after, 'six'),
    ]);
  });

  it('are left out where the edit touches them', () => {
    expect(carry(before, 'one two\nthrxee four\nfive six', 'three')).toEqual([]);
    expect(carry(before, 'one two\nthree fourth\nfive six', 'four')).toEqual([]);
    expect(carry(before, '', 'one', 'six')).toEqual([]);
  });

  it('all stay where the text is the same', () => {
    expect(carry(before, before, 'one', 'four', 'six')).toHaveLength(3);
  });

  it('keep only the places beside them that are still there, and no fix', () => {
    const after = 'one two\nthree four\nfive';
    const finding = findingAt(placeOf(before, 'one'), [placeOf(before, 'three'), placeOf(before, 'six')]);
    const [carried] = carriedFindings([finding], before, TextDocument.create(URI, 'wattwright', 2, after));
    expect(carried?.related.map(({ place }) => place)).toEqual([placeOf(after, 'three')]);
    expect(carried?.ways).toEqual([]);
  });
});
