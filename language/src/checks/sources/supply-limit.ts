import { termOf } from '../../quantities/worst.js';
import { type Derivation, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { chargersFedBy } from '../../quantities/supply/source-demand.js';
import { connect, fedBy, missingFrom, systemOf } from '../../quantities/supply/supply.js';
import type { Fix } from '../define.js';
import { beforeOthers, hasSupplies, limitInput } from '../input-limit.js';
import { type Burden, inputPerAmpere, roundDown, turnDown } from './shared.js';
import { isAcConsumer } from '../../model/roles.js';
import { chargerInputOn } from '../../quantities/supply/chargers.js';
import { loadsBehind } from '../../quantities/supply/passed-loads.js';

const partOf = (sum: Derivation, each: Instance): number => {
  const part = termOf(sum, each);
  return part ? numberIn(part, 'A') : 0;
};

/** Limits of chargers at which the current `demand` of a leg comes down to `most` A. */
export function currentFixes(source: Instance, demand: Derivation, most: number, context: DesignContext): Fix[] {
  const system = systemOf(source);
  const chargers = chargersFedBy(source, context);
  const excess = numberIn(demand, 'A') - most;
  const burdened = chargers.map((charger) => {
    const perAmpere = inputPerAmpere(charger, context);
    const connection = system && connect(charger, system, context);
    const share = partOf(demand, charger);
    const burdens: Burden[] =
      share > 0 && perAmpere && connection && !missingFrom(connection)
        ? [{ share, excess, perAmpere: perAmpere.VA / (connection.factor * numberIn(connection.voltage, 'V')) }]
        : [];
    return { charger, burdens };
  });
  let fixes = turnDown(burdened, context);
  for (const charger of chargers) {
    // An inverter that passes its supply on charges with what its input limit leaves beside the loads.
    const behind = [...loadsBehind(charger, context)].reduce((sum, load) => sum + partOf(demand, load), 0);
    const others = numberIn(demand, 'A') - partOf(demand, charger) - behind;
    const limit = roundDown(most - others, 1);
    // With supplies of its own for each cord, the one that is too weak has its own limit; the others keep theirs.
    const isOneOfSeveral = hasSupplies(charger, context) && partOf(demand, charger) > 0;
    if (limit < 1 || behind > limit || (behind === 0 && !isOneOfSeveral)) continue;
    const fix = limitInput(charger, source, limit, isOneOfSeveral || fixes.length === 0, context);
    if (isOneOfSeveral) fixes = beforeOthers(fix, fixes);
    else fixes.push(fix);
  }
  return fixes;
}

/** Whether one charger by itself already takes more than a limit, which `charger-input` finds. */
export const isOneTooMuch = (source: Instance, limit: Derivation, context: DesignContext): boolean =>
  chargersFedBy(source, context).some((charger) => {
    const { result } = chargerInputOn(charger, source, context);
    return result.kind === 'known' && numberIn(result.derivation, 'A') > numberIn(limit, 'A') * (1 + 1e-9);
  });

/** Whether a source feeds any consumer in any state. */
export const feedsAnything = (source: Instance, context: DesignContext): boolean =>
  context.circuitStates.some(({ circuit }) =>
    fedBy(source, circuit, context).some(({ instance }) => instance !== source && isAcConsumer(instance)),
  );
