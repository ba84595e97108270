import type { Attributes } from '../../markup/element.js';
import { FONT } from './ink.js';
import { PER_MM } from './sheet.js';

/** What the root of every picture says: its size on paper in mm, its room in units of the picture, and its name for who does not see it. */
export const pictureRoot = (width: number, height: number, role: 'group' | 'img', label: string): Attributes => ({
  xmlns: 'http://www.w3.org/2000/svg',
  width: `${width / PER_MM}mm`,
  height: `${height / PER_MM}mm`,
  viewBox: `0 0 ${width} ${height}`,
  role,
  'aria-label': label,
  'font-family': FONT,
});
