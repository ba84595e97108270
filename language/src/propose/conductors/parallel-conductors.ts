import type { Analysis } from '../../analyse/types.js';
import type { Fix } from '../../checks/define.js';
import { propose, setProperties } from '../../checks/fixes.js';
import { candidates } from '../../checks/conductors/sizing.js';
import { numberIn } from '../../derivation/index.js';
import { ruleValue } from '../../reference/index.js';
import { areaOf } from '../ranking.js';

/** Conductors in parallel at most that a proposal asks for. */
const MOST_PARALLEL = 4;
/** The share of the area of one heavy conductor from which smaller ones in parallel carry as much: thin ones are cooled better. */
const LEAST_SHARE = 0.5;
/** Sets of conductors that are tried. */
const MOST_TRIED = 6;

/**
 * Several conductors in parallel in place of one that another change would make heavier than `heavy` mm²: the least copper first. From
 * 1/0 AWG, or as much in metric sizes, upwards (NEC 310.10(G)); common practice elsewhere.
 */
export function parallelConductors(before: Analysis, after: Analysis, heavy: number): readonly Fix[] {
  const least = numberIn(ruleValue('nec', 'parallelSmallest'), 'mm2') * 0.9;
  for (const { system, context } of before.designs) {
    const next = after.designs.find(({ system: { name } }) => name === system.name)?.system;
    for (const run of system.runs) {
      const grown = next?.runs.find(({ path }) => path === run.path);
      const wanted = grown && areaOf(grown);
      if (!wanted || wanted.one <= heavy || wanted.whole <= (areaOf(run)?.whole ?? 0)) continue;
      const own = Math.round(wanted.whole / wanted.one);
      const sets = [...Array(MOST_PARALLEL).keys()]
        .map((index) => index + own + 1)
        .flatMap((count) =>
          candidates(run, context)
            .filter(({ area }) => area >= least && area <= heavy)
            .map((size) => ({ count, size, whole: count * size.area })),
        )
        .filter(({ whole }) => whole >= LEAST_SHARE * wanted.whole)
        .sort((left, right) => left.whole - right.whole || left.count - right.count);
      return sets.slice(0, MOST_TRIED).map(({ count, size }) =>
        propose(
          `Run ${count} conductors of ${size.name} in parallel in ${run.name}`,
          setProperties(run, { size: size.name, parallel: String(count) }),
        ),
      );
    }
  }
  return [];
}
