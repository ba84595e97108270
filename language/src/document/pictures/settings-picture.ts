import { type Markup, element } from '../../markup/element.js';
import { INK, words } from '../../draw/svg/ink.js';
import { pictureRoot } from '../../draw/svg/picture.js';
import { textWidth } from '../../draw/layout/measure.js';

export interface PointOnAxis {
  readonly text: string;
  /** Height along the axis, in any one unit. */
  readonly at: number;
  /** Whether nobody sets it: drawn heavy, its words in bold. */
  readonly isLimit?: boolean;
}

const TOP = 44;
const AXIS = 60;
const LABELS = 130;
/** Least distance of two lines of words. */
const ROW = 22;
const LEAST_HEIGHT = 260;

/** Set points along one upright axis, each at its true height; words move apart as far as they must, with a line to their point. */
export function settingsPicture(title: string, points: readonly PointOnAxis[]): Markup {
  const sorted = [...points].sort((a, b) => b.at - a.at);
  const [most, least] = [sorted[0]!.at, sorted.at(-1)!.at];
  const length = Math.max(LEAST_HEIGHT, sorted.length * ROW);
  const heightOf = (at: number): number =>
    TOP + (most === least ? length / 2 : ((most - at) / (most - least)) * length);
  const rows = apart(
    sorted.map(({ at }) => heightOf(at)),
    TOP + length,
  );
  const width = LABELS + Math.max(textWidth(title, 15), ...sorted.map(({ text }) => textWidth(text))) + 20;
  const height = Math.max(TOP + length, rows.at(-1)!) + 24;
  return element(
    'svg',
    pictureRoot(width, height, 'img', `Order of set points: ${title}`),
    element(
      'g',
      { 'aria-hidden': 'true' },
      element('rect', { x: 0, y: 0, width, height, fill: INK.paper }),
      words(title, 10, 20, { size: 15, 'font-weight': 'bold' }),
      element('path', { d: `M${AXIS} ${TOP}V${TOP + length}`, stroke: INK.live, 'stroke-width': 2, fill: 'none' }),
      ...sorted.flatMap(({ text, at, isLimit }, index) => [
        element('path', {
          d: `M${AXIS - 8} ${heightOf(at)}H${AXIS + 8}L${LABELS - 12} ${rows[index]!}H${LABELS - 4}`,
          stroke: INK.live,
          'stroke-width': isLimit ? 3 : 1,
          fill: 'none',
        }),
        words(text, LABELS, rows[index]! + 5, isLimit ? { 'font-weight': 'bold' } : {}),
      ]),
    ),
  );
}

/** Rows at their heights, moved apart to at least `ROW`, none beyond the foot where there is room above. */
function apart(heights: readonly number[], foot: number): number[] {
  const rows: number[] = [];
  for (const height of heights) rows.push(Math.max(height, (rows.at(-1) ?? -Infinity) + ROW));
  for (let index = rows.length - 1, limit = foot; index >= 0; index -= 1, limit -= ROW)
    rows[index] = Math.min(rows[index]!, Math.max(limit, TOP + index * ROW));
  return rows;
}
