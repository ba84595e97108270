import { finished } from './finished.js';
import { Recorder } from './recorder.js';
import type { Recorded } from './run-record.js';

/**
 * How a run went over time. Of most plays nobody reads more than a few columns, and those alone are kept; when another is read, the run is
 * played once more, which gives the same to the last bit, and all are kept from then on.
 */
export class Course implements Recorded {
  constructor(
    private kept: Recorder,
    private readonly width: number,
    private readonly again: (all: Recorder) => Generator<number, unknown>,
  ) {}

  get time(): Float64Array {
    return this.kept.time;
  }

  column(at: number): Float64Array {
    if (!this.kept.holds(at)) finished(this.completing());
    return this.kept.column(at);
  }

  /** Has all columns kept, piece by piece: yields the share that is done. At its end at once where they are. */
  *completing(): Generator<number, void> {
    if (this.kept.columns.length === this.width) return;
    const all = Recorder.ofAll(this.width);
    yield* this.again(all);
    this.kept = all;
  }

  /** Bytes of what is kept. */
  get bytes(): number {
    return this.kept.length * (1 + this.kept.columns.length) * Float64Array.BYTES_PER_ELEMENT;
  }
}
