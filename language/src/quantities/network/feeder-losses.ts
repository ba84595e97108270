/** What conductors of alternating current lose, for closed forms: the same formulas and runs as of a play. */
import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import { type DesignContext, query } from '../../model/context.js';
import type { CircuitState } from '../../model/network.js';
import { chargingOf, isInverter, isLoad } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { ConductorLosses, type Lines } from '../../solve/conductor-losses.js';
import { feedParts, keyOfLoad } from '../demand/feeding.js';
import { type ShareOf, momentsOf } from '../demand/steady-share.js';
import { inputPowerFactor } from '../plant/chargers.js';
import { Facts } from '../plant/facts.js';
import { legsPerWatt } from '../plant/feeders.js';
import { feederIn } from '../supply/chargers.js';
import { linesOf } from './lines.js';

/** Everything that takes alternating current in a state: a part of a load for each that feeds it, and chargers. */
interface Takers {
  readonly feeders: readonly Instance[];
  /** Of each entry: what takes, and its part of what that takes. */
  readonly things: readonly Instance[];
  readonly parts: readonly number[];
  readonly feeds: { readonly feeder: Int32Array; readonly legs: Float64Array };
  readonly lines: Lines;
  readonly isAnyUnknown: boolean;
  /** Where what they lose is worked out, afresh each time. */
  readonly losses: ConductorLosses;
}

const TAKERS = query<CircuitState, Takers>('what draws alternating current in a state');

const takersIn = (circuit: CircuitState, context: DesignContext): Takers =>
  context.kept(TAKERS, circuit, () => findTakers(circuit, context));

function findTakers(circuit: CircuitState, context: DesignContext): Takers {
  const facts = new Facts();
  const found = context.system.instances.flatMap((thing) => {
    if (isLoad(thing)) {
      const key = keyOfLoad(thing);
      const feeders = [...(circuit.supply.get(key) ?? [])];
      const source = feeders.find((feeder) => !isInverter(feeder));
      const factor = context.maybe(thing, 'powerFactor');
      return feedParts(thing, source ? [source] : feeders, context).flatMap(({ fraction, among }) => {
        const total = among.reduce((sum, { weight }) => sum + weight, 0);
        return among.map(({ feeder, weight }) => ({
          thing,
          key,
          feeder,
          part: (fraction * weight) / total,
          legs: legsPerWatt(thing, feeder, factor ? numberIn(factor, '') : 1, context, facts),
        }));
      });
    }
    const supply = chargingOf(thing)?.supply;
    const feeder = feederIn(thing, circuit);
    if (!feeder || supply?.kind !== 'alternating') return [];
    const factor = inputPowerFactor(thing, context);
    const powerFactor = factor.kind === 'known' ? numberIn(factor.derivation, '') : 1;
    return [
      {
        thing,
        key: `${thing.name}.${supply.at}`,
        feeder,
        part: 1,
        legs: legsPerWatt(thing, feeder, powerFactor, context, facts),
      },
    ];
  });
  const feeders = [...new Set(found.map(({ feeder }) => feeder))];
  const { lines, isAnyUnknown } = linesOf(
    found.map(({ key, feeder }, at) => ({ at, of: 'entry', key, feeder })),
    circuit,
    context,
  );
  return {
    feeders,
    things: found.map(({ thing }) => thing),
    parts: found.map(({ part }) => part),
    feeds: {
      feeder: Int32Array.from(found, ({ feeder }) => feeders.indexOf(feeder)),
      legs: Float64Array.from(found.flatMap(({ legs }) => legs)),
    },
    lines,
    isAnyUnknown,
    losses: new ConductorLosses(feeders.length),
  };
}

/** W that the conductors on the way from a feeder lose in a state while things take so many W of alternating current. */
export function lostBehind(
  feeder: Instance,
  circuit: CircuitState,
  wattsOf: (thing: Instance) => number,
  context: DesignContext,
): number {
  const takers = takersIn(circuit, context);
  const at = takers.feeders.indexOf(feeder);
  if (at < 0 || takers.lines.ohms.length === 0) return 0;
  const { losses } = takers;
  losses.clear(takers);
  const watts = Float64Array.from(takers.things, (thing, entry) => takers.parts[entry]! * wattsOf(thing));
  watts.forEach((own, entry) => {
    if (own > 0) losses.carry(takers.feeds, entry, own);
  });
  losses.settle(takers, watts);
  return losses.byFeeder[at]!;
}

/** What a feeder gives in a part of the time: W to loads and chargers, and W that conductors lose. */
export interface GivenMoment {
  readonly weight: number;
  readonly given: number;
  readonly lost: number;
}

/** What a feeder gives in a state, moment by moment: by the share of their power that loads take, and what chargers take (W). */
export function givenBy(
  feeder: Instance,
  circuit: CircuitState,
  shareOf: ShareOf,
  chargerWatts: ReadonlyMap<Instance, number>,
  context: DesignContext,
): readonly GivenMoment[] {
  const { things, parts, feeders, feeds } = takersIn(circuit, context);
  const loads = [...new Set(things.filter(isLoad))];
  const peak = new Map(
    loads.map((load) => {
      const power = context.quantity(load, 'totalPower');
      return [load, power.kind === 'known' ? numberIn(power.derivation, 'W') : 0] as const;
    }),
  );
  const own = feeders.indexOf(feeder);
  return momentsOf(loads, shareOf, context).map(({ weight, shares }) => {
    const wattsOf = (thing: Instance): number =>
      chargerWatts.get(thing) ?? (peak.get(thing) ?? 0) * (shares.get(thing) ?? 0);
    return {
      weight,
      given: things.reduce(
        (sum, thing, entry) => (feeds.feeder[entry] === own ? sum + parts[entry]! * wattsOf(thing) : sum),
        0,
      ),
      lost: lostBehind(feeder, circuit, wattsOf, context),
    };
  });
}

/**
 * What the conductors behind a feeder lose in a state, by the share of their power that loads take and what chargers take (W), as a term of
 * what it gives; undefined where none of them states size and length, or nothing flows.
 */
export function conductorLoss(
  feeder: Instance,
  circuit: CircuitState,
  shareOf: ShareOf,
  chargerWatts: ReadonlyMap<Instance, number>,
  context: DesignContext,
): Derivation | undefined {
  const { lines, isAnyUnknown } = takersIn(circuit, context);
  if (lines.ohms.length === 0) return undefined;
  const watts = givenBy(feeder, circuit, shareOf, chargerWatts, context).reduce(
    (sum, { weight, lost }) => sum + weight * lost,
    0,
  );
  if (!(watts > 0)) return undefined;
  return derive(`loss in the conductors behind ${feeder.name}`, watts, 'W', {
    symbol: 'P_R',
    formula: 'Σ R·I²',
    notes: [
      'conductors as warm as 75 °C, return included',
      ...(isAnyUnknown ? ['runs that do not state size and length lose nothing'] : []),
    ],
  });
}
