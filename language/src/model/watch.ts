import type { Property } from './types.js';

/** Values that can be told from each other; any further ones count as one. */
const MOST_TOLD_APART = 31;

/** A set of watched values, one bit for each. */
export type Watched = number;

export const NONE_WATCHED: Watched = 0;

/** The bit of the value with this number. */
export const watchedBit = (index: number): Watched => 1 << Math.min(index, MOST_TOLD_APART - 1);

/** Where something is kept by keys. */
export interface Keeping<K, V> {
  get(key: K): V | undefined;
  set(key: K, value: V): unknown;
  delete(key: K): boolean;
}

/**
 * Notes what looks at values that are going to change, so that a design in which one of them has changed is worked out anew where that was
 * looked at, and nowhere else. What is kept is kept with the values that were looked at while it was made.
 */
export class Watch {
  /** What has been looked at by what is being made just now. */
  private seen: Watched = NONE_WATCHED;
  private readonly looked = new Map<Keeping<unknown, unknown>, Map<unknown, Watched>>();

  note(values: Watched): void {
    this.seen |= values;
  }

  /** Makes something, and tells which values it looked at; whatever is being made around it has then looked at them too. */
  during<T>(make: () => T): { readonly made: T; readonly seen: Watched } {
    const around = this.seen;
    this.seen = NONE_WATCHED;
    try {
      const made = make();
      return { made, seen: this.seen };
    } finally {
      this.seen |= around;
    }
  }

  /** What is kept under a key is used: whoever uses it looks at all that it looked at. */
  reuse<K>(kept: Keeping<K, unknown>, key: K): void {
    const seen = this.looked.get(kept)?.get(key);
    if (seen !== undefined) this.seen |= seen;
  }

  /** The value of a key, made when it is first asked for, and again when something that it looked at has changed. */
  once<K, V>(kept: Keeping<K, V>, key: K, make: () => V): V {
    const before = kept.get(key);
    if (before !== undefined) {
      this.reuse(kept, key);
      return before;
    }
    const { made, seen } = this.during(make);
    kept.set(key, made);
    if (seen !== NONE_WATCHED) {
      const own = this.looked.get(kept);
      if (own) own.set(key, seen);
      else this.looked.set(kept, new Map([[key, seen]]));
    }
    return made;
  }

  /** Forgets everything that looked at one of these values. */
  forget(changed: Watched): void {
    for (const [kept, own] of this.looked)
      for (const [key, seen] of own)
        if ((seen & changed) !== 0) {
          kept.delete(key);
          own.delete(key);
        }
  }
}

/** The value of a key, made when it is first asked for; with a watch again where a watched value that it looked at has changed. */
export function madeOnce<K, V>(kept: Keeping<K, V>, key: K, make: () => V, watch?: Watch): V {
  if (watch) return watch.once(kept, key, make);
  let value = kept.get(key);
  if (value === undefined) kept.set(key, (value = make()));
  return value;
}

/** The properties of a thing, some of which are watched: whoever looks at these is noted. */
export class WatchedProperties extends Map<string, Property> {
  private readonly bits = new Map<string, Watched>();
  private all: Watched = NONE_WATCHED;

  constructor(
    properties: ReadonlyMap<string, Property>,
    private readonly watch: Watch,
  ) {
    super(properties);
  }

  /** Watches a property from now on, whether it has a value or not. */
  follow(name: string, bit: Watched): void {
    this.bits.set(name, (this.bits.get(name) ?? NONE_WATCHED) | bit);
    this.all |= bit;
  }

  /** Gives a watched property another value, or none. */
  put(name: string, property: Property | undefined): void {
    if (property) super.set(name, property);
    else super.delete(name);
  }

  override get(name: string): Property | undefined {
    this.look(name);
    return super.get(name);
  }

  override has(name: string): boolean {
    this.look(name);
    return super.has(name);
  }

  override get size(): number {
    this.lookAtAll();
    return super.size;
  }

  override entries(): MapIterator<[string, Property]> {
    this.lookAtAll();
    return super.entries();
  }

  override [Symbol.iterator](): MapIterator<[string, Property]> {
    return this.entries();
  }

  override keys(): MapIterator<string> {
    this.lookAtAll();
    return super.keys();
  }

  override values(): MapIterator<Property> {
    this.lookAtAll();
    return super.values();
  }

  override forEach(each: (property: Property, name: string, map: Map<string, Property>) => void): void {
    this.lookAtAll();
    super.forEach(each);
  }

  private look(name: string): void {
    const bit = this.bits.get(name);
    if (bit !== undefined) this.watch.note(bit);
  }

  private lookAtAll(): void {
    this.watch.note(this.all);
  }
}
