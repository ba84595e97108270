import { type Cord, waysPlugged } from './cords.js';
import { type Graph, type Node } from './graph.js';
import {
  faultSourcesOf,
  invertingOf,
  isAcSource,
  isDcSource,
  isGear,
  isInverter,
  isJoint,
  isStarted,
  isTransferGear,
  passingOf,
  sourceOf,
} from './roles.js';
import type { AcSystem, Instance, System } from './types.js';
import { flagIn } from './stated-facts.js';
import { ORIGINS } from '../equipment/index.js';

/** Voltage by which rules and plays know a supply, V: between lines, where there are several. */
export const nominalVolts = ({ lineToLine }: AcSystem): number => lineToLine;

/**
 * A state of the sources: which AC sources feed, whether the sun or other DC sources charge, or the battery alone carries the loads.
 * `id` is stable: `battery`, `sun`, `water`, `Genset`, `Genset+sun`.
 */
export interface SourceState {
  readonly id: string;
  /** For messages: `Genset running`, `battery alone`, `Genset running, sun on Array`. */
  readonly title: string;
  /** The AC sources that feed in this state. */
  readonly acSources: readonly Instance[];
  /** The DC sources (solar, wind, water, alternator, DC vehicle) that charge in this state. */
  readonly dcSources: readonly Instance[];
  /** The cords that are plugged in, of inlets that take one at a time. */
  readonly plugged: readonly Cord[];
}

/** What holds in one state. */
export interface CircuitState {
  readonly state: SourceState;
  /** The wiring with the cords of this state plugged in. */
  readonly graph: Graph;
  /** For each AC node that is live, by node key (`Panel.bar`), the things that feed it: sources, or inverters that invert. */
  readonly supply: ReadonlyMap<string, ReadonlySet<Instance>>;
  /**
   * AC nodes behind transfer gear that is fed from its load side while both its supplies are off: the gear stays where it stands, on one of
   * them, and makes that supply live from behind. No current is reckoned there; it is a danger, not a feed.
   */
  readonly backfed: ReadonlyMap<string, ReadonlySet<Instance>>;
  /** Inverters that make alternating current from the bank in this state. */
  readonly inverting: ReadonlySet<Instance>;
  /** Inverters that pass a supply through in this state. */
  readonly passing: ReadonlySet<Instance>;
}

const sourceTitle = (instance: Instance): string =>
  isStarted(instance) ? `${instance.name} running` : `${instance.name} connected`;

/** What charges, by where it comes from, each word once: `sun`, `water`, `sun+water`. */
const originsOf = (charging: readonly Instance[]): string[] => [
  ...new Set(charging.map((each) => ORIGINS[sourceOf(each)!.from].state)),
];

/**
 * The states a design can be in: the battery alone, each AC source by itself, all AC sources at once where there are several, and each
 * of these with the DC sources charging. Of supplies that exclude each other at an inlet one is there at a time, so that their number adds to
 * the states and does not multiply them.
 */
export function sourceStates(system: System, graph: Graph): SourceState[] {
  const ac = system.instances.filter(isAcSource);
  const dc = system.instances.filter(isDcSource);
  const sets: Instance[][] = [[], ...ac.map((source) => [source])];
  if (ac.length > 1) sets.push(ac);
  const states = new Map<string, SourceState>();
  for (const wanted of sets) {
    const ways = waysPlugged(graph.inlets, wanted);
    for (const plugged of ways) {
      const joined = (of: readonly Instance[]): Instance[] =>
        of.filter((source) => graph.inlets.length === 0 || leadsOn(source, graph.plugged(plugged)));
      const [sources, charged] = [joined(wanted), joined(dc)];
      for (const charging of charged.length > 0 ? [[], charged] : [[]]) {
        const cords = plugged.filter((cord) => isOneOfSeveral(cord, wanted, charging, graph));
        const names = [...sources.map((source) => source.name), ...originsOf(charging)];
        const titles = [
          ...sources.map(sourceTitle),
          ...(charging.length > 0 ? [`${charging.map((source) => source.name).join(', ')} charging`] : []),
        ];
        const by = cords.map(({ run }) => run.name);
        const id = `${names.join('+') || 'battery'}${by.length > 0 ? `@${by.join('@')}` : ''}`;
        // Names may be any word, `battery` too: what is the same is told by what is there.
        const key = [...sources, ...charging].map(({ name }) => name).join() + by.map((name) => `@${name}`).join('');
        if (states.has(key)) continue;
        states.set(key, {
          id,
          title: `${titles.join(', ') || 'battery alone'}${by.length > 0 ? ` by ${by.join(' and ')}` : ''}`,
          acSources: sources,
          dcSources: charging,
          plugged,
        });
      }
    }
  }
  return [...states.values()];
}

/** Whether a cord has to be named to tell the ways apart in which the same sources feed. */
const isOneOfSeveral = (
  cord: Cord,
  sources: readonly Instance[],
  charging: readonly Instance[],
  graph: Graph,
): boolean => {
  // What the sun brings has one word, whatever array it comes from.
  if (cord.charging.length > 0) return cord.charging.some((each) => charging.includes(each));
  const bring = ({ sources: brought }: Cord): string =>
    brought
      .filter((each) => sources.includes(each))
      .map(({ name }) => name)
      .join();
  const inlet = graph.inlets.find(({ at }) => at === cord.inlet);
  return (inlet?.cords ?? []).some((other) => other !== cord && bring(other) === bring(cord));
};

/** Whether a source leads to more than what is plugged: a cord that is not plugged in ends nowhere. */
export const leadsOn = (source: Instance, graph: Graph): boolean =>
  !graph.broughtByCord.has(source) ||
  graph
    .nodesOf(source)
    .some((node) =>
      graph.joinedTo(node).some((each) => each !== source && (!isGear(each) || isJoint(each) || isTransferGear(each))),
    );

/** Rounds after which the positions of transfer gear count as settled; each round can only be changed by one piece of gear. */
const MOST_ROUNDS = 20;

/** Works out which AC nodes are live in a state and what feeds them, through transfer gear and pass-through inverters. */
export function circuitState(system: System, wiring: Graph, state: SourceState): CircuitState {
  const graph = wiring.plugged(state.plugged);
  const node = (instance: Instance, terminal: string): Node | undefined =>
    graph.nodes.get(`${instance.name}.${terminal}`);
  let supply = new Map<string, Set<Instance>>();
  for (let round = 0; round < MOST_ROUNDS; round += 1) {
    const before = supply;
    const next = new Map<string, Set<Instance>>();
    const give = (start: Node | undefined, feeders: Iterable<Instance>): void => {
      if (!start) return;
      for (const reached of graph.reach(start).values()) {
        const set = next.get(reached.key) ?? new Set();
        for (const feeder of feeders) set.add(feeder);
        next.set(reached.key, set);
      }
    };
    for (const source of state.acSources) give(node(source, sourceOf(source)!.at), [source]);
    for (const instance of system.instances) {
      const passed = passedOn(instance, before);
      const inverts = invertingOf(instance);
      if (passed) give(node(instance, passed.to), passed.feeders);
      else if (inverts) give(node(instance, inverts.to), [instance]);
    }
    supply = next;
    if (sameSupply(before, next) && round > 0) break;
  }
  const inverters = system.instances.filter(isInverter);
  const passing = new Set(inverters.filter((inverter) => passedOn(inverter, supply)));
  const backfed = backfedThroughTransfer(system, graph, supply);
  return {
    state,
    graph,
    supply,
    backfed,
    passing,
    inverting: new Set(inverters.filter((inverter) => !passing.has(inverter))),
  };
}

/** The terminal to which a thing passes its supply on, and the feeders it passes; undefined while it passes none. */
function passedOn(
  instance: Instance,
  supply: ReadonlyMap<string, ReadonlySet<Instance>>,
): { readonly to: string; readonly feeders: readonly Instance[] } | undefined {
  const passes = passingOf(instance);
  if (!passes) return undefined;
  // Its own output led back to its input is no supply.
  const feedersAt = (terminal: string): Instance[] =>
    [...(supply.get(`${instance.name}.${terminal}`) ?? [])].filter((feeder) => feeder !== instance);
  // Without a supply on its first side gear goes over to the next; without an interlock it can stand on all of them.
  const isInterlocked = passes.interlock === undefined || flagIn(instance.properties, passes.interlock) !== false;
  const sides = passes.from.map(feedersAt).filter((feeders) => feeders.length > 0);
  const feeders = isInterlocked ? (sides[0] ?? []) : [...new Set(sides.flat())];
  return feeders.length > 0 ? { to: passes.to, feeders } : undefined;
}

/** Gear that stands on one of several supplies. */
const choosesSupply = (instance: Instance): boolean => passingOf(instance)?.how === 'one';

/** What is made live from the load side of transfer gear whose supplies are both off, gear after gear. */
function backfedThroughTransfer(
  system: System,
  graph: Graph,
  supply: ReadonlyMap<string, ReadonlySet<Instance>>,
): ReadonlyMap<string, ReadonlySet<Instance>> {
  const backfed = new Map<string, Set<Instance>>();
  const waiting = system.instances.filter(choosesSupply);
  const feedersAt = (gear: Instance, terminal: string): readonly Instance[] => {
    const key = `${gear.name}.${terminal}`;
    return [...(supply.get(key) ?? []), ...(backfed.get(key) ?? [])];
  };
  for (let isChanged = true; isChanged;) {
    isChanged = false;
    for (const gear of waiting) {
      // With a supply on one side the gear stands there, and what is on its load side meets that supply.
      const { from, to } = passingOf(gear)!;
      if (from.some((side) => supply.get(`${gear.name}.${side}`)?.size)) continue;
      const feeders = feedersAt(gear, to);
      for (const side of from) {
        const start = graph.nodes.get(`${gear.name}.${side}`);
        const known = start && backfed.get(start.key);
        if (!start || feeders.every((feeder) => known?.has(feeder))) continue;
        isChanged = true;
        for (const key of graph.reach(start).keys()) {
          const set = backfed.get(key) ?? new Set();
          for (const feeder of feeders) set.add(feeder);
          backfed.set(key, set);
        }
      }
    }
  }
  return backfed;
}

function sameSupply(
  left: ReadonlyMap<string, ReadonlySet<Instance>>,
  right: ReadonlyMap<string, ReadonlySet<Instance>>,
): boolean {
  if (left.size !== right.size) return false;
  for (const [key, set] of left) {
    const other = right.get(key);
    if (!other || other.size !== set.size || [...set].some((each) => !other.has(each))) return false;
  }
  return true;
}

/** Things that can drive a fault current into a conductor. Inverters feed only their AC side, chargers only their DC side. */
export const canFeed = ({ instance, terminal }: Node): boolean =>
  faultSourcesOf(instance).some(({ at }) => at === terminal.name);
