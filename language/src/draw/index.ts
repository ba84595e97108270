import type { Analysis, AnalysedDesign } from '../analyse/types.js';
import { buildDrawing } from './model/build.js';
import type { Drawing } from './model/drawing.js';
import type { LayoutEngine } from './layout/engine.js';
import { type Placed, type Positions, place } from './layout/place.js';

export { buildDrawing } from './model/build.js';
export { placeDrawing } from './placed.js';
export type { Drawing, DrawnState, DrawnSymbol, Stamp } from './model/drawing.js';
export type { LayoutEngine, LayoutNode } from './layout/engine.js';
export type { Placed, Positions } from './layout/place.js';
export { type KeptPositions, readPositions, writePositions } from './layout/positions.js';
export { type WriteOptions, writeDrawing } from './svg/write.js';

/** A design as a drawing in which everything has its place. */
export interface LaidOutDrawing {
  readonly drawing: Drawing;
  readonly placed: Placed;
}

/** Draws one design of an analysis, with the places kept from before where there are any. */
export async function drawDesign(
  analysis: Analysis,
  design: AnalysedDesign,
  engine: LayoutEngine,
  kept: Positions = {},
): Promise<LaidOutDrawing> {
  const drawing = buildDrawing(analysis, design);
  return { drawing, placed: await place(drawing, engine, kept) };
}
