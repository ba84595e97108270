import type { TextLine } from '../model/drawing.js';

/** Height of letters on paper is one module (2.5 mm) for capitals; a size of 14 gives that in common sans faces. */
export const TEXT = 14;
export const LINE = 18;

/** Widths in thousandths of the size of a sans face: the same on every machine, and rather too wide than too narrow. */
const NARROW = new Set("ijl.,:;'|!()[]ftIr -");
const WIDE = new Set('mwMW@%');

const widthOf = (character: string): number => {
  if (NARROW.has(character)) return 370;
  if (WIDE.has(character)) return 960;
  if (character >= '0' && character <= '9') return 640;
  if (character >= 'A' && character <= 'Z') return 730;
  // Scripts with square letters are as wide as high.
  return character > '\u2e80' ? 1000 : 620;
};

export const textWidth = (text: string, size = TEXT): number => {
  let width = 0;
  for (const character of text) width += widthOf(character);
  return (width * size) / 1000;
};

export const lineWidth = (line: TextLine): number =>
  line.reduce((sum, { text, style }) => sum + textWidth(text) * (style === 'name' ? 1.08 : 1), 0);

/** Breaks a text into lines no wider than `widest`; a word that is wider stands alone. */
export function wrapped(text: string, widest: number, size = TEXT): string[] {
  const lines: string[] = [];
  for (const word of text.split(/\s+/).filter(Boolean)) {
    const last = lines.at(-1);
    if (last !== undefined && textWidth(`${last} ${word}`, size) <= widest) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}
