import type { DrawnSymbol, Mark, TextLine } from '../model/drawing.js';
import { type SymbolName, definitionOf } from '../symbols/shapes.js';
import { BODY, HALF, MODULE } from '../symbols/symbol.js';
import { LINE, lineWidth, textWidth } from './measure.js';

/** How far a body reaches up and down from its middle, where it is not as tall as a square. */
const REACH: Partial<Record<SymbolName, readonly [up: number, down: number]>> = {
  fuse: [10, 10],
  breaker: [14, 10],
  residualBreaker: [14, 22],
  switch: [14, 10],
  loadBreakSwitch: [17, 10],
  shunt: [16, 10],
  plug: [12, 12],
  outlet: [12, 12],
  shore: [12, 12],
  utility: [20, 20],
  load: [10, 10],
  lamp: [14, 14],
  wind: [32, 22],
  water: [32, 22],
  inverterCharger: [32, 22],
};

/** Room for the sign of a bond below a body. */
export const BOND_HEIGHT = 34;
/** Distance of lines that enter one side of a body. */
const BETWEEN_PORTS = 2 * MODULE;
/** Distance of lines at a bus, which have words above them. */
const AT_BUS = 4 * MODULE;
/** Room for the sign of severity before the words of a mark. */
export const MARK_INDENT = 18;

export const isBar = ({ symbol }: DrawnSymbol): boolean => symbol === 'bus';

/** Ends have their words beside them, everything else above. */
export const isWordedBeside = ({ symbol, ports }: DrawnSymbol): boolean =>
  definitionOf(symbol).isWordedBeside === true && !ports.some(({ side }) => side === 'right');

export interface Size {
  readonly width: number;
  readonly height: number;
}

export const markWidth = ({ text }: Mark): number => MARK_INDENT + textWidth(text);

/** Room that words and marks take, one line each. */
export const wordsSize = (lines: readonly TextLine[], marks: readonly Mark[]): Size => ({
  width: Math.max(0, ...lines.map(lineWidth), ...marks.map(markWidth)),
  height: (lines.length + marks.length) * LINE,
});

/** Widths are multiples of this, so that what stands below each other begins at one line mostly. */
export const COLUMN = 2 * MODULE;

export const up = (value: number, step = MODULE): number => Math.ceil(value / step) * step;

/** Where everything of a symbol lies, from the upper left corner of its room. */
export interface SymbolRoom extends Size {
  /** Middle of the body. */
  readonly x: number;
  readonly y: number;
  /** Upper left corner of its words. */
  readonly words: { readonly x: number; readonly y: number };
  /** Height of the lines on each side, from the middle, in the order of the ports. */
  readonly offsets: ReadonlyMap<string, number>;
}

export function roomOf(symbol: DrawnSymbol): SymbolRoom {
  const words = wordsSize(symbol.label, symbol.marks);
  const [above, below] = REACH[symbol.symbol] ?? [BODY + 2, BODY + 2];
  const foot = symbol.canBond ? BOND_HEIGHT : 0;
  const offsets = offsetsOf(symbol);
  if (isWordedBeside(symbol)) {
    const half = up(Math.max(above, below + foot, words.height / 2), 5);
    const width = up(2 * HALF + words.width);
    return {
      width,
      height: 2 * half,
      x: HALF,
      y: half,
      words: { x: HALF + (symbol.symbol === 'motor' ? 26 : 18), y: half - words.height / 2 },
      offsets,
    };
  }
  if (isBar(symbol)) {
    const count = (side: string): number => symbol.ports.filter((each) => each.side === side).length;
    const bar = Math.max(count('left'), count('right'), 1) * AT_BUS;
    return {
      width: 2 * MODULE,
      height: bar,
      x: MODULE,
      y: 0,
      words: { x: MODULE - words.width / 2, y: -words.height - 6 },
      offsets,
    };
  }
  const width = up(Math.max(2 * HALF, words.width + 6), COLUMN);
  const y = up(words.height + 4 + above);
  return {
    width,
    height: up(y + below + foot, 5),
    x: width / 2,
    y,
    words: { x: 0, y: y - above - 4 - words.height },
    offsets,
  };
}

/** Lines that enter one side are spread around the middle, in the order in which the ports were made. */
function offsetsOf({ ports }: DrawnSymbol): ReadonlyMap<string, number> {
  const offsets = new Map<string, number>();
  for (const side of ['left', 'right'] as const) {
    const own = ports.filter((each) => each.side === side);
    own.forEach(({ id }, index) => offsets.set(id, (index - (own.length - 1) / 2) * BETWEEN_PORTS));
  }
  return offsets;
}
