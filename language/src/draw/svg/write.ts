import type { Drawing, DrawnState, Stamp } from '../model/drawing.js';
import type { Placed } from '../layout/place.js';
import { type Markup, element, svgFile } from '../../markup/element.js';
import { isPaged, pagePicture, pagesOf } from './pages.js';
import { pictureRoot } from './picture.js';
import { type Sheet, sheet } from './sheet.js';

const BETWEEN = 30;

export interface WriteOptions {
  readonly stamp: Stamp;
  /** Which sheets: the whole and every state, the whole alone, or one state by its id. */
  readonly sheets: 'all' | 'whole' | { readonly state: string };
}

/** The states that are wanted, with none for the sheet of the whole. */
function statesOf(drawing: Drawing, { sheets }: Pick<WriteOptions, 'sheets'>): readonly (DrawnState | undefined)[] {
  if (typeof sheets === 'object') return drawing.states.filter(({ id }) => id === sheets.state);
  return [undefined, ...(sheets === 'all' ? drawing.states : [])];
}

/** The sheets that are wanted, each drawn and with its size. */
function sheetsOf(
  drawing: Drawing,
  placed: Placed,
  { stamp, sheets }: WriteOptions,
): readonly (Sheet & { readonly title: string })[] {
  const wanted = statesOf(drawing, { sheets });
  return wanted.map((state, index) => ({
    ...sheet({ drawing, placed, stamp, number: index + 1, count: wanted.length, ...(state ? { state } : {}) }),
    title: state
      ? `Single-line diagram of ${drawing.title}, ${state.title}`
      : `Single-line diagram of ${drawing.title}`,
  }));
}

/** A drawing with places as the text of an SVG file, sheets below each other. */
export function writeDrawing(drawing: Drawing, placed: Placed, options: WriteOptions): string {
  const drawn = sheetsOf(drawing, placed, options);
  const width = Math.max(...drawn.map((each) => each.width));
  const height = drawn.reduce((sum, each) => sum + each.height, 0) + BETWEEN * (drawn.length - 1);
  let top = 0;
  const placedSheets = drawn.map((each) => {
    const written = each.draw(0, top);
    top += each.height + BETWEEN;
    return written;
  });
  const title =
    drawing.changes === undefined
      ? `Single-line diagram of ${drawing.title}`
      : `Changes of ${drawing.title}, ${drawing.changes}`;
  return svgFile(
    element(
      'svg',
      pictureRoot(width, height, 'group', title),
      element('title', {}, title),
      element('desc', {}, described(drawing)),
      ...placedSheets,
    ),
  );
}

/** One sheet as a figure of a page: one picture with its words, whose parts are not read out one by one. */
export interface Figure {
  readonly title: string;
  readonly picture: Markup;
}

/** The sheets as pictures apart: each whole where it can be read on A3, else in pages that refer to each other. */
export function drawingFigures(drawing: Drawing, placed: Placed, options: WriteOptions): readonly Figure[] {
  const { stamp } = options;
  // What the states show beside is on one page each: their words are few.
  const isInPages = typeof options.sheets !== 'object' && isPaged({ drawing, placed, stamp });
  const pages = isInPages ? pagesOf({ drawing, placed, stamp }) : [];
  const sheets = sheetsOf(drawing, placed, options).slice(isInPages ? 1 : 0);
  return [
    ...pages.map((page) => ({ title: page.title, picture: pagePicture(page) })),
    ...sheets.map(({ title, width, height, draw }) => ({
      title,
      picture: element(
        'svg',
        pictureRoot(width, height, 'img', title),
        element('g', { 'aria-hidden': 'true' }, draw(0, 0)),
      ),
    })),
  ];
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
