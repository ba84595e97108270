import type { Analysis, Finding } from '../../analyse/types.js';
import type { Fix } from '../../checks/define.js';
import { propose, setProperties } from '../../checks/fixes.js';
import { candidates } from '../../checks/conductors/sizing.js';
import { numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import { ruleValue } from '../../reference/index.js';
import { HEAVY, areaOf } from '../ranking.js';

/** Conductors in parallel at most that a proposal asks for. */
const MOST_PARALLEL = 4;
/** The share of the area of one conductor from which smaller ones in parallel may carry as much: thin ones are cooled better. */
const LEAST_SHARE = 0.5;
/** Sets of conductors that are tried. */
const MOST_TRIED = 8;

/**
 * Several conductors in parallel for a run, none of them heavy: the least copper first. `after` is the design with one heavy conductor
 * that would do; where no one does, the finding says by how much its limit is missed. From 1/0 AWG, or about as much in metric sizes,
 * upwards (NEC 310.10(G)); common practice elsewhere.
 */
export function parallelConductors(
  run: Run,
  after: Analysis | undefined,
  finding: Finding,
  context: DesignContext,
): readonly Fix[] {
  const own = areaOf(run);
  if (!own) return [];
  const heavy = after?.designs.flatMap(({ system }) => system.runs).find(({ path }) => path === run.path);
  const wanted = (heavy && areaOf(heavy)?.whole) ?? own.whole * excessOf(finding);
  const least = numberIn(ruleValue('nec', 'parallelSmallest'), 'mm2') * 0.9;
  const present = Math.round(own.whole / own.one);
  const sets = [...Array(MOST_PARALLEL).keys()]
    .map((index) => index + 1)
    .filter((count) => count > present)
    .flatMap((count) =>
      candidates(run, context)
        .filter(({ area }) => area >= least && area <= HEAVY)
        .map((size) => ({ count, size, whole: count * size.area })),
    )
    .filter(({ whole }) => whole >= LEAST_SHARE * wanted && whole > own.whole * 0.999)
    .sort((left, right) => left.whole - right.whole || left.count - right.count);
  return sets
    .slice(0, MOST_TRIED)
    .map(({ count, size }) =>
      propose(
        `Run ${count} conductors of ${size.name} in parallel in ${run.name}`,
        setProperties(run, { size: size.name, parallel: String(count) }),
      ),
    );
}

/** By how many times a finding misses its limit, by the numbers it carries; 1 where they do not say. */
function excessOf({ numbers }: Finding): number {
  const amounts = ['limit', 'rating', 'required', 'current'].map((name) => {
    const value = numbers[name]?.value;
    return typeof value === 'object' ? value : undefined;
  });
  const [limit, ...asked] = amounts;
  const first = asked.find((each) => each?.dimension === limit?.dimension);
  return limit && first && limit.value > 0 ? Math.max(1, first.value / limit.value) : 1;
}
