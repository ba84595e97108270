import { Refilled, isPlain } from '../analyse/refilled.js';
import type { Analysis } from '../analyse/types.js';
import type { Place } from '../derivation/index.js';
import { edited } from '../propose/edits.js';
import { type Effort, PLAYED } from '../propose/effort.js';
import { finished } from '../simulate/index.js';
import { type Ground, analyseAs, readAs } from '../propose/trial.js';
import { type OpenValue, openValues } from './open-values.js';
import { type PriceOf, priceOf } from './price.js';
import { type Said, type Written, differing, saidBy } from './told.js';
import { WrittenValues } from './written-values.js';

/** A text for each hole, in their order; undefined where it stays open. */
export type Filling = readonly (string | undefined)[];

/** How far a filling is tried: by some checks, by all of them, or with its rules and scenarios played as well. */
export type Depth = 'suspects' | 'judged' | 'played';

/** What an analysis says, without the systems it says it of. */
export type Judgement = Omit<Analysis, 'designs'>;

export interface Trial {
  readonly analysis: Judgement;
  readonly said: Said;
  readonly price: PriceOf;
  /** Where its places stand in the text as it is written. */
  readonly written: Written;
}

/** What a trial of some checks costs beside one of all. */
const SHARE_OF_SOME = 0.25;
/** Trials that are kept whole; of older ones only what was said. */
const MOST_KEPT = 400;
/** Texts that are kept with values going in and out of them. */
const MOST_REFILLED = 4;

/** A text in which values go in and out. */
interface Going {
  readonly refilled: Refilled;
  /** Holes, by their number, whose values go in and out, in the order of `refilled`. */
  readonly holes: readonly number[];
}

/**
 * Fillings of one design, each analysed as any other text would be: put into the text, or, where a value changes nothing but the property
 * that is open, put into the systems that were read of it, which comes to the same in a fraction of the time.
 */
export class Trials {
  private readonly text: string;
  private readonly kept = new Map<string, Trial>();
  private readonly going = new Map<string, Going | 'none'>();
  private readonly values: WrittenValues;
  /** By hole whether a value changes nothing but what is open. */
  private readonly isPlain: readonly boolean[];

  constructor(
    private readonly ground: Ground,
    private readonly open: readonly OpenValue[],
    private readonly designs: (name: string) => boolean,
    /** Things of the designs that are judged. */
    private readonly things: number,
    readonly effort: Effort,
    /** What is written besides in every trial, such as facts that are tried out. */
    private readonly besides: readonly { readonly start: number; readonly end: number; readonly text: string }[] = [],
    /** Whether values may go into the systems instead of the text. */
    private readonly isQuick = true,
  ) {
    this.text = ground.document.textDocument.getText();
    this.values = new WrittenValues(ground);
    this.isPlain = open.map(
      ({ of }) =>
        isQuick && of.kind === 'property' && of.thingKind !== undefined && isPlain(of, of.thingKind, ground.document),
    );
  }

  /** The same fillings with more written besides. */
  with(besides: readonly { readonly start: number; readonly end: number; readonly text: string }[]): Trials {
    return new Trials(this.ground, this.open, this.designs, this.things, this.effort, besides, this.isQuick);
  }

  /** The same fillings, each put into the text. */
  slowly(): Trials {
    return new Trials(this.ground, this.open, this.designs, this.things, this.effort, this.besides, false);
  }

  get uri(): string {
    return this.ground.document.uri.toString();
  }

  textOf(filling: Filling): string {
    const edits = this.open.flatMap(({ place }, index) => {
      const text = filling[index];
      return text === undefined ? [] : [{ start: place.offset, end: place.end, text }];
    });
    return edited(this.text, [...edits, ...this.besides]);
  }

  /** Where a place in the text of a filling stands in the text as it is written; within a hole it is the hole. */
  private written(filling: Filling, place: Place): Place {
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
    const isAsked = depth === 'suspects' && suspects ? (id: string) => suspects.has(id) : undefined;
    const going = this.goingFor(filling);
    const quick = going?.refilled.judged(
      going.holes.map((hole) => filling[hole]),
      isAsked,
    );
    if (quick) return this.keep(key, this.around(filling), quick);
    return this.keep(key, filling, this.whole(filling, isAsked));
  }

  /** The whole analysis of a filling, put into the text. */
  whole(filling: Filling, isAsked?: (check: string) => boolean): Analysis {
    const options = { ...this.ground.options, ...(isAsked ? { checks: isAsked } : {}) };
    return analyseAs(this.textOf(filling), { ...this.ground, options }, this.designs, 'leave');
  }

  /** Whether the text of a filling says what its trial has said. */
  isTrue(filling: Filling): boolean {
    if (!this.goingFor(filling)) return true;
    const { said } = this.try(filling, 'judged');
    const whole = saidBy(this.whole(filling), (place) => this.written(filling, place));
    return differing(said, whole).length === 0;
  }

  /** The text in which the values of plain holes go in and out, those of the others being written; undefined where there is none. */
  private goingFor(filling: Filling): Going | undefined {
    if (!this.isPlain.includes(true)) return undefined;
    const around = this.around(filling);
    const key = JSON.stringify(around);
    let going = this.going.get(key);
    if (!going) {
      this.going.set(key, (going = this.begin(around) ?? 'none'));
      if (this.going.size > MOST_REFILLED) this.going.delete(this.going.keys().next().value!);
    }
    return going === 'none' ? undefined : going;
  }

  /** A filling in which plain holes are open. */
  private around(filling: Filling): Filling {
    return filling.map((text, hole) => (this.isPlain[hole] ? undefined : text));
  }

  private begin(around: Filling): Going | undefined {
    const { services, options } = this.ground;
    // Where all of it stays open the text is the one that has been read.
    const isAsWritten = this.besides.length === 0 && around.every((text) => text === undefined);
    const document = isAsWritten ? this.ground.document : readAs(this.textOf(around), this.ground);
    const found = new Map(
      openValues(document.parseResult.value, document.uri.toString()).flatMap(({ values }) =>
        values.map((each) => [each.path, each] as const),
      ),
    );
    const holes = [...this.open.keys()].filter((hole) => this.isPlain[hole]);
    const open = holes.flatMap((hole) => {
      const value = found.get(this.open[hole]!.path);
      return value?.of.kind === 'property' ? [{ ...value.of, place: value.place }] : [];
    });
    if (open.length < holes.length) return undefined;
    const refilled = new Refilled(
      document,
      services,
      open,
      { ...options, designs: this.designs, scenarios: 'leave' },
      (thing, property, text) => this.values.of(thing.kind, property, text),
    );
    return { refilled, holes };
  }

  /** A filling with its rules and scenarios played. Yields in between, since that may take long; asked again it is at hand. */
  *playing(filling: Filling): Generator<void, Trial> {
    const key = `played:${JSON.stringify(filling)}`;
    const kept = this.kept.get(key);
    if (kept) return kept;
    const analysis = this.whole(filling);
    this.effort.spend(this.things * PLAYED);
    const steps = analysis.unplayed?.play();
    for (;;) {
      const step = steps?.next();
      if (!step || step.done) return this.keep(key, filling, step?.value ?? analysis);
      yield;
    }
  }

  private keep(key: string, filling: Filling, analysis: Analysis): Trial {
    const written: Written = (place) => this.written(filling, place);
    const trial = { analysis, said: saidBy(analysis, written), price: priceOf(analysis), written };
    this.kept.set(key, trial);
    if (this.kept.size > MOST_KEPT) this.kept.delete(this.kept.keys().next().value!);
    return trial;
  }
}
