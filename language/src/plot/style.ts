import { LINES } from './panels.js';

interface Theme {
  readonly paper: string;
  readonly ink: string;
  readonly quiet: string;
  readonly grid: string;
  readonly lines: readonly string[];
  readonly run: string;
  readonly lost: string;
  readonly shed: string;
}

/** Words reach 4.5 to 1 on the paper, lines 3 to 1. */
const LIGHT: Theme = {
  paper: '#fdfdfb',
  ink: '#20303a',
  quiet: '#55626a',
  grid: '#dfe4e2',
  lines: ['#1b6b8f', '#b0561c', '#55772a', '#84468c', '#a8324e', '#3f6f68'],
  run: '#b0561c',
  lost: '#a8324e',
  shed: '#84468c',
};
const DARK: Theme = {
  paper: '#182026',
  ink: '#e4e9eb',
  quiet: '#a3b0b7',
  grid: '#34414a',
  lines: ['#6fbfe0', '#f0a068', '#a9ce73', '#d59fdd', '#f28ba2', '#8fcabf'],
  run: '#f0a068',
  lost: '#f28ba2',
  shed: '#d59fdd',
};

/** Dashes, so that lines can be told apart without colours. */
const DASHES = ['none', '7 3', '2 3', '9 3 2 3', '4 2', '1 2'];

const themed = ({ paper, ink, quiet, grid, lines, run, lost, shed }: Theme): string =>
  `text{fill:${ink}}.small{stroke:${paper}}.quiet{fill:${quiet}}.paper{fill:${paper}}.grid{stroke:${grid}}.threshold{stroke:${quiet}}.measured{stroke:${ink}}` +
  lines
    .slice(0, LINES)
    .map((colour, at) => `.l${at}{stroke:${colour}}.a${at}{fill:${colour}}`)
    .join('') +
  `.run{fill:${run}}.lost{fill:${lost}}.shed{fill:${shed}}`;

/** Colours are written out: not every viewer of pictures knows variables of style sheets. */
export const STYLE =
  `text{font:12px system-ui,sans-serif}.title{font-size:15px;font-weight:600}.small{font-size:10px;stroke-width:3;paint-order:stroke}.end{text-anchor:end}.mid{text-anchor:middle}` +
  `.grid{stroke-width:1;fill:none}.line{fill:none;stroke-width:1.6;stroke-linejoin:round}.area{fill-opacity:.3}` +
  `.threshold{stroke-width:.8;stroke-dasharray:3 3;fill:none}` +
  DASHES.map((dash, at) => `.l${at}{stroke-dasharray:${dash}}`).join('') +
  `.measured{stroke-dasharray:.1 3;stroke-linecap:round;stroke-width:2}` +
  themed(LIGHT) +
  `@media (prefers-color-scheme:dark){${themed(DARK)}}`;
