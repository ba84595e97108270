/** What of a text is another than before. */
export interface Edit {
  readonly from: number;
  readonly oldEnd: number;
  readonly newEnd: number;
}

/** Beginnings of two texts are compared by pieces of this length first. */
const COMPARED = 4096;

/** The one stretch that was changed between two texts. */
export function editBetween(before: string, after: string): Edit {
  const shorter = Math.min(before.length, after.length);
  let from = 0;
  for (let length = COMPARED; length >= 1; length >>= 1)
    while (from + length <= shorter && before.slice(from, from + length) === after.slice(from, from + length))
      from += length;
  let same = 0;
  const endsSame = (length: number): boolean =>
    before.slice(before.length - same - length, before.length - same) ===
    after.slice(after.length - same - length, after.length - same);
  for (let length = COMPARED; length >= 1; length >>= 1)
    while (same + length <= shorter - from && endsSame(length)) same += length;
  return { from, oldEnd: before.length - same, newEnd: after.length - same };
}
