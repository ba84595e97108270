import type { AnalysedDesign } from '../analyse/types.js';
import { type Markup, svgFile } from '../markup/element.js';
import { Cells } from './cells.js';
import { landingsByEnclosure } from './landings.js';
import { type WiringDrawing, drawWiring, wiringPicture } from './pictures/wiring-picture.js';

/** The wiring view of one enclosure of a design, or a part of it. */
export interface WiringView extends WiringDrawing {
  /** Undefined for what is in no enclosure. */
  readonly enclosure: string | undefined;
}

/** The wiring views of a design, enclosure by enclosure; none where it has no runs. */
export function wiringViews({ system, context }: AnalysedDesign): readonly WiringView[] {
  const cells = new Cells(context);
  return landingsByEnclosure(system, context).flatMap((group) =>
    drawWiring(group, cells).map((view) => ({ ...view, enclosure: group.enclosure })),
  );
}

/** Wiring views below each other as the text of an SVG file. */
export const writeWiring = (views: readonly WiringView[]): string => svgFile(wiringPicture(views));

/** Wiring views as pictures, each for a page of its own. */
export const wiringFigures = (views: readonly WiringView[]): { readonly title: string; readonly picture: Markup }[] =>
  views.map((view) => ({ title: view.title, picture: wiringPicture([view]) }));
