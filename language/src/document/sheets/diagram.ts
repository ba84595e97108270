import { described, drawingFigures } from '../../draw/svg/write.js';
import type { SheetInput } from '../input.js';
import type { Sheet } from '../sheet.js';

/** For everybody: the single-line diagram, whole and in every state. */
export function diagramSheet({ drawn: { drawing, placed }, stamp }: SheetInput): Sheet {
  return {
    name: 'diagram',
    title: 'Single-line diagram',
    reader: 'designer, installer and inspector',
    isWide: true,
    blocks: [
      ...drawingFigures(drawing, placed, { stamp, sheets: 'all' }).map(({ title, picture }, index) => ({
        kind: 'figure' as const,
        title,
        picture,
        description: index === 0 ? described(drawing) : '',
      })),
    ],
  };
}
