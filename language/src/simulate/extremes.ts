/** Lowest, highest, mean over time and last value of a column, with the times (s) of the first two. */
export interface Extremes {
  readonly min: number;
  readonly minAt: number;
  readonly max: number;
  readonly maxAt: number;
  readonly mean: number;
  readonly last: number;
}

/** Follows the extremes of columns row by row, so that nothing of the rows has to be kept. Values run straight between rows. */
export class ExtremesSoFar {
  private readonly min: Float64Array;
  private readonly minAt: Float64Array;
  private readonly max: Float64Array;
  private readonly maxAt: Float64Array;
  private readonly area: Float64Array;
  private readonly last: Float64Array;
  private begun = NaN;
  private time = NaN;

  constructor(private readonly width: number) {
    const perColumn = (): Float64Array => new Float64Array(width);
    [this.min, this.max] = [perColumn().fill(Infinity), perColumn().fill(-Infinity)];
    [this.minAt, this.maxAt, this.area, this.last] = [perColumn(), perColumn(), perColumn(), perColumn().fill(NaN)];
  }

  /** Adds a row; `values` may hold more than the width, which is left out. Times never fall. */
  push(time: number, values: Float64Array): void {
    const { width, min, minAt, max, maxAt, area, last } = this;
    const isFirst = Number.isNaN(this.begun);
    if (isFirst) this.begun = time;
    const half = isFirst ? 0 : (time - this.time) / 2;
    this.time = time;
    for (let at = 0; at < width; at += 1) {
      const value = values[at]!;
      if (half > 0) area[at]! += (value + last[at]!) * half;
      last[at] = value;
      if (value < min[at]!) {
        min[at] = value;
        minAt[at] = time;
      }
      if (value > max[at]!) {
        max[at] = value;
        maxAt[at] = time;
      }
    }
  }

  /** Those of each column. */
  get all(): readonly Extremes[] {
    const span = this.time - this.begun;
    return Array.from(this.last, (last, at) => ({
      min: this.min[at]!,
      minAt: this.minAt[at]!,
      max: this.max[at]!,
      maxAt: this.maxAt[at]!,
      mean: span > 0 ? this.area[at]! / span : last,
      last,
    }));
  }
}
