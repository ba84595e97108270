/**
 * How much may be tried: a number of things judged again, not a time, so that the same text gives the same proposals on every machine.
 */
export class Effort {
  private left: number;

  constructor(things = Infinity) {
    this.left = things;
  }

  get isSpent(): boolean {
    return this.left <= 0;
  }

  spend(things: number): void {
    this.left -= things;
  }
}

/** Things judged again in about a second on an ordinary machine. */
export const A_SECOND = 200;

/** How many times the effort of judging a thing it takes where the rules and scenarios of its design are played again. */
export const PLAYED = 8;
