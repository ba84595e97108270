/** Edit distance with neighbouring swaps (optimal string alignment), cut off above `limit`. */
function distance(left: string, right: string, limit: number): number {
  if (Math.abs(left.length - right.length) > limit) return limit + 1;
  let before: number[] = [];
  let last = Array.from({ length: right.length + 1 }, (_, index) => index);
  for (let i = 1; i <= left.length; i += 1) {
    const row = [i];
    for (let j = 1; j <= right.length; j += 1) {
      const same = left[i - 1] === right[j - 1];
      let cost = Math.min(last[j]! + 1, row[j - 1]! + 1, last[j - 1]! + (same ? 0 : 1));
      if (i > 1 && j > 1 && left[i - 1] === right[j - 2] && left[i - 2] === right[j - 1])
        cost = Math.min(cost, before[j - 2]! + 1);
      row.push(cost);
    }
    [before, last] = [last, row];
  }
  return last[right.length]!;
}

/** The candidates nearest to a misspelt name, best first; none when nothing is near. */
export function nearest(name: string, candidates: Iterable<string>, most = 3): string[] {
  const limit = Math.max(1, Math.floor(name.length / 3));
  const plain = (text: string): string => text.toLowerCase().replace(/[-_]/g, '');
  return [...new Set(candidates)]
    .map((candidate) => ({
      candidate,
      by: plain(candidate) === plain(name) ? 0 : distance(name.toLowerCase(), candidate.toLowerCase(), limit),
    }))
    .filter(({ by }) => by <= limit)
    .sort((a, b) => a.by - b.by || (a.candidate < b.candidate ? -1 : 1))
    .slice(0, most)
    .map(({ candidate }) => candidate);
}
