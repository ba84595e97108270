import {
  type Drawing,
  type Placed,
  type Positions,
  type WriteOptions,
  placeDrawing,
  readPositions,
  writeDrawing,
  writePositions,
} from '@wattwright/language';
import { layoutEngine } from './layout-engine.js';

/** What a worker is asked for: a drawing as it was sent by the language server, or the last one of the same view in another state. */
export interface PictureJob {
  readonly id: number;
  /** Which view it is for; each has a last drawing of its own. */
  readonly view: string;
  readonly drawing?: Drawing;
  /** Text of the file with kept positions beside the design. */
  readonly keptText?: string;
  /** Places of the picture that is shown, which hold the order of what they name. */
  readonly former?: Positions;
  readonly write: WriteOptions;
}

/** A worker is told where the things of a design are kept from now on, and answers the text of the file that holds it. */
export interface KeepJob {
  readonly id: number;
  readonly keep: { readonly design: string; readonly positions: Positions };
  /** Text of the file as it is. */
  readonly keptText?: string;
}

export type PictureAnswer =
  | { readonly id: number; readonly svg: string; readonly positions: Positions }
  | { readonly id: number; readonly text: string }
  | { readonly id: number; readonly fault: string };

/** Lays out drawings and writes them, one after the other. */
export class Pictures {
  private readonly engine = layoutEngine();
  private readonly last = new Map<string, { readonly drawing: Drawing; readonly placed: Placed }>();

  async answer(job: PictureJob | KeepJob): Promise<PictureAnswer> {
    if ('keep' in job) return withKept(job);
    const { id, view, drawing, write } = job;
    try {
      const laidOut = drawing
        ? { drawing, placed: await placeDrawing(drawing, this.engine, keptFor(drawing, job)) }
        : this.last.get(view);
      if (!laidOut) return { id, fault: 'There is no drawing yet.' };
      this.last.set(view, laidOut);
      return { id, svg: writeDrawing(laidOut.drawing, laidOut.placed, write), positions: laidOut.placed.positions };
    } catch (error) {
      return { id, fault: error instanceof Error ? error.message : String(error) };
    }
  }
}

/** Kept positions, and over them those of the picture that is shown. A file that cannot be read as positions is left alone: the command line tells it. */
function keptFor({ design, variantOf }: Drawing, { keptText, former }: PictureJob): Positions {
  const read = keptText === undefined ? undefined : readPositions(keptText);
  const positions = read && 'positions' in read ? read.positions : {};
  return { ...(positions[design] ?? positions[variantOf ?? '']), ...former };
}

/** The text of a file of positions with those of one design put in; one that cannot be read as positions is not written over. */
function withKept({ id, keep: { design, positions }, keptText }: KeepJob): PictureAnswer {
  const read = keptText === undefined ? { positions: {} } : readPositions(keptText);
  if ('wrong' in read) return { id, fault: `The file of positions is left as it is: ${read.wrong}.` };
  return { id, text: writePositions({ ...read.positions, [design]: positions }) };
}
