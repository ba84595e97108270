/** Each item once, the first of equal ones: what two files or two parts of a check both tell is one thing. */
export function once<T>(items: readonly T[], key: (item: T) => string = (item) => JSON.stringify(item)): T[] {
  const seen = new Set<string>();
  return items.filter((item) => {
    const own = key(item);
    if (seen.has(own)) return false;
    seen.add(own);
    return true;
  });
}

/** The order of texts by their code units, the same in every locale. */
export const byText = (left: string, right: string): number => (left < right ? -1 : left > right ? 1 : 0);
