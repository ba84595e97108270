/** Rows of time and values that grow as they come, column by column. */
export class Recorder {
  private times: Float64Array;
  private columns: Float64Array[];
  length = 0;

  constructor(width: number, room = 1024) {
    this.times = new Float64Array(room);
    this.columns = Array.from({ length: width }, () => new Float64Array(room));
  }

  push(time: number, values: Float64Array): void {
    if (this.length === this.times.length) this.grow();
    this.times[this.length] = time;
    for (let at = 0; at < this.columns.length; at += 1) this.columns[at]![this.length] = values[at]!;
    this.length += 1;
  }

  private grow(): void {
    const larger = (from: Float64Array): Float64Array => {
      const to = new Float64Array(2 * from.length);
      to.set(from);
      return to;
    };
    this.times = larger(this.times);
    this.columns = this.columns.map(larger);
  }

  /** Starts again with the room there is. */
  clear(): void {
    this.length = 0;
  }

  get time(): Float64Array {
    return this.times.subarray(0, this.length);
  }

  column(at: number): Float64Array {
    return this.columns[at]!.subarray(0, this.length);
  }
}
