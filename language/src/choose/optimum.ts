/*
 * The best filling by what is known so far. A table says of some holes what their values together cost; what no table says costs nothing,
 * so that the best filling found here is never worse than the true one.
 */

/** What counts against a filling, what weighs most first: errors, warnings, prices that lack, price, steps away from what is wanted. */
export type Cost = readonly [errors: number, warnings: number, unpriced: number, price: number, steps: number];

export const NO_COST: Cost = [0, 0, 0, 0, 0];

export const sumOf = (left: Cost, right: Cost): Cost => [
  left[0] + right[0],
  left[1] + right[1],
  left[2] + right[2],
  left[3] + right[3],
  left[4] + right[4],
];

/** Below zero where the first is less. Prices are compared to a thousandth, since sums of decimals are not exact. */
export function compareCosts(left: Cost, right: Cost): number {
  for (let index = 0; index < left.length; index += 1) {
    const difference = left[index]! - right[index]!;
    if (Math.abs(difference) > (index === 3 ? 1e-3 : 0)) return difference;
  }
  return 0;
}

/** What values of some holes together cost; `blocked` where they cannot stand. */
export interface Table {
  /** Indices of holes, ascending. */
  readonly holes: readonly number[];
  readonly rows: ReadonlyMap<string, Cost | 'blocked'>;
}

export interface Problem {
  /** Indices of the values that each hole may have, those wanted most first. */
  readonly allowed: readonly (readonly number[])[];
  readonly tables: readonly Table[];
}

export type Found =
  | { readonly kind: 'found'; readonly choice: readonly number[]; readonly cost: Cost }
  | { readonly kind: 'none' }
  /** There may be one, but looking for it takes more steps than are allowed. */
  | { readonly kind: 'too-large' };

/** Steps of the search at most, over all its parts. */
const MOST_STEPS = 400_000;

export const rowKey = (holes: readonly number[], choice: readonly number[]): string =>
  holes.map((hole) => choice[hole]).join();

/** The filling that costs least; of equal ones the one whose earlier holes are better off. */
export function optimum({ allowed, tables }: Problem): Found {
  const choice: number[] = allowed.map((values) => values[0] ?? -1);
  let cost = NO_COST;
  const steps = { left: MOST_STEPS };
  for (const holes of partsOf(allowed.length, tables)) {
    const own = tables.filter((table) => table.holes.some((hole) => holes.includes(hole)));
    const best = bestOfPart(holes, own, allowed, steps);
    if (best === 'too-large') return { kind: 'too-large' };
    if (!best) return { kind: 'none' };
    holes.forEach((hole, index) => (choice[hole] = best.values[index]!));
    cost = sumOf(cost, best.cost);
  }
  return { kind: 'found', choice, cost };
}

/** Holes in parts that no table joins. */
function partsOf(count: number, tables: readonly Table[]): readonly (readonly number[])[] {
  const root = Array.from({ length: count }, (_, index) => index);
  const rootOf = (hole: number): number => (root[hole] === hole ? hole : (root[hole] = rootOf(root[hole]!)));
  for (const { holes } of tables)
    for (const hole of holes.slice(1)) {
      const [one, other] = [rootOf(holes[0]!), rootOf(hole)].sort((left, right) => left - right);
      root[other!] = one!;
    }
  const parts = new Map<number, number[]>();
  for (let hole = 0; hole < count; hole += 1) {
    const part = parts.get(rootOf(hole));
    if (part) part.push(hole);
    else parts.set(rootOf(hole), [hole]);
  }
  return [...parts.values()];
}

interface Best {
  readonly values: readonly number[];
  readonly cost: Cost;
}

function bestOfPart(
  holes: readonly number[],
  tables: readonly Table[],
  allowed: Problem['allowed'],
  steps: { left: number },
): Best | 'too-large' | undefined {
  const position = new Map(holes.map((hole, index) => [hole, index]));
  // A table is asked as soon as the last of its holes has a value.
  const dueAt = holes.map((_, index) =>
    tables.filter((table) => Math.max(...table.holes.map((hole) => position.get(hole)!)) === index),
  );
  // What a hole costs at least by itself, whatever the others are.
  const own = holes.map((hole) => {
    const single = tables.filter((table) => table.holes.length === 1 && table.holes[0] === hole);
    return allowed[hole]!.flatMap((value): { readonly value: number; readonly cost: Cost }[] => {
      // Values are numbered from the one that is wanted most.
      let cost: Cost = [0, 0, 0, 0, value];
      for (const { rows } of single) {
        const row = rows.get(String(value));
        if (row === 'blocked') return [];
        if (row) cost = sumOf(cost, row);
      }
      return [{ value, cost }];
    });
  });
  const rest: Cost[] = [NO_COST];
  for (const options of [...own].reverse()) {
    const least = options.reduce<Cost | undefined>(
      (so, { cost }) => (so && compareCosts(so, cost) <= 0 ? so : cost),
      undefined,
    );
    if (!least) return undefined;
    rest.unshift(sumOf(rest[0]!, least));
  }
  const values: number[] = [];
  const choice: number[] = [];
  let best: Best | undefined;
  const descend = (index: number, cost: Cost): boolean => {
    if (best && compareCosts(sumOf(cost, rest[index]!), best.cost) >= 0) return true;
    if (index === holes.length) {
      best = { values: [...values], cost };
      return true;
    }
    for (const option of own[index]!) {
      steps.left -= 1;
      if (steps.left < 0) return false;
      values[index] = option.value;
      choice[holes[index]!] = option.value;
      let next: Cost | undefined = sumOf(cost, option.cost);
      for (const table of dueAt[index]!) {
        if (table.holes.length === 1) continue;
        const row = table.rows.get(rowKey(table.holes, choice));
        if (row === 'blocked') {
          next = undefined;
          break;
        }
        if (row) next = sumOf(next, row);
      }
      if (next && !descend(index + 1, next)) return false;
    }
    values.length = index;
    return true;
  };
  return descend(0, NO_COST) ? best : 'too-large';
}
