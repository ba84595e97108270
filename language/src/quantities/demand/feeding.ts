import type { DesignContext } from '../../model/context.js';
import type { CircuitState } from '../../model/network.js';
import { isInverter, isLoad } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { numberIn } from '../../derivation/index.js';
import { type Leg, connect, fedBy, missingFrom, systemOf } from '../supply/supply.js';

/** The legs that a feeder makes: as stated, else all of its system. */
export function legsMade(feeder: Instance): readonly Leg[] {
  const stated = feeder.properties.get('legs')?.value;
  if (stated?.type === 'words') return stated.words as Leg[];
  const phases = systemOf(feeder)?.phases;
  return phases === 'three' ? ['L1', 'L2', 'L3'] : phases === 'split' ? ['L1', 'L2'] : ['L1'];
}

/** One leg of a load, or all of it: its fraction of the power, and the feeders that share it with their weights. */
export interface FeedPart {
  readonly fraction: number;
  readonly among: readonly { readonly feeder: Instance; readonly weight: number }[];
}

/**
 * How several feeders carry a load together. Feeders that make only other legs carry none of it; on each of its legs those that make it share
 * by rating, equally where a rating lacks.
 */
export function feedParts(load: Instance, feeders: readonly Instance[], context: DesignContext): readonly FeedPart[] {
  if (feeders.length < 2) return feeders.map((feeder) => ({ fraction: 1, among: [{ feeder, weight: 1 }] }));
  const legs = legsOfLoad(load, feeders, context);
  const able = legs.map((leg) => feeders.filter((each) => legsMade(each).includes(leg)));
  // Where no feeder says that it makes a leg of the load, all of them are taken to.
  const groups = able.every((group) => group.length === 0) ? [feeders] : able.filter((group) => group.length > 0);
  return groups.map((group) => {
    const ratings = group.map((each) => context.maybe(each, 'rated'));
    const isRated = ratings.every((rating) => rating !== undefined && numberIn(rating, 'W') > 0);
    return {
      fraction: 1 / groups.length,
      among: group.map((feeder, at) => ({ feeder, weight: isRated ? numberIn(ratings[at]!, 'W') : 1 })),
    };
  });
}

/** The part of a load that one of several feeders carries while all of them run. */
export const shareOf = (
  feeder: Instance,
  load: Instance,
  feeders: readonly Instance[],
  context: DesignContext,
): number =>
  feedParts(load, feeders, context).reduce((sum, { fraction, among }) => {
    const total = among.reduce((all, { weight }) => all + weight, 0);
    const own = among.find((each) => each.feeder === feeder);
    return own ? sum + (fraction * own.weight) / total : sum;
  }, 0);

/** The legs of a load on the system that its feeders make together. */
function legsOfLoad(load: Instance, feeders: readonly Instance[], context: DesignContext): readonly Leg[] {
  const stated = load.properties.get('legs')?.value;
  if (stated?.type === 'words') return stated.words as Leg[];
  const [system] = feeders.flatMap((feeder) => systemOf(feeder) ?? []);
  const made = [...new Set(feeders.flatMap(legsMade))];
  const own = load.properties.get('voltage')?.value;
  // Two single-phase feeders on two legs make a line-to-line voltage that neither makes alone.
  if (system?.phases === 'single' && made.length > 1 && own?.type === 'system')
    return own.system.lineToLine > 1.5 * system.lineToNeutral ? made : ['L1'];
  const connection = system && connect(load, system, context);
  return connection && !missingFrom(connection) ? connection.legs : ['L1'];
}

/** The node at which a load is fed: `Lamp.ac`. */
export const keyOfLoad = (load: Instance): string => `${load.name}.${load.terminals[0]!.name}`;

/** The inverters that feed a load in a state. */
export const invertersOf = (load: Instance, circuit: CircuitState): readonly Instance[] => {
  return [...(circuit.supply.get(keyOfLoad(load)) ?? [])].filter((feeder) => isInverter(feeder));
};

/** The loads that an inverter feeds in a state, each once, with its share of each. */
export const feedOf = (
  inverter: Instance,
  circuit: CircuitState,
  context: DesignContext,
): readonly { readonly load: Instance; readonly share: number }[] =>
  [...new Set(fedBy(inverter, circuit, context).map(({ instance }) => instance))].filter(isLoad).flatMap((load) => {
    const share = shareOf(inverter, load, invertersOf(load, circuit), context);
    return share > 0 ? [{ load, share }] : [];
  });
