import type { Analysis } from '../analyse/types.js';
import type { Place } from '../derivation/index.js';
import { edited } from '../propose/edits.js';
import { type Effort, PLAYED } from '../propose/effort.js';
import { finished } from '../simulate/index.js';
import { type Ground, analyseAs } from '../propose/trial.js';
import type { OpenValue } from './open-values.js';
import { type Said, saidBy } from './told.js';

/** A text for each hole, in their order; undefined where it stays open. */
export type Filling = readonly (string | undefined)[];

/** How far a filling is tried: by some checks, by all of them, or with its rules and scenarios played as well. */
export type Depth = 'suspects' | 'judged' | 'played';

export interface Trial {
  readonly analysis: Analysis;
  readonly said: Said;
}

/** What a trial of some checks costs beside one of all. */
const SHARE_OF_SOME = 0.25;
/** Trials that are kept whole; of older ones only what was said. */
const MOST_KEPT = 400;

/** Fillings of one design, each put into the text and analysed as any other text would be. */
export class Trials {
  private readonly text: string;
  private readonly kept = new Map<string, Trial>();

  constructor(
    private readonly ground: Ground,
    private readonly open: readonly OpenValue[],
    private readonly designs: (name: string) => boolean,
    /** Things of the designs that are judged. */
    private readonly things: number,
    readonly effort: Effort,
    /** What is written besides in every trial, such as facts that are tried out. */
    private readonly besides: readonly { readonly start: number; readonly end: number; readonly text: string }[] = [],
  ) {
    this.text = ground.document.textDocument.getText();
  }

  /** The same fillings with more written besides. */
  with(besides: readonly { readonly start: number; readonly end: number; readonly text: string }[]): Trials {
    return new Trials(this.ground, this.open, this.designs, this.things, this.effort, besides);
  }

  textOf(filling: Filling): string {
    const edits = this.open.flatMap(({ place }, index) => {
      const text = filling[index];
      return text === undefined ? [] : [{ start: place.offset, end: place.end, text }];
    });
    return edited(this.text, [...edits, ...this.besides]);
  }

  /** Where a place in the text of a filling stands in the text as it is written; within a hole it is the hole. */
  written(filling: Filling, place: Place): Place {
    if (place.uri !== this.ground.document.uri.toString()) return place;
    const offset = this.writtenOffset(filling, place.offset, 'start');
    const end = this.writtenOffset(filling, place.end, 'end');
    const [from, to] = [offset, end].map((at) => this.ground.document.textDocument.positionAt(at));
    const { line, character } = from!;
    return { uri: place.uri, offset, end, line, character, endLine: to!.line, endCharacter: to!.character };
  }

  /** Whether a place in the text as it is written is that of a hole. */
  isOpen({ uri, offset, end }: Place): boolean {
    return this.open.some(({ place }) => place.uri === uri && place.offset === offset && place.end === end);
  }

  private writtenOffset(filling: Filling, offset: number, side: 'start' | 'end'): number {
    let shift = 0;
    for (const [index, { place }] of this.open.entries()) {
      const text = filling[index];
      if (text === undefined) continue;
      const start = place.offset + shift;
      const end = start + text.length;
      if (side === 'start' ? offset < start : offset <= start) break;
      if (side === 'start' ? offset < end : offset <= end) return side === 'start' ? place.offset : place.end;
      shift += text.length - (place.end - place.offset);
    }
    return offset - shift;
  }

  try(filling: Filling, depth: Depth, suspects?: ReadonlySet<string>): Trial {
    const own = JSON.stringify(filling);
    const key = depth === 'suspects' ? `${own} ${[...(suspects ?? [])].sort().join()}` : `${depth} ${own}`;
    const kept = this.kept.get(key);
    if (kept) return kept;
    if (depth === 'played') return finished(this.playing(filling));
    this.effort.spend(this.things * (depth === 'judged' ? 1 : SHARE_OF_SOME));
    const isAsked = depth === 'suspects' && suspects ? { checks: (id: string) => suspects.has(id) } : {};
    const ground = { ...this.ground, options: { ...this.ground.options, ...isAsked } };
    const analysis = analyseAs(this.textOf(filling), ground, this.designs, 'leave');
    return this.keep(key, filling, analysis);
  }

  /** A filling with its rules and scenarios played. Yields in between, since that may take long; asked again it is at hand. */
  *playing(filling: Filling): Generator<void, Trial> {
    const key = `played:${JSON.stringify(filling)}`;
    const kept = this.kept.get(key);
    if (kept) return kept;
    const { analysis } = this.try(filling, 'judged');
    this.effort.spend(this.things * PLAYED);
    const steps = analysis.unplayed?.play();
    for (;;) {
      const step = steps?.next();
      if (!step || step.done) return this.keep(key, filling, step?.value ?? analysis);
      yield;
    }
  }

  private keep(key: string, filling: Filling, analysis: Analysis): Trial {
    const trial = { analysis, said: saidBy(analysis, (place) => this.written(filling, place)) };
    this.kept.set(key, trial);
    if (this.kept.size > MOST_KEPT) this.kept.delete(this.kept.keys().next().value!);
    return trial;
  }
}
