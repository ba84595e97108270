import type { Analysis, AnalysedDesign } from '../analyse/types.js';
import type { LaidOutDrawing, Stamp } from '../draw/index.js';
import type { DesignContext } from '../model/context.js';
import type { System } from '../model/types.js';
import type { Cells } from './cells.js';

/** What every sheet is made of. */
export interface SheetInput {
  readonly analysis: Analysis;
  readonly design: AnalysedDesign;
  readonly system: System;
  readonly context: DesignContext;
  readonly drawn: LaidOutDrawing;
  readonly stamp: Stamp;
  readonly cells: Cells;
}
