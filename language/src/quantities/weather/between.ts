/** The value at `x` on the straight lines through points, the ends held beyond them. */
export function between(xs: Float64Array, ys: Float64Array, x: number): number {
  let [low, high] = [0, xs.length - 1];
  if (x <= xs[low]!) return ys[low]!;
  if (x >= xs[high]!) return ys[high]!;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (xs[middle]! <= x) low = middle;
    else high = middle;
  }
  const span = xs[high]! - xs[low]!;
  return span > 0 ? ys[low]! + ((ys[high]! - ys[low]!) * (x - xs[low]!)) / span : ys[high]!;
}
