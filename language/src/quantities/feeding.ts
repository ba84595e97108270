import type { DesignContext } from '../model/context.js';
import type { CircuitState } from '../model/network.js';
import { isInverter, isLoad } from '../model/roles.js';
import type { Instance } from '../model/types.js';
import { numberIn } from '../derivation/index.js';
import { type Leg, connect, fedBy, missingFrom, systemOf } from './supply.js';

/** The legs that a feeder makes: as stated, else all of its system. */
export function legsMade(feeder: Instance): readonly Leg[] {
  const stated = feeder.properties.get('legs')?.value;
  if (stated?.type === 'words') return stated.words as Leg[];
  const phases = systemOf(feeder)?.phases;
  return phases === 'three' ? ['L1', 'L2', 'L3'] : phases === 'split' ? ['L1', 'L2'] : ['L1'];
}

/**
 * The part of a load that one of several feeders carries. Feeders that make only other legs carry none of it; on each of its legs those
 * that make it share by rating, equally where a rating lacks.
 */
export function shareOf(
  feeder: Instance,
  load: Instance,
  feeders: readonly Instance[],
  context: DesignContext,
): number {
  if (feeders.length < 2) return 1;
  const legs = legsOfLoad(load, feeders, context);
  const able = legs.map((leg) => feeders.filter((each) => legsMade(each).includes(leg)));
  // Where no feeder says that it makes a leg of the load, all of them are taken to.
  const groups = able.every((group) => group.length === 0) ? [feeders] : able.filter((group) => group.length > 0);
  const part = (group: readonly Instance[]): number => {
    if (!group.includes(feeder)) return 0;
    const ratings = group.map((each) => context.maybe(each, 'rated'));
    const total = ratings.reduce((sum, rating) => sum + (rating ? numberIn(rating, 'W') : NaN), 0);
    const own = ratings[group.indexOf(feeder)];
    return own && total > 0 ? numberIn(own, 'W') / total : 1 / group.length;
  };
  return groups.reduce((sum, group) => sum + part(group), 0) / groups.length;
}

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

/** The inverters that feed a load in a state. */
export const invertersOf = (load: Instance, circuit: CircuitState): readonly Instance[] => {
  const key = `${load.name}.${load.terminals[0]!.name}`;
  return [...(circuit.supply.get(key) ?? [])].filter((feeder) => isInverter(feeder));
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
