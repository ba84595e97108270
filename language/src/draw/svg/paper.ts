import { Markup, html, htmlFile } from '../../markup/element.js';
import type { Figure } from './write.js';

export const PAPERS = ['A3', 'A4', 'Letter'] as const;
export type Paper = (typeof PAPERS)[number];

/** What a page of this paper is, laid across, in mm. */
const SIZES: Readonly<Record<Paper, readonly [width: number, height: number]>> = {
  A3: [420, 297],
  A4: [297, 210],
  Letter: [279.4, 215.9],
};

/** Drawings as a page to be printed, one on each sheet of paper; their frames bring the margin. */
export function drawingPage(title: string, figures: readonly Figure[], paper: Paper): string {
  const [width, height] = SIZES[paper];
  const style =
    `@page{size:${width}mm ${height}mm;margin:0}body{margin:0}` +
    `div{width:${width}mm;height:${height - 0.5}mm;break-after:page;overflow:hidden}div:last-of-type{break-after:auto}svg{width:100%;height:100%}`;
  return htmlFile(
    html(
      'html',
      { lang: 'en' },
      html('head', {}, html('meta', { charset: 'utf-8' }), html('title', {}, title), Markup.style(style)),
      html('body', {}, ...figures.map(({ picture }) => html('div', {}, picture))),
    ),
  );
}
