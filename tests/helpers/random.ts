/** A small generator of random numbers (mulberry32, public domain), so that every run can be repeated. */
export function random(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

/** Choices made with a generator of random numbers. */
export class Dice {
  private readonly next: () => number;

  constructor(seed: number) {
    this.next = random(seed);
  }

  between(low: number, high: number): number {
    return low + this.next() * (high - low);
  }

  /** Whole number from `low` to `high`, both included. */
  whole(low: number, high: number): number {
    return Math.floor(this.between(low, high + 1));
  }

  chance(share: number): boolean {
    return this.next() < share;
  }

  pick<T>(of: readonly T[]): T {
    return of[Math.floor(this.next() * of.length)]!;
  }
}
