/** Rows of a block. */
const ROWS = 4096;
/** Stands for the times among the columns. */
const TIME = -1;

/**
 * Rows of time and values as they come, of the columns that somebody asks for. Rows stand one after the other in blocks, which never move;
 * columns are taken out when asked for.
 */
export class Recorder {
  length = 0;
  /** Positions of the columns among the values. */
  readonly columns: Int32Array;
  private readonly stride: number;
  private readonly blocks: Float64Array[] = [];
  private block: Float64Array;
  /** Where the next row goes in its block. */
  private next = 0;
  private readonly taken = new Map<number, Float64Array>();

  constructor(columns: readonly number[]) {
    this.columns = Int32Array.from(columns);
    this.stride = columns.length + 1;
    this.block = new Float64Array(ROWS * this.stride);
    this.blocks.push(this.block);
  }

  /** One of all columns up to a width. */
  static ofAll(width: number): Recorder {
    return new Recorder(Array.from({ length: width }, (_, at) => at));
  }

  /** Whether a column is kept. */
  holds(at: number): boolean {
    return this.columns.includes(at);
  }

  /** Adds a row of what is kept of all values. Times never fall. */
  push(time: number, values: Float64Array): void {
    if (this.next === this.block.length) {
      const at = this.length / ROWS;
      this.block = this.blocks[at] ??= new Float64Array(ROWS * this.stride);
      this.next = 0;
    }
    const { block, columns } = this;
    let to = this.next;
    block[to] = time;
    for (let at = 0; at < columns.length; at += 1) block[(to += 1)] = values[columns[at]!]!;
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
    return this.takeOut(TIME, 0);
  }

  /** The values of a column that is kept, in order of time. */
  column(at: number): Float64Array {
    const place = this.columns.indexOf(at);
    if (place < 0) throw new Error('a column is read that was not recorded');
    return this.takeOut(at, place + 1);
  }

  private takeOut(at: number, place: number): Float64Array {
    let values = this.taken.get(at);
    if (values?.length === this.length) return values;
    values = new Float64Array(this.length);
    for (let row = 0; row < this.length;) {
      const block = this.blocks[row / ROWS]!;
      const end = Math.min(this.length, row + ROWS);
      for (let from = place; row < end; row += 1, from += this.stride) values[row] = block[from]!;
    }
    this.taken.set(at, values);
    return values;
  }
}
