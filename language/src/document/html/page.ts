import { type Child, Markup, html, htmlFile } from '../../markup/element.js';
import type { HandoverSet } from '../set.js';
import type { Block, Cell, Sheet, Table } from '../sheet.js';
import { type SetPaper, paperOf, styleOf } from './style.js';

/** Nothing is fetched and nothing runs: the page says so itself. */
const POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:";

/** The hand-over set as one page without needs of any network, printed on the paper of its practice where no other is named. */
export function handoverPage(set: HandoverSet, paper: SetPaper = paperOf(set.practice)): string {
  const { title, stamp, hasErrors, sheets } = set;
  const name = set.variantOf ? `${title} (${set.design}, variant of ${set.variantOf})` : title;
  return htmlFile(
    html(
      'html',
      { lang: 'en' },
      html(
        'head',
        {},
        html('meta', { charset: 'utf-8' }),
        html('meta', { 'http-equiv': 'Content-Security-Policy', content: POLICY }),
        html('meta', { name: 'viewport', content: 'width=device-width, initial-scale=1' }),
        html('title', {}, `${name}: hand-over set`),
        Markup.style(styleOf(paper, stamp, hasErrors, sheets)),
      ),
      html(
        'body',
        {},
        html(
          'header',
          {},
          html('h1', {}, name),
          html('p', { class: 'stamp' }, stamp),
          ...(hasErrors
            ? [html('p', { class: 'errors' }, 'Has errors: not for construction. The summary lists them.')]
            : []),
        ),
        html(
          'nav',
          { 'aria-label': 'Sheets' },
          html(
            'ol',
            {},
            ...sheets.map((each) =>
              html('li', {}, html('a', { href: `#${each.name}` }, each.title), ` for ${readerText(each.reader)}`),
            ),
          ),
        ),
        html('main', {}, ...sheets.map((each) => sheetElement(each, sheets, hasErrors))),
      ),
    ),
  );
}

function sheetElement(sheet: Sheet, all: readonly Sheet[], hasErrors: boolean): Markup {
  const hasDerivations = all.some(({ name }) => name === 'derivations');
  return html(
    'section',
    { class: sheet.isWide ? 'sheet wide' : 'sheet', id: sheet.name, 'aria-labelledby': `${sheet.name}-title` },
    html('h2', { id: `${sheet.name}-title` }, sheet.title),
    html('p', { class: 'reader' }, `For: ${sheet.reader}.`),
    // On paper every page says it in its head.
    ...(hasErrors ? [html('p', { class: 'errors unprinted' }, 'Has errors: not for construction.')] : []),
    ...sheet.blocks.flatMap((block) => blockElements(block, sheet.title, hasDerivations)),
  );
}

const heading = (title: string | undefined): Markup[] => (title === undefined ? [] : [html('h3', {}, title)]);

function blockElements(block: Block, sheet: string, hasDerivations: boolean): Child[] {
  switch (block.kind) {
    case 'table':
      return [tableElement(block, sheet, hasDerivations)];
    case 'text':
      return [...heading(block.title), ...block.paragraphs.map((each) => html('p', {}, each))];
    case 'list':
      return [
        ...heading(block.title),
        html(block.isOrdered ? 'ol' : 'ul', {}, ...block.items.map((each) => html('li', {}, each))),
      ];
    case 'caution':
      return [
        html(
          'div',
          { class: 'caution', role: 'note' },
          html('strong', {}, 'Caution'),
          html('ul', {}, ...block.lines.map((each) => html('li', {}, each))),
        ),
      ];
    case 'figure':
      return [
        html(
          'figure',
          {},
          // On a phone a large picture is moved, not made too small to read.
          html(
            'div',
            { class: 'scroll', tabindex: 0, role: 'region', 'aria-label': `${sheet}: ${block.title}` },
            block.picture,
          ),
          html('figcaption', {}, block.title),
          ...(block.description ? [html('p', { class: 'hidden' }, block.description)] : []),
        ),
      ];
    case 'worked':
      return [
        html('h3', { id: `d${block.number}` }, `[${block.number}] ${block.title}`),
        html(
          'ul',
          { class: 'worked' },
          ...block.lines.map(({ depth, text, isValue }) =>
            html('li', { class: isValue ? 'step' : 'note', style: `padding-left:${Math.min(depth, 12)}em` }, text),
          ),
        ),
      ];
  }
}

/** A table of so few rows is not parted on paper. */
const SHORT_TABLE = 8;

function tableElement(table: Table, sheet: string, hasDerivations: boolean): Markup {
  const { title, rows, empty, isTurned } = table;
  if (rows.length === 0) return html('p', { class: 'none' }, html('strong', {}, `${title}: `), empty);
  return html(
    'div',
    // Two sheets may have a table of the same name.
    {
      class: isTurned || rows.length <= SHORT_TABLE ? 'scroll short' : 'scroll',
      tabindex: 0,
      role: 'region',
      'aria-label': `${sheet}: ${title}`,
    },
    html(
      'table',
      {},
      html('caption', {}, title),
      ...(isTurned ? turnedRows(table, hasDerivations) : uprightRows(table, hasDerivations)),
    ),
  );
}

const uprightRows = ({ columns, rows }: Table, hasDerivations: boolean): Markup[] => [
  html(
    'thead',
    {},
    html(
      'tr',
      {},
      ...columns.map((column) => html('th', { scope: 'col', class: column.isNumber ? 'n' : undefined }, column.title)),
    ),
  ),
  html(
    'tbody',
    {},
    ...rows.map((row) =>
      html('tr', {}, ...row.map((cell, index) => cellElement(cell, columns[index]!.isNumber === true, hasDerivations))),
    ),
  ),
];

/** Each thing is a column, each heading a row; the first column of the data names the things. */
const turnedRows = ({ columns: [first, ...others], rows }: Table, hasDerivations: boolean): Markup[] => [
  html(
    'thead',
    {},
    html(
      'tr',
      {},
      html('th', { scope: 'col' }, first!.title),
      ...rows.map(([cell]) => html('th', { scope: 'col' }, cell!.kind === 'box' ? '' : cell!.text)),
    ),
  ),
  html(
    'tbody',
    {},
    ...others.map((column, index) =>
      html(
        'tr',
        {},
        html('th', { scope: 'row' }, column.title),
        ...rows.map((row) => cellElement(row[index + 1]!, false, hasDerivations)),
      ),
    ),
  ),
];

/** `the owner`, but `whoever sets the devices`. */
const readerText = (reader: string): string =>
  reader.startsWith('who ') ? reader.replace('who', 'whoever') : `the ${reader}`;

/** A short value is not parted from its unit. */
const SHORT = 9;

function cellElement(cell: Cell, isNumber: boolean, hasDerivations: boolean): Markup {
  const number = isNumber ? 'n' : '';
  switch (cell.kind) {
    case 'text':
      return html(
        'td',
        { class: [number, cell.isAssumed ? 'assumed' : ''].filter(Boolean).join(' ') || undefined },
        cell.text,
      );
    case 'box':
      return html(
        'td',
        { class: 'box' },
        html('span', {}, cell.isSaidAbove ? '' : (cell.why ?? '')),
        html('span', { class: 'hidden' }, cell.why !== undefined && !cell.isSaidAbove ? '; to fill in' : 'to fill in'),
      );
    case 'value':
      return html(
        'td',
        { class: [number, cell.isAssumed ? 'assumed' : ''].filter(Boolean).join(' ') || undefined },
        html('span', { class: 'v' }, cell.text.length <= SHORT ? cell.text.replaceAll(' ', '\u00a0') : cell.text),
        ...(cell.derivation === undefined || !hasDerivations
          ? []
          : [' ', html('a', { href: `#d${cell.derivation}` }, `[${cell.derivation}]`)]),
      );
  }
}
