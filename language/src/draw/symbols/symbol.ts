/** Side of one module of the drawing in units of the picture; on paper it is 2.5 mm. */
export const MODULE = 10;
/** Half of the length of a symbol, leads included: connections lie on whole modules. */
export const HALF = 3 * MODULE;
/** Half of the height of the tallest body. */
export const BODY = 2 * MODULE;

/** A word or letter inside a symbol, centred at a point. */
export interface SymbolText {
  readonly x: number;
  readonly y: number;
  readonly text: string;
  readonly size: number;
}

/**
 * One symbol as geometry, in the units of the picture around its own middle, for a line that runs from left to right. `strokes` and the
 * others are path data; leads reach out to ±HALF.
 */
export interface SymbolShape {
  readonly strokes: string;
  readonly fills?: string;
  readonly dashed?: string;
  readonly text?: readonly SymbolText[];
}

/** Which drawing practice: that of IEC 60617, or that of IEEE 315 and North American practice. Shapes are our own, in the manner of both. */
export type SymbolManner = 'iec' | 'ieee';

/** A symbol in both manners, with the words the legend gives it. */
export interface SymbolDefinition {
  readonly title: string;
  /** A square, to whose sides lines reach: it has no leads of its own. */
  readonly isSquare?: true;
  /** Its words stand behind it, where nothing follows. */
  readonly isWordedBeside?: true;
  readonly iec: SymbolShape;
  readonly ieee: SymbolShape;
}
