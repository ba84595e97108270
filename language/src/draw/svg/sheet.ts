import type { Drawing, DrawnState, Note, Stamp } from '../model/drawing.js';
import type { Placed } from '../layout/place.js';
import { LINE, TEXT, textWidth, wrapped } from '../layout/measure.js';
import { BOND_HEIGHT } from '../layout/sizes.js';
import { BOND, SYMBOLS } from '../symbols/shapes.js';
import { type Markup, element } from '../../markup/element.js';
import { INK, WEIGHT, markBlock, words } from './ink.js';
import { diagram, drawShape } from './diagram.js';

/** Units of the picture in a millimetre. */
export const PER_MM = 4;
/** Margin of the frame: 10 mm. */
export const MARGIN = 40;
/** Room between the frame and what is inside. */
export const INSET = 24;
/** Least width of a sheet: that of A3 laid across (420 mm). */
const LEAST_WIDTH = 1680;
export const BLOCK = { width: 720, row: 34 } as const;
const LEGEND = { column: 260, row: 44 } as const;
const HEADING = 20;

/** A sheet as an element, and the room it takes. */
export interface Sheet {
  readonly width: number;
  readonly height: number;
  readonly draw: (x: number, y: number) => Markup;
}

export interface SheetOptions {
  readonly drawing: Drawing;
  readonly placed: Placed;
  readonly stamp: Stamp;
  /** The state it shows; absent on the sheet of the whole. */
  readonly state?: DrawnState;
  readonly number: number;
  readonly count: number;
}

/** One sheet: title, diagram, legend and findings, cautions, title block. */
export function sheet(options: SheetOptions): Sheet {
  const { drawing, placed, state } = options;
  const width = Math.max(LEAST_WIDTH, placed.width + 2 * (MARGIN + INSET));
  const inner = width - 2 * (MARGIN + INSET);
  const legendRows = legendEntries(drawing);
  const columns = Math.max(1, Math.floor((inner - BLOCK.width - INSET) / LEGEND.column));
  const legendHeight = state ? 0 : LINE + 10 + Math.ceil(legendRows.length / columns) * LEGEND.row;
  const blockRows = titleRows(options);
  const blockHeight = blockRows.length * BLOCK.row;
  const notes = state ? [] : noteLines(drawing.notes, inner);
  const notesHeight = notes.length > 0 ? LINE + 10 + notes.length * LINE + INSET : 0;
  const top = MARGIN + INSET + HEADING + 30;
  const footTop = top + placed.height + INSET * 2;
  // The caution is beside the title block.
  const caution = wrapped(drawing.caution, inner - BLOCK.width, 13);
  const more = (caution.length - 1) * LINE;
  const height = footTop + notesHeight + Math.max(legendHeight, blockHeight) + INSET + LINE + INSET + MARGIN + more;
  const left = MARGIN + INSET;
  return {
    width,
    height,
    draw: (x, y) => {
      const foot = footTop + notesHeight;
      const blockTop = foot + Math.max(legendHeight, blockHeight) - blockHeight;
      return element(
        'g',
        { class: 'sheet', transform: `translate(${x} ${y})` },
        element('rect', { x: 0, y: 0, width, height, fill: INK.paper }),
        element('rect', {
          x: MARGIN,
          y: MARGIN,
          width: width - 2 * MARGIN,
          height: height - 2 * MARGIN,
          fill: 'none',
          stroke: INK.live,
          'stroke-width': WEIGHT.frame,
        }),
        words(
          `${drawing.changes === undefined ? 'Single-line diagram' : 'What a change does'}: ${drawing.title}`,
          left,
          MARGIN + INSET + HEADING,
          {
            size: HEADING,
            'font-weight': 'bold',
          },
        ),
        words(
          state
            ? `State: ${state.title}. Full ink: live. Pale: dead. Arrows: largest current and power that can flow.`
            : drawing.changes === undefined
              ? 'Ratings and design currents of all states. Devices are drawn open, without supply.'
              : `${drawing.changes}. + new: double frame. ± changed: tinted, with what was changed. → affected: plain frame, only numbers moved. − removed: pale and dashed.`,
          left,
          MARGIN + INSET + HEADING + 22,
        ),
        element(
          'g',
          {
            transform: `translate(${left + Math.max(0, Math.round((inner - placed.width) / 20) * 10)} ${top + INSET})`,
          },
          diagram(drawing, placed, state),
        ),
        ...noteBlock(notes, left, footTop),
        ...(state ? [] : [element('g', { class: 'legend' }, ...legend(drawing, legendRows, left, foot, columns))]),
        ...titleBlock(blockRows, width - MARGIN - BLOCK.width, blockTop + INSET + LINE + INSET + more),
        ...caution.map((text, index) =>
          words(text, left, height - MARGIN - INSET + 6 - more + index * LINE, { size: 13 }),
        ),
      );
    },
  };
}

interface LegendEntry {
  readonly title: string;
  readonly draw: (x: number, y: number) => Markup;
}

const stroke = (d: string, width: number, dashes?: string): Markup =>
  element('path', { d, fill: 'none', stroke: INK.live, 'stroke-width': width, 'stroke-dasharray': dashes });

function legendEntries({ symbols, stretches, links, manner }: Drawing): readonly LegendEntry[] {
  const used = new Set(symbols.map(({ symbol }) => symbol));
  const entries: LegendEntry[] = (Object.keys(SYMBOLS) as (keyof typeof SYMBOLS)[])
    .filter((name) => used.has(name))
    .map((name) => ({
      title: SYMBOLS[name].title,
      draw: (x, y) =>
        name === 'bus'
          ? stroke(`M${x} ${y - 16}V${y + 16}`, WEIGHT.bar)
          : drawShape(SYMBOLS[name][manner], x, y, INK.live),
    }));
  const carried = new Set(stretches.map(({ carries }) => carries));
  const line = (title: string, width: number, dashes?: string): LegendEntry => ({
    title,
    draw: (x, y) => stroke(`M${x - 30} ${y}H${x + 30}`, width, dashes),
  });
  if (carried.has('ac')) entries.push(line('Alternating current (AC): fine line', WEIGHT.alternating));
  if (carried.has('dc')) entries.push(line('Direct current (DC): thick', WEIGHT.direct));
  if (links.length > 0) entries.push(line('Communication link', WEIGHT.link, '7 4'));
  if (symbols.some(({ canBond }) => canBond))
    entries.push({
      title: `Neutral bonded to ${manner === 'iec' ? 'earth' : 'ground'}`,
      draw: (x, y) => drawShape(BOND, x, y - BOND_HEIGHT / 2 + 2, INK.live),
    });
  return entries;
}

function legend(drawing: Drawing, entries: readonly LegendEntry[], x: number, y: number, columns: number): Markup[] {
  const manner = drawing.manner === 'iec' ? 'IEC 60617' : 'IEEE 315';
  return [
    words(`Symbols, in the manner of ${manner}. Italics: assumed. Underlined: not stated.`, x, y + 14, {
      'font-weight': 'bold',
    }),
    ...entries.flatMap(({ title, draw }, index) => {
      const left = x + (index % columns) * LEGEND.column;
      const middle = y + LINE + 10 + Math.floor(index / columns) * LEGEND.row + LEGEND.row / 2;
      const lines = wrapped(title, LEGEND.column - 90);
      return [
        draw(left + 32, middle),
        ...lines.map((text, row) => words(text, left + 76, middle + 5 + (row - (lines.length - 1) / 2) * 16)),
      ];
    }),
  ];
}

interface NoteLine {
  readonly note?: Note;
  readonly text: string;
  readonly indent: number;
}

const NOTE_INDENT = 24;

function noteLines(notes: readonly Note[], width: number): NoteLine[] {
  return notes.flatMap((note) =>
    wrapped(`${note.id}  ${note.subject}: ${note.text}`, width - NOTE_INDENT).map((text, index): NoteLine => ({
      ...(index === 0 ? { note } : {}),
      text,
      indent: NOTE_INDENT,
    })),
  );
}

function noteBlock(notes: readonly NoteLine[], x: number, y: number): Markup[] {
  if (notes.length === 0) return [];
  return [
    words('Findings', x, y + 14, { 'font-weight': 'bold' }),
    ...notes.flatMap(({ note, text, indent }, index) => {
      const top = y + LINE + 10 + index * LINE;
      return [
        ...(note ? markBlock([{ severity: note.severity, text: '' }], x, top) : []),
        words(text, x + indent, top + 14),
      ];
    }),
  ];
}

type Cell = readonly [name: string, value: string];

/** Fields after ISO 7200, from memory; what nobody stated is a box to fill in. */
export function titleRows({
  drawing,
  stamp,
  state,
  number,
  count,
}: Omit<SheetOptions, 'placed'>): readonly (readonly Cell[])[] {
  const commit = stamp.commit ? `${stamp.commit}${stamp.isChanged ? ' with uncommitted changes' : ''}` : '';
  return [
    [
      ['Title', drawing.title],
      [
        'Document',
        drawing.changes === undefined
          ? `Single-line diagram${state ? ', one state' : ''}`
          : 'Comparison of two states of the design',
      ],
    ],
    [
      ['Design', drawing.variantOf ? `${drawing.design} (variant of ${drawing.variantOf})` : drawing.design],
      ['State', state?.title ?? 'all states'],
    ],
    [
      ['Rules', drawing.basis],
      ['Revision', [drawing.revision, commit].filter(Boolean).join('  ')],
      ['Date', stamp.date ?? ''],
    ],
    [
      ['Drawn by', [drawing.author, stamp.tool].filter(Boolean).join(', with ')],
      ['Checked by', drawing.checkedBy ?? ''],
      ['Sheet', `${number} of ${count}`],
    ],
  ];
}

/** Sizes of words in the title block: 2.5 mm, then 1.8 mm, the next of the series of ISO 3098. */
const BLOCK_SIZES = [TEXT, 10] as const;

/** A text in the largest size in which it fits; in the smallest as much of it as fits, with a sign where some is left out. */
function fitting(text: string, width: number): { readonly text: string; readonly size: number } {
  const size = BLOCK_SIZES.find((each) => textWidth(text, each) <= width);
  if (size !== undefined) return { text, size };
  const least = BLOCK_SIZES.at(-1)!;
  let short = [...text];
  while (short.length > 0 && textWidth(`${short.join('')}…`, least) > width) short = short.slice(0, -1);
  return { text: `${short.join('')}…`, size: least };
}

export function titleBlock(rows: readonly (readonly Cell[])[], x: number, y: number): Markup[] {
  return rows.flatMap((row, index) => {
    const top = y + index * BLOCK.row;
    const width = BLOCK.width / row.length;
    return row.flatMap(([name, value], column) => {
      const left = x + column * width;
      const shown = fitting(value, width - 12);
      return [
        element('rect', {
          x: left,
          y: top,
          width,
          height: BLOCK.row,
          fill: INK.paper,
          stroke: INK.live,
          'stroke-width': WEIGHT.symbol,
        }),
        words(name, left + 6, top + 12, { size: 10, fill: INK.deadText }),
        words(shown.text, left + 6, top + 27, { size: shown.size }),
      ];
    });
  });
}
