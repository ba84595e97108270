/** The power factor at which a run of alternating current loses most. */
import { type Derivation, type Result, derive, numberIn } from '../../derivation/index.js';
import { isLoad, takesToCharge } from '../../model/roles.js';
import type { Run } from '../../model/types.js';
import type { QuantityContext } from '../define.js';
import { lowEnd } from '../ends.js';
import { acFlow } from '../flow/flow.js';

/** The lowest power factor of what a run feeds, in any state; undefined where all of it takes its current in phase. */
export function lowestPowerFactor(run: Run, context: QuantityContext): Derivation | undefined {
  const factors = context.circuitStates.flatMap(({ circuit }) =>
    [...(acFlow(run, circuit, context)?.nodes.values() ?? [])].flatMap((node) =>
      isLoad(node.instance) || takesToCharge(node) ? (context.maybe(node.instance, 'powerFactor') ?? []) : [],
    ),
  );
  const low = (factor: Derivation): number => numberIn(lowEnd(factor), '');
  const lowest = factors.reduce<Derivation | undefined>(
    (so, next) => (so && low(so) <= low(next) ? so : next),
    undefined,
  );
  return lowest && low(lowest) < 1 ? derive('lowest power factor', low(lowest), '', { inputs: [lowest] }) : undefined;
}

/**
 * The largest drop at any power factor from the lowest up to 1: at one of the two ends, or between them where the angle of the load is
 * that of the conductors. What several loads take together lies anywhere between.
 */
export function largestDrop(dropAt: (powerFactor?: Derivation) => Result, lowest: Derivation): Result {
  const inPhase = dropAt();
  const lagging = dropAt(lowest);
  if (inPhase.kind !== 'known' || lagging.kind !== 'known') return inPhase.kind === 'known' ? lagging : inPhase;
  const cosine = numberIn(lowest, '');
  const sine = Math.sqrt(1 - cosine ** 2);
  const resistive = numberIn(inPhase.derivation, 'V');
  const reactive = (numberIn(lagging.derivation, 'V') - resistive * cosine) / sine;
  const own = resistive / Math.hypot(resistive, reactive);
  const between = reactive > 0 && own > cosine ? dropAt(derive('power factor of the conductors', own, '')) : undefined;
  return [inPhase, lagging, ...(between?.kind === 'known' ? [between] : [])].reduce((so, next) =>
    numberIn(next.derivation, 'V') > numberIn(so.derivation, 'V') ? next : so,
  );
}
