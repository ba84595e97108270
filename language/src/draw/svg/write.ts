import type { Drawing, Stamp } from '../model/drawing.js';
import type { Placed } from '../layout/place.js';
import { element, svgFile } from './element.js';
import { FONT } from './ink.js';
import { type Sheet, sheet } from './sheet.js';

const BETWEEN = 30;
/** Units of the picture in a millimetre. */
const PER_MM = 4;

export interface WriteOptions {
  readonly stamp: Stamp;
  /** Which sheets: the whole and every state, the whole alone, or one state by its id. */
  readonly sheets: 'all' | 'whole' | { readonly state: string };
}

/** A drawing with places as the text of an SVG file, sheets below each other. */
export function writeDrawing(drawing: Drawing, placed: Placed, { stamp, sheets }: WriteOptions): string {
  const states =
    typeof sheets === 'object'
      ? drawing.states.filter(({ id }) => id === sheets.state)
      : sheets === 'all'
        ? drawing.states
        : [];
  const wanted = [...(typeof sheets === 'object' ? [] : [undefined]), ...states];
  const drawn: Sheet[] = wanted.map((state, index) =>
    sheet({ drawing, placed, stamp, number: index + 1, count: wanted.length, ...(state ? { state } : {}) }),
  );
  const width = Math.max(...drawn.map((each) => each.width));
  const height = drawn.reduce((sum, each) => sum + each.height, 0) + BETWEEN * (drawn.length - 1);
  let top = 0;
  const placedSheets = drawn.map((each) => {
    const written = each.draw(0, top);
    top += each.height + BETWEEN;
    return written;
  });
  return svgFile(
    element(
      'svg',
      {
        xmlns: 'http://www.w3.org/2000/svg',
        width: `${width / PER_MM}mm`,
        height: `${height / PER_MM}mm`,
        viewBox: `0 0 ${width} ${height}`,
        role: 'group',
        'aria-label': `Single-line diagram of ${drawing.title}`,
        'font-family': FONT,
      },
      element('title', {}, `Single-line diagram of ${drawing.title}`),
      element('desc', {}, described(drawing)),
      ...placedSheets,
    ),
  );
}

/** The drawing in words: its elements in the order of the text, its runs, its states. */
export function described(drawing: Drawing): string {
  const elements = drawing.symbols.map(({ description }) => description);
  const runs = drawing.runs.map(({ description }) => description);
  const states = drawing.states.map(({ title }) => title);
  return [
    `Elements: ${elements.join('; ')}.`,
    `Runs: ${runs.join('; ')}.`,
    ...(states.length > 0 ? [`States: ${states.join('; ')}.`] : []),
  ].join('\n');
}
