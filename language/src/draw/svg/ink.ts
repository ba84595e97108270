import { type Attributes, type Child, type Markup, element } from '../../markup/element.js';
import type { Mark, TextLine } from '../model/drawing.js';
import { LINE, TEXT } from '../layout/measure.js';
import { MARK_INDENT } from '../layout/sizes.js';

/** Weights of lines in units of the picture (4 units are 1 mm): the series of ISO 128, from memory. */
export const WEIGHT = { symbol: 1, alternating: 1, direct: 2, bar: 5, link: 0.7, frame: 2.8, thin: 0.7 } as const;

/** Ink of what is live and of what is dead; both read on white paper (4.5 to 1 for words). */
export const INK = {
  live: '#111111',
  dead: '#b8b8b8',
  deadText: '#707070',
  paper: '#ffffff',
  /** Of what a change took away, added, and the ground of what it changed. */
  gone: '#8a8a8a',
  added: '#1b5e3a',
  changed: '#ece7d6',
  error: '#a8151b',
  warning: '#7a4b00',
} as const;

export const FONT = "Arial,Helvetica,'Liberation Sans','DejaVu Sans',sans-serif";

/** Letters stand with their middle this share of their size above the line they are written on. */
const MIDDLE = 0.36;

export const words = (
  text: string,
  x: number,
  y: number,
  more: Attributes & { readonly size?: number } = {},
): Markup => {
  const { size = TEXT, ...rest } = more;
  return element('text', { x, y, 'font-size': size, fill: INK.live, ...rest }, text);
};

/** A word whose middle lies at a point. */
export const centred = (text: string, x: number, y: number, size: number, fill: string): Markup =>
  words(text, x, y + size * MIDDLE, { size, fill, 'text-anchor': 'middle' });

/** Lines of words from an upper left corner down. */
export function wordBlock(lines: readonly TextLine[], x: number, y: number, fill: string): Markup[] {
  return lines.map((line, index) =>
    element(
      'text',
      { x, y: y + index * LINE + TEXT, 'font-size': TEXT, fill, 'xml:space': 'preserve' },
      ...line.map(({ text, style }) =>
        style === 'plain'
          ? text
          : element(
              'tspan',
              {
                'font-weight': style === 'name' ? 'bold' : undefined,
                'font-style': style === 'assumed' ? 'italic' : undefined,
                'text-decoration': style === 'missing' ? 'underline' : undefined,
              },
              text,
            ),
      ),
    ),
  );
}

/** The sign of a severity: told apart by shape, not by colour alone. */
function sign(severity: Mark['severity'], x: number, y: number): Child[] {
  const triangle = `M${x} ${y + 6}L${x + 7} ${y - 7}L${x + 14} ${y + 6}Z`;
  switch (severity) {
    case 'error':
      return [
        element('path', { d: triangle, fill: INK.error, stroke: INK.error }),
        words('!', x + 7, y + 5, { size: 11, fill: INK.paper, 'text-anchor': 'middle', 'font-weight': 'bold' }),
      ];
    case 'warning':
    case 'info':
      return [
        element('path', { d: triangle, fill: INK.paper, stroke: INK.warning, 'stroke-width': 1.4 }),
        words('!', x + 7, y + 5, { size: 11, fill: INK.warning, 'text-anchor': 'middle', 'font-weight': 'bold' }),
      ];
    case 'unchecked':
      return [
        element('circle', { cx: x + 7, cy: y, r: 6.5, fill: INK.paper, stroke: INK.live, 'stroke-dasharray': '2 1.5' }),
        words('?', x + 7, y + 4, { size: 11, 'text-anchor': 'middle' }),
      ];
  }
}

/** Marks from an upper left corner down, one a line. */
export function markBlock(marks: readonly Mark[], x: number, y: number): Markup[] {
  return marks.map(({ severity, text }, index) => {
    const middle = y + index * LINE + LINE / 2;
    const fill = severity === 'error' ? INK.error : severity === 'warning' ? INK.warning : INK.live;
    return element(
      'g',
      { class: `mark ${severity}` },
      ...sign(severity, x, middle),
      words(text, x + MARK_INDENT, middle + 5, { fill }),
    );
  });
}
