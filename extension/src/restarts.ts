/** A server that ends more often than this within the span is not started again by itself. */
const MOST_RESTARTS = 4;
const SPAN = 3 * 60 * 1000;

/** Decides whether a language server that has ended is started again, and whether the user has yet to be told. */
export class Restarts {
  private ends: number[] = [];
  private hasTold = false;

  /** The server ended at `now`, in ms. */
  ended(now: number): { readonly restart: boolean; readonly tell: boolean } {
    this.ends = [...this.ends, now].filter((end) => now - end <= SPAN);
    const restart = this.ends.length <= MOST_RESTARTS;
    // Once is enough for a server that is back before anyone notices; that it stays away is told each time.
    const tell = !restart || !this.hasTold;
    this.hasTold = true;
    // Started again by hand, it gets all its chances again.
    if (!restart) this.ends = [];
    return { restart, tell };
  }
}
