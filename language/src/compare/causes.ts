import type { Derivation, Place } from '../derivation/index.js';
import type { DesignEdit } from './types.js';

/** Something that edits can be told of by where they stand. */
interface Marked {
  readonly id: string;
  readonly uri: string;
  readonly from: number;
  readonly to: number;
}

const NONE: ReadonlySet<string> = new Set();

/**
 * Tells which edits moved a number: its derivation is walked down, on each side, to the stated values whose places are those of an edit. What
 * is nowhere in a derivation has not moved the number.
 */
export class Causes {
  private readonly before: readonly Marked[];
  private readonly after: readonly Marked[];
  private readonly basis: readonly string[];
  private readonly known = new Map<Derivation, ReadonlySet<string>>();

  constructor(
    private readonly edits: readonly DesignEdit[],
    /** Places of whole things that are on one side only, with the id of the edit that added or removed them. */
    wholes: readonly { readonly id: string; readonly side: 'before' | 'after'; readonly place: Place }[],
    /** Names of the conductors after the change. */
    private readonly runs: ReadonlySet<string>,
  ) {
    const marks = (side: 'before' | 'after'): Marked[] => [
      ...edits.flatMap((edit) =>
        [
          { id: edit.id, place: edit[side]?.place },
          ...edit.properties.map((each) => ({ id: `${edit.id}/${each.property}`, place: each[side]?.place })),
        ].flatMap(({ id, place }) => (place ? [markOf(id, place)] : [])),
      ),
      ...wholes.filter((each) => each.side === side).map(({ id, place }) => markOf(id, place)),
    ];
    this.before = marks('before');
    this.after = marks('after');
    this.basis = edits.filter(({ kind }) => kind === 'basis').map(({ id }) => id);
  }

  /** Ids of the edits that moved a number, in their order; of another part the property as well: `e2/rated`. */
  of(before: readonly (Derivation | undefined)[], after: readonly (Derivation | undefined)[]): string[] {
    const found = new Set<string>();
    for (const each of before) if (each) for (const id of this.within(each, this.before)) found.add(id);
    for (const each of after) if (each) for (const id of this.within(each, this.after)) found.add(id);
    const order = this.edits.flatMap(({ id, properties }) => [
      id,
      ...properties.map(({ property }) => `${id}/${property}`),
    ]);
    return order.filter((id) => found.has(id));
  }

  /**
   * Edits that a play may follow: nothing of it is derived, so that any of them may have moved it. What decides when something starts
   * comes first, then what was exchanged, then single values, those of conductors last: a reader looks there in this order.
   */
  get played(): string[] {
    const played = this.edits.filter(({ isPlayed }) => isPlayed);
    return played.sort((one, other) => this.likelihood(one) - this.likelihood(other)).map(({ id }) => id);
  }

  private likelihood({ kind, subject }: DesignEdit): number {
    if (kind === 'rule' || kind === 'scenario') return 0;
    if (kind !== 'value') return 1;
    return this.runs.has(subject) ? 3 : 2;
  }

  private within(derivation: Derivation, marks: readonly Marked[]): ReadonlySet<string> {
    const kept = this.known.get(derivation);
    if (kept) return kept;
    this.known.set(derivation, NONE);
    const found = new Set<string>();
    const { place, source, inputs } = derivation;
    if (place)
      for (const { id, uri, from, to } of marks)
        if (place.uri === uri && place.offset >= from && place.end <= to) found.add(id);
    // Another edition of the rules is another table.
    if (source) for (const id of this.basis) found.add(id);
    for (const input of inputs) for (const id of this.within(input, marks)) found.add(id);
    this.known.set(derivation, found);
    return found;
  }
}

const markOf = (id: string, { uri, offset, end }: Place): Marked => ({ id, uri, from: offset, to: end });
