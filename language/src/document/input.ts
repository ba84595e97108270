import type { Analysis, AnalysedDesign } from '../analyse/types.js';
import type { LaidOutDrawing, Stamp } from '../draw/index.js';
import type { DesignContext } from '../model/context.js';
import type { System } from '../model/types.js';
import type { Cells } from './cells.js';

/** A value that the text leaves open, and what is known of it. */
export interface LeftOpen {
  /** `InvFeed.size`. */
  readonly path: string;
  /** The best value that every check and requirement lets stand, proven by the checks themselves; absent where none was found. */
  readonly value?: string;
  /** What keeps it from being one that is wanted more, or why there is none. */
  readonly because: string;
}

/** What every sheet is made of. */
export interface SheetInput {
  readonly analysis: Analysis;
  readonly design: AnalysedDesign;
  readonly system: System;
  readonly context: DesignContext;
  readonly drawn: LaidOutDrawing;
  readonly stamp: Stamp;
  readonly cells: Cells;
  readonly leftOpen: readonly LeftOpen[];
}
