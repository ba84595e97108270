import { describe, expect, test } from 'vitest';
import { textWidth } from '../../server/src/cli/output/width.js';

// Unicode Standard Annex #11, East Asian Width: W and F take two columns, Na, N, H and (outside East Asia) A one; marks of category Mn none.
describe('columns of a text', () => {
  test.each([
    ['', 0],
    ['chargeTime(Bank, 20 %) = 3 h', 28],
    ['limit ≤ 7 h · 40 °C − 2 Ω', 25],
    ['Σ W_in — µV', 11],
    ['Größe', 5],
    ['Gro\u0308ße', 5],
    ['漢字', 4],
    ['Ａ', 2],
    ['ｱ', 1],
    ['한글', 4],
    ['🔋', 2],
    ['👩‍🔧', 2],
  ])('%j takes %i', (text, columns) => expect(textWidth(text)).toBe(columns));
});
