import type { LayoutPoint } from '../layout/engine.js';
import { textWidth, wrapped } from '../layout/measure.js';
import type { Placed } from '../layout/place.js';
import { isBar, roomOf } from '../layout/sizes.js';
import { type Markup, element } from '../../markup/element.js';
import type { Drawing, DrawnState, Stamp } from '../model/drawing.js';
import { diagram } from './diagram.js';
import { INK, WEIGHT, words } from './ink.js';
import { pictureRoot } from './picture.js';
import { BLOCK, INSET, MARGIN, PER_MM, sheet, titleBlock, titleRows } from './sheet.js';

/** From so many symbols on a drawing is paged: common practice, no source. */
const MANY = 60;
/** Least scale at which a sheet on A3 is still read: capitals of 2.5 mm become 1.8 mm, the least of ISO 3098 (from memory). */
const LEAST_SCALE = 0.7;
/** A3 laid across, and the room for the diagram within its frame and above its title block, in units of the picture. */
export const A3 = { width: 420 * PER_MM, height: 297 * PER_MM } as const;
const HEAD = 56;
const ROOM = {
  width: A3.width - 2 * (MARGIN + INSET),
  height: A3.height - 2 * (MARGIN + INSET) - HEAD - 4 * BLOCK.row - INSET,
} as const;
/** Scales of the parts: capitals of 2.5 mm, and down to 1.8 mm where that needs fewer pages. */
const SCALES = [1, 0.9, 0.8, 0.72] as const;
/** Room beside a cut for the references of its lines. */
const EDGE = 90;

export interface Page {
  readonly title: string;
  readonly width: number;
  readonly height: number;
  readonly content: Markup;
}

interface PageOptions {
  readonly drawing: Drawing;
  readonly placed: Placed;
  readonly stamp: Stamp;
  readonly state?: DrawnState;
}

/** Whether a sheet of this size is too small to be read on A3, or holds too much. */
export const isPaged = ({ drawing, placed, stamp }: PageOptions): boolean => {
  const { width, height } = sheet({ drawing, placed, stamp, number: 1, count: 1 });
  return drawing.symbols.length >= MANY || Math.min(A3.width / width, A3.height / height) < LEAST_SCALE;
};

/** One part of a drawing on a page of its own. */
interface Tile {
  readonly number: number;
  readonly x: readonly [from: number, to: number];
  readonly y: readonly [from: number, to: number];
}

/**
 * A drawing in pages of A3: first all of it, small, with the pages marked; then part after part. A line that leads on to another
 * page says to which, on both of them.
 */
export function pagesOf(options: PageOptions): readonly Page[] {
  const { drawing, placed, state } = options;
  const [scale, kept] = SCALES.map((each) => [each, tilesOf(placed, each)] as const).reduce((so, next) =>
    next[1].length < so[1].length ? next : so,
  );
  const numbers = new Map(kept.map((tile, index) => [tile.number, index + 2]));
  const numbered = kept.map((tile) => ({ ...tile, number: numbers.get(tile.number)! }));
  const count = numbered.length + 1;
  const of = state ? `, ${state.title}` : '';
  return [
    {
      title: `${drawing.title}${of}: all pages`,
      ...A3,
      content: framed(options, 1, count, 'All pages. Their numbers are in the frames.', overview(options, numbered)),
    },
    ...numbered.map((tile) => ({
      title: `${drawing.title}${of}, page ${tile.number} of ${count}`,
      ...A3,
      content: framed(
        options,
        tile.number,
        count,
        'Arrows at the edge: the page on which the line goes on.',
        part(options, tile, numbered, scale),
      ),
    })),
  ];
}

/** The parts of a drawing on pages of their own at a scale, without those that would be empty. */
function tilesOf(placed: Placed, scale: number): readonly Tile[] {
  const columns = cuts(placed, 'x', (ROOM.width - 2 * EDGE) / scale);
  const rows = cuts(placed, 'y', (ROOM.height - 2 * EDGE) / scale);
  return rows
    .flatMap((y, row) => columns.map((x, column): Tile => ({ number: row * columns.length + column + 2, x, y })))
    .filter((tile) => isUsed(tile, placed));
}

/** Where a drawing is cut so that no part is longer than `most`, between symbols and words where there is a gap. */
function cuts(placed: Placed, axis: 'x' | 'y', most: number): readonly (readonly [number, number])[] {
  const length = axis === 'x' ? placed.width : placed.height;
  const taken = blocked(placed, axis);
  const parts: [number, number][] = [];
  let from = 0;
  const isFree = (at: number): boolean => !taken.some(([low, high]) => low < at && at < high);
  while (length - from > most) {
    // Parts alike, so that the last holds more than the ends of lines. What is left must not need one part more.
    const left = Math.ceil((length - from) / most);
    const [least, even] = [length - (left - 1) * most, from + (length - from) / left];
    const places: number[] = [];
    for (let at = from + most; at >= Math.max(least, from + 5); at -= 5) if (isFree(at)) places.push(at);
    let to = places.reduce((so, at) => (Math.abs(at - even) < Math.abs(so - even) ? at : so), places[0] ?? Infinity);
    if (to === Infinity) {
      // Not before half a page: a gap that far back would make too many of them.
      to = from + most;
      while (to > from + most / 2 && !isFree(to)) to -= 5;
      if (to <= from + most / 2) to = from + most;
    }
    parts.push([from, to]);
    from = to;
  }
  parts.push([from, Math.max(length, from + 1)]);
  return parts;
}

/** Stretches along an axis on which a cut would go through a symbol or words. */
function blocked(placed: Placed, axis: 'x' | 'y'): readonly (readonly [number, number])[] {
  const around = (at: number, size: number): readonly [number, number] => [at - 6, at + size + 6];
  const symbols = placed.symbols.map(({ symbol, x, y, width, height }) => {
    const { words: own } = roomOf(symbol);
    const [left, top] = isBar(symbol) ? [Math.min(0, own.x), Math.min(0, own.y)] : [0, 0];
    if (axis === 'x') return around(x + left, width - 2 * left);
    // A bar may be longer than a page; its lines are what is not cut.
    return isBar(symbol) ? around(y + top, -top) : around(y, height);
  });
  const lines = [...placed.lines.values()].flatMap(({ words: own }) =>
    own ? [axis === 'x' ? around(own.x, own.width) : around(own.y, own.height)] : [],
  );
  return [...symbols, ...lines];
}

const isIn = ({ x, y }: Tile, point: LayoutPoint): boolean =>
  point.x >= x[0] && point.x < x[1] && point.y >= y[0] && point.y < y[1];

/** Whether anything of a drawing is on a part. */
const isUsed = (tile: Tile, placed: Placed): boolean =>
  placed.symbols.some(({ x, y, width, height }) => isIn(tile, { x: x + width / 2, y: y + height / 2 })) ||
  [...placed.lines.values()].some(({ points }) => points.some((point) => isIn(tile, point)));

function framed(options: PageOptions, number: number, count: number, note: string, content: readonly Markup[]): Markup {
  const { drawing, state } = options;
  const rows = titleRows({ ...options, number, count });
  return element(
    'g',
    { class: 'sheet' },
    element('rect', { x: 0, y: 0, ...A3, fill: INK.paper }),
    element('rect', {
      x: MARGIN,
      y: MARGIN,
      width: A3.width - 2 * MARGIN,
      height: A3.height - 2 * MARGIN,
      fill: 'none',
      stroke: INK.live,
      'stroke-width': WEIGHT.frame,
    }),
    words(
      `Single-line diagram: ${drawing.title}${state ? `. State: ${state.title}` : ''}`,
      MARGIN + INSET,
      MARGIN + INSET + 14,
      { size: 20, 'font-weight': 'bold' },
    ),
    words(note, MARGIN + INSET, MARGIN + INSET + 36),
    ...content,
    ...titleBlock(rows, A3.width - MARGIN - BLOCK.width, A3.height - MARGIN - rows.length * BLOCK.row),
    ...wrapped(drawing.caution, A3.width - 2 * (MARGIN + INSET) - BLOCK.width, 12).map((text, index, all) =>
      words(text, MARGIN + INSET, A3.height - MARGIN - 8 - (all.length - 1 - index) * 16, { size: 12 }),
    ),
  );
}

/** All of it, as large as the page allows, with the parts framed and numbered. */
function overview({ drawing, placed, state }: PageOptions, tiles: readonly Tile[]): Markup[] {
  const scale = Math.min(1, ROOM.width / placed.width, ROOM.height / placed.height);
  const [left, top] = [MARGIN + INSET, MARGIN + INSET + HEAD];
  return [
    element(
      'svg',
      {
        x: left,
        y: top,
        width: placed.width * scale,
        height: placed.height * scale,
        viewBox: `0 0 ${placed.width} ${placed.height}`,
      },
      diagram(drawing, placed, state),
    ),
    ...tiles.flatMap(({ number, x, y }) => [
      element('rect', {
        x: left + x[0] * scale,
        y: top + y[0] * scale,
        width: (x[1] - x[0]) * scale,
        height: (y[1] - y[0]) * scale,
        fill: 'none',
        stroke: INK.live,
        'stroke-width': WEIGHT.thin,
        'stroke-dasharray': '8 5',
      }),
      words(String(number), left + x[0] * scale + 6, top + y[0] * scale + 22, { size: 22, 'font-weight': 'bold' }),
    ]),
  ];
}

/** One part, with the pages on which its lines go on. */
function part({ drawing, placed, state }: PageOptions, tile: Tile, tiles: readonly Tile[], scale: number): Markup[] {
  const [left, top] = [MARGIN + INSET + EDGE, MARGIN + INSET + HEAD + EDGE / 2];
  const width = tile.x[1] - tile.x[0];
  const height = tile.y[1] - tile.y[0];
  const runs = new Map(drawing.stretches.map(({ id, run }) => [id, run]));
  const leadingOn = [...placed.lines.values()].flatMap(({ id, points }) =>
    crossings(points, tile).flatMap(({ at, side, beyond }): LeadingOn[] => {
      const target = tiles.find((each) => each !== tile && isIn(each, beyond));
      if (!target) return [];
      const text = `${runs.get(id) ?? id}: page ${target.number}`;
      return [{ text, side, x: left + (at.x - tile.x[0]) * scale, y: top + (at.y - tile.y[0]) * scale }];
    }),
  );
  return [
    element(
      'svg',
      {
        x: left,
        y: top,
        width: width * scale,
        height: height * scale,
        viewBox: `${tile.x[0]} ${tile.y[0]} ${width} ${height}`,
      },
      diagram(drawing, placed, state),
    ),
    ...inRows(leadingOn).flatMap(({ text, x, y, side, row }) => {
      const away = row * ROW;
      switch (side) {
        case 'right':
          return [arrow(x + 4, y, 'right'), words(text, x + 14, y - 4, { size: SMALL })];
        case 'left':
          return [arrow(x - 4, y, 'left'), words(text, x - 14 - textWidth(text, SMALL), y - 4, { size: SMALL })];
        case 'top':
          return [arrow(x, y - 4, 'top'), words(text, x + 8, y - 16 - away, { size: SMALL })];
        case 'bottom':
          return [arrow(x, y + 4, 'bottom'), words(text, x + 8, y + 24 + away, { size: SMALL })];
      }
    }),
  ];
}

/** Size of the words at the edge of a part, and the distance of their rows. */
const SMALL = 11;
const ROW = 13;

/** Where a line leads on to another page, and to which. */
interface LeadingOn {
  readonly text: string;
  readonly x: number;
  readonly y: number;
  readonly side: Side;
}

/** Words of lines that leave upwards or downwards close beside each other are put into rows in which none lies on another, beyond the arrows. */
function inRows(marks: readonly LeadingOn[]): readonly (LeadingOn & { readonly row: number })[] {
  const ends: Record<Side, number[]> = { left: [], right: [], top: [], bottom: [] };
  return [...marks]
    .sort((a, b) => a.x - b.x || a.y - b.y)
    .map((mark) => {
      if (mark.side === 'left' || mark.side === 'right') return { ...mark, row: 0 };
      const rows = ends[mark.side];
      const free = rows.findIndex((end) => end <= mark.x);
      const row = free < 0 ? rows.length : free;
      rows[row] = mark.x + 8 + textWidth(mark.text, SMALL) + 8;
      return { ...mark, row };
    });
}

type Side = 'left' | 'right' | 'top' | 'bottom';

const POINTS: Readonly<Record<Side, string>> = {
  right: 'l8 0m0 0l-6 -4v8z',
  left: 'l-8 0m0 0l6 -4v8z',
  top: 'l0 -8m0 0l-4 6h8z',
  bottom: 'l0 8m0 0l-4 -6h8z',
};

const arrow = (x: number, y: number, side: Side): Markup =>
  element('path', { d: `M${x} ${y}${POINTS[side]}`, stroke: INK.live, fill: INK.live, 'stroke-width': WEIGHT.thin });

interface Crossing {
  readonly at: LayoutPoint;
  readonly side: Side;
  /** A point just beyond the edge. */
  readonly beyond: LayoutPoint;
}

/** Where a line of level and upright stretches leaves a part. */
function crossings(points: readonly LayoutPoint[], { x, y }: Tile): Crossing[] {
  const found: Crossing[] = [];
  for (let index = 1; index < points.length; index += 1) {
    const [a, b] = [points[index - 1]!, points[index]!];
    const isBetween = (value: number, one: number, other: number): boolean =>
      Math.min(one, other) < value && value <= Math.max(one, other);
    if (a.y === b.y && a.y >= y[0] && a.y < y[1]) {
      if (isBetween(x[1], a.x, b.x))
        found.push({ at: { x: x[1], y: a.y }, side: 'right', beyond: { x: x[1] + 1, y: a.y } });
      if (isBetween(x[0], a.x, b.x))
        found.push({ at: { x: x[0], y: a.y }, side: 'left', beyond: { x: x[0] - 1, y: a.y } });
    }
    if (a.x === b.x && a.x >= x[0] && a.x < x[1]) {
      if (isBetween(y[1], a.y, b.y))
        found.push({ at: { x: a.x, y: y[1] }, side: 'bottom', beyond: { x: a.x, y: y[1] + 1 } });
      if (isBetween(y[0], a.y, b.y))
        found.push({ at: { x: a.x, y: y[0] }, side: 'top', beyond: { x: a.x, y: y[0] - 1 } });
    }
  }
  return found;
}

/** A page as a picture of its own. */
export const pagePicture = ({ title, width, height, content }: Page): Markup =>
  element('svg', pictureRoot(width, height, 'img', title), element('g', { 'aria-hidden': 'true' }, content));
