/** What the practices advise of the voltage drop, where it depends on what the circuit feeds or lies in. */
import { type Derivation, type Result, deriveFact, numberIn } from '../../derivation/index.js';
import { isLoad } from '../../model/roles.js';
import { wordIn } from '../../model/stated-facts.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { racewayOf } from '../../quantities/conductors/conductor-facts.js';
import { dropSystem, voltageDropAt } from '../../quantities/conductors/conductor.js';
import { CONDUITS, ruleValue } from '../../reference/index.js';

/** Uses of a load whose circuits count as critical aboard (ABYC E-11). */
const CRITICAL_USES: readonly string[] = ['navigation-lights', 'bilge-blower', 'electronics'];

const loadsOf = (run: Run): readonly Instance[] => run.to.map(({ instance }) => instance).filter(isLoad);

/** Panel feeders and the like are critical; a run that ends in a load is what the load says it is, else an ordinary circuit. */
export function craftDropLimit(run: Run): Derivation {
  const loads = loadsOf(run);
  const isCritical =
    loads.length < run.to.length ||
    loads.some(({ properties }) => CRITICAL_USES.includes(wordIn(properties, 'use') ?? ''));
  return { ...ruleValue('craft', isCritical ? 'criticalDrop' : 'otherDrop'), origin: 'default' };
}

/** The facts of a run without which a drop above the stricter of two limits cannot be judged: what its loads are, aboard. */
function unsaidUses(run: Run, share: Derivation, context: DesignContext): readonly string[] {
  if (context.system.basis.practice !== 'craft' || hasOwnLimit(run, context)) return [];
  if (numberIn(share, '') <= numberIn(ruleValue('craft', 'criticalDrop'), '') * (1 + 1e-9)) return [];
  return loadsOf(run)
    .filter(({ properties }) => !properties.has('use'))
    .map(({ name }) => `use of ${name} (navigation lights, blowers and electronics may lose 3 %)`);
}

const hasOwnLimit = (run: Run, context: DesignContext): boolean =>
  (context.maybe(run, 'dropLimit') ?? context.setting(run.carries === 'ac' ? 'acDropLimit' : 'dcDropLimit')) !==
  undefined;

/** The largest drop that a raceway could make of a run that does not say what it lies in; undefined where it says so, or none counts. */
function dropInWorstRaceway(run: Run, size: Derivation, context: DesignContext): Result | undefined {
  if (context.system.basis.practice !== 'nec' || dropSystem(run, context) === 'dc' || racewayOf(run, context))
    return undefined;
  const drops = CONDUITS.map((conduit) => voltageDropAt(run, size, context, deriveFact('raceway', conduit)));
  return drops.reduce((so, next) =>
    so.kind === 'known' && next.kind === 'known' && numberIn(next.derivation, 'V') > numberIn(so.derivation, 'V')
      ? next
      : so,
  );
}

/** What a drop within its limit leaves open: facts that would make it too large. */
export function openFacts(
  run: Run,
  size: Derivation | undefined,
  share: Derivation,
  limit: Derivation,
  context: DesignContext,
): readonly string[] {
  const uses = unsaidUses(run, share, context);
  const worst = size && dropInWorstRaceway(run, size, context);
  const most = worst?.kind === 'known' ? worst.derivation.parts['ratio'] : undefined;
  const isOpen = most !== undefined && numberIn(most, '') > numberIn(limit, '') * (1 + 1e-9);
  return [...uses, ...(isOpen ? [`raceway of ${run.name}`] : [])];
}
