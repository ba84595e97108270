/** Rows of a block. */
const ROWS = 4096;

/** Rows of time and values as they come. Rows stand one after the other in blocks, which never move; columns are taken out when asked for. */
export class Recorder {
  length = 0;
  private readonly stride: number;
  private readonly blocks: Float64Array[] = [];
  private block: Float64Array;
  /** Where the next row goes in its block. */
  private next = 0;
  private readonly taken = new Map<number, Float64Array>();

  constructor(private readonly width: number) {
    this.stride = width + 1;
    this.block = new Float64Array(ROWS * this.stride);
    this.blocks.push(this.block);
  }

  /** Adds a row; `values` may hold more than the width, which is left out. Times never fall. */
  push(time: number, values: Float64Array): void {
    if (this.next === this.block.length) {
      const at = this.length / ROWS;
      this.block = this.blocks[at] ??= new Float64Array(ROWS * this.stride);
      this.next = 0;
    }
    const { block, width } = this;
    let to = this.next;
    block[to] = time;
    for (let at = 0; at < width; at += 1) block[(to += 1)] = values[at]!;
    this.next = to + 1;
    this.length += 1;
  }

  /** Starts again with the room there is. */
  clear(): void {
    this.length = 0;
    this.block = this.blocks[0]!;
    this.next = 0;
    this.taken.clear();
  }

  get time(): Float64Array {
    return this.column(-1);
  }

  /** The values of a column in order of time. */
  column(at: number): Float64Array {
    let values = this.taken.get(at);
    if (values?.length === this.length) return values;
    values = new Float64Array(this.length);
    for (let row = 0; row < this.length;) {
      const block = this.blocks[row / ROWS]!;
      const end = Math.min(this.length, row + ROWS);
      for (let from = at + 1; row < end; row += 1, from += this.stride) values[row] = block[from]!;
    }
    this.taken.set(at, values);
    return values;
  }
}
