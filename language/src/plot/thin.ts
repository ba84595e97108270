/**
 * Rows of a series that are enough for a picture: of each column of pixels the first, the lowest, the highest and the last, so that nothing
 * that can be seen is lost. Rows without a value are kept where one begins or ends a gap.
 */
export function thinned(
  time: ArrayLike<number>,
  values: ArrayLike<number>,
  x: (time: number) => number,
  isWithin: (time: number) => boolean = () => true,
): number[] {
  const rows: number[] = [];
  let pixel = Number.NaN;
  let kept: number[] = [];
  const flush = (): void => {
    const [first] = kept;
    if (first === undefined) return;
    const numbers = kept.filter((row) => !Number.isNaN(values[row]));
    const by = (isBetter: (a: number, b: number) => boolean): number[] =>
      numbers.length === 0
        ? []
        : [numbers.reduce((so, row) => (isBetter(values[row]!, values[so]!) ? row : so), numbers[0]!)];
    const chosen = [first, kept.at(-1)!, ...by((a, b) => a < b), ...by((a, b) => a > b)];
    rows.push(...[...new Set(chosen)].sort((a, b) => a - b));
    kept = [];
  };
  for (let row = 0; row < time.length; row += 1) {
    if (!isWithin(time[row]!)) continue;
    const at = Math.floor(x(time[row]!));
    if (at !== pixel) flush();
    pixel = at;
    kept.push(row);
  }
  flush();
  return rows;
}
