import type { Analysis, AnalysedDesign } from '../analyse/types.js';
import { buildDrawing } from './model/build.js';
import type { Drawing } from './model/drawing.js';
import type { LayoutEngine } from './layout/engine.js';
import { type Placed, type Positions, place } from './layout/place.js';
import { type DrawingChanges, changedDrawing } from './model/changed.js';

export { buildDrawing } from './model/build.js';
export { placeDrawing } from './placed.js';
export type { Drawing, DrawnState, DrawnSymbol, Stamp } from './model/drawing.js';
export type { DrawingChanges, ThingChange } from './model/changed.js';
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

/** One design of one side of a comparison. */
export interface DrawnSide {
  readonly analysis: Analysis;
  readonly design: AnalysedDesign;
}

/** Draws two states of a design as one: what stays, what is new, what was changed and what is gone. */
export async function drawChange(
  before: DrawnSide | undefined,
  after: DrawnSide,
  changes: DrawingChanges,
  engine: LayoutEngine,
): Promise<LaidOutDrawing> {
  const was = before && buildDrawing(before.analysis, before.design);
  const drawing = changedDrawing(was, buildDrawing(after.analysis, after.design), changes);
  return { drawing, placed: await place(drawing, engine, {}) };
}
