/** A quantile between sorted values, by straight line between the two nearest (type 7 of Hyndman and Fan, 1996). */
export function quantileOf(sorted: readonly number[], quantile: number): number {
  const place = Math.min(1, Math.max(0, quantile)) * (sorted.length - 1);
  const low = Math.floor(place);
  const high = Math.min(sorted.length - 1, low + 1);
  // Behind a value that is endless there is nothing to go on to, and up to it no straight line.
  if (place === low || sorted[low] === sorted[high]) return sorted[low]!;
  return sorted[low]! + (sorted[high]! - sorted[low]!) * (place - low);
}
