import { OUTPUT_CURRENT } from '../../equipment/charging.js';
import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import { type DesignContext, query } from '../../model/context.js';
import type { CircuitState } from '../../model/network.js';
import { chargingOf, isLoad, sourceOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { Budget, shareWithLosses } from '../../solve/budget.js';
import { chargeVoltage, feederIn } from './chargers.js';
import { chargeEfficiency, chargerNumber, inputPowerFactor } from '../plant/chargers.js';
import { Facts } from '../plant/facts.js';
import { cleanWatts, legsPerWatt, sourceLimits, supplyAround } from '../plant/feeders.js';
import { meanShare } from '../demand/steady-share.js';
import { conductorLoss } from '../network/feeder-losses.js';
import { fedBy } from './supply.js';

/** Input power of each charger that a source cannot feed in full, and the share of it that is left. */
type Left = ReadonlyMap<Instance, { readonly asked: number; readonly share: number }>;

const LEFT = query<readonly [CircuitState, Instance], Left>('what sources leave for their chargers');

/** The number of a result, NaN when it has none. */
const numberOf = (result: { kind: string; derivation?: Derivation }, unit: string): number =>
  result.kind === 'known' ? numberIn(result.derivation!, unit) : NaN;

/** W that a charger asks of a feeder at most: its output within its own bounds, at its charge voltage. */
function askedOf(charger: Instance, feeder: Instance, context: DesignContext): number {
  const voltage = chargeVoltage(charger, context);
  const around = supplyAround(charger, feeder, context);
  if (voltage.kind !== 'known' || 'missing' in around) return NaN;
  const { value } = chargerNumber(OUTPUT_CURRENT, charger, context, { ...around, volts: voltage.derivation });
  return (value * numberIn(voltage.derivation, 'V')) / numberOf(chargeEfficiency(charger, context), '');
}

/**
 * What a source leaves for its chargers in a state, beside the mean power of the loads it feeds: loads come first, the chargers share the
 * rest in proportion to what they ask, as in a play. Empty where all of them get what they ask, or where a fact lacks.
 */
function leftBy(source: Instance, circuit: CircuitState, context: DesignContext): Left {
  const facts = new Facts();
  const nothing: Left = new Map();
  const fed = [...new Set(fedBy(source, circuit, context).map(({ instance }) => instance))];
  const chargers = context.system.instances.filter((each) => chargingOf(each) && feederIn(each, circuit) === source);
  const limits = sourceLimits(source, context, facts);
  const clean = cleanWatts(source, chargers, context, facts);
  const given = new Budget();
  for (const load of fed.filter(isLoad)) {
    const watts = numberOf(context.quantity(load, 'totalPower'), 'W') * numberIn(meanShare(load, context), '');
    const factor = numberOf(context.fact(load, 'powerFactor'), '');
    given.take(watts, { powerFactor: factor, legs: legsPerWatt(load, source, factor, context, facts), at: 0 });
  }
  // What conductors lose counts as a part of what they lead to.
  const lossWith = (chargerWatts: ReadonlyMap<Instance, number>): number => {
    const lost = conductorLoss(source, circuit, meanShare, chargerWatts, context);
    return lost ? numberIn(lost, 'W') : 0;
  };
  const standing = lossWith(new Map(chargers.map((each) => [each, 0])));
  if (standing > 0 && given.watts > 0)
    given.take(0, {
      powerFactor: 1,
      legs: given.amperes.map((amperes) => amperes / given.voltAmperes),
      at: 0,
      lost: standing,
    });
  const asked = new Budget();
  const each = chargers.map((charger) => {
    const watts = askedOf(charger, source, context);
    const factor = numberOf(inputPowerFactor(charger, context), '');
    asked.take(watts, { powerFactor: factor, legs: legsPerWatt(charger, source, factor, context, facts), at: 0 });
    return { charger, watts };
  });
  if (facts.missing.size > 0 || facts.refused.size > 0) return nothing;
  const share = shareWithLosses(given, { ...limits, watts: Math.min(limits.watts, clean) }, asked, (part) => {
    const all = lossWith(new Map(each.map(({ charger, watts }) => [charger, watts < Infinity ? watts * part : 0])));
    return Math.max(0, all - standing);
  });
  return share < 1
    ? new Map(each.flatMap(({ charger, watts }) => (watts < Infinity ? [[charger, { asked: watts, share }]] : [])))
    : nothing;
}

/** Alternating power that its source has left for a charger in a state; undefined where it gets all it asks. */
export function leftOfSupply(
  charger: Instance,
  feeder: Instance,
  circuit: CircuitState,
  context: DesignContext,
): Derivation | undefined {
  if (sourceOf(feeder)?.carries !== 'ac') return undefined;
  const left = context.keptFor(LEFT, circuit, feeder, () => leftBy(feeder, circuit, context));
  const own = left.get(charger);
  return (
    own &&
    derive(`what ${feeder.name} has left for ${charger.name}`, own.asked * own.share, 'W', {
      symbol: 'P_supply',
      formula: 'P_asked·share',
      inputs: [
        derive(`what ${charger.name} demands`, own.asked, 'W', { symbol: 'P_asked' }),
        derive('share that is left', own.share, '', {
          symbol: 'share',
          notes: [`loads first, by their mean power; its chargers share the rest of ${feeder.name}`],
        }),
      ],
    })
  );
}
