import { comparisonsOf } from './compare.js';
import { CLASSES, type Class, type Comparison } from './contract.js';
import { randomSystem } from './random-system.js';

export interface Tally {
  readonly of: Class;
  readonly comparisons: number;
  readonly faults: readonly Comparison[];
}

/** Everything that is compared for the seeds from 1 on. */
export async function compareSeeds(seeds: number): Promise<Comparison[]> {
  const found: Comparison[] = [];
  for (let seed = 1; seed <= seeds; seed += 1) found.push(...(await comparisonsOf(randomSystem(seed))));
  return found;
}

/** How many comparisons of each class there were, and which of them disagree. */
export const tallies = (comparisons: readonly Comparison[]): Tally[] =>
  CLASSES.map((of) => {
    const own = comparisons.filter((each) => each.of === of);
    return { of, comparisons: own.length, faults: own.filter(({ fault }) => fault !== undefined) };
  });

/** The table of classes, and of each the designs with the shortest text that disagree. */
export function reportOf(comparisons: readonly Comparison[], examples: number): string {
  const all = tallies(comparisons);
  const rows = all.map(({ of, comparisons: count, faults }) => {
    const seeds = [...new Set(faults.map(({ seed }) => seed))];
    const list = seeds.length > 0 ? `seeds ${seeds.slice(0, 12).join(' ')}${seeds.length > 12 ? ' …' : ''}` : '';
    return `${of.padEnd(12)} ${`${faults.length} of ${count}`.padStart(12)} disagree   ${list}`.trimEnd();
  });
  const shortest = all.flatMap(({ of, faults }) =>
    [...faults]
      .sort((a, b) => a.text.length - b.text.length)
      .slice(0, examples)
      .map(({ seed, what, fault, text }) => `${of}, seed ${seed}: ${what}\n${fault}\n${text}`),
  );
  return [...rows, ...(shortest.length > 0 ? ['', ...shortest] : [])].join('\n');
}
