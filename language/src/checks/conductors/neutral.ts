import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import { type CircuitState, type SourceState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { wordIn } from '../../model/stated-facts.js';
import {
  isAcSource,
  bondingOf,
  chosenSide,
  isAcConsumer,
  isConnection,
  isJoint,
  isTransferGear,
  machineOf,
  passingOf,
} from '../../model/roles.js';

/** Things that can join neutral and earth, or lack the fact whether they do. */
export interface NeutralRegion {
  /** AC nodes whose neutrals are joined in this state, live ones. */
  readonly nodes: readonly Node[];
  /** What feeds the region. */
  readonly sources: readonly Instance[];
  readonly bonds: readonly Instance[];
  /** Facts that would say whether there are more bonds: `neutralBond of Inv`, `switches of Ats`. */
  readonly unsaid: readonly string[];
}

/** What a thing states about its neutral; a proposal is tried by asking as if it were carried out. */
export type NeutralFact = (instance: Instance, name: 'neutralBond' | 'switches') => string | undefined;

export const asStated: NeutralFact = (instance, name) => wordIn(instance.properties, name);

/** A source that is plugged in counts as unplugged, neutral and bond with it, in states in which it does not feed. */
const isUnplugged = (instance: Instance, state: SourceState): boolean =>
  isAcSource(instance) && instance.properties.has('outlet') && !state.acSources.includes(instance);

/** Where a neutral goes on inside a thing: transfer gear that switches phases only joins all three; an inverter joins input and output while it passes a supply, and always where its relay opens the phases only. */
export function joinedInside(
  { instance, terminal }: Node,
  circuit: CircuitState,
  context: DesignContext,
  fact: NeutralFact,
): Node[] {
  const node = (name: string): Node[] => {
    const found = context.graph.nodes.get(`${instance.name}.${name}`);
    return found ? [found] : [];
  };
  const passes = passingOf(instance);
  if (!passes) return [];
  const { from, to, how } = passes;
  // A relay that opens the phases only leaves the neutrals joined while the inverter feeds by itself.
  if (how === 'relay')
    return !circuit.passing.has(instance) && fact(instance, 'switches') !== 'phases'
      ? []
      : from.includes(terminal.name)
        ? node(to)
        : terminal.name === to
          ? from.flatMap(node)
          : [];
  if (fact(instance, 'switches') === 'phases')
    return [...from, to].filter((name) => name !== terminal.name).flatMap(node);
  const chosen = chosenSide(passes, (side) => (circuit.supply.get(`${instance.name}.${side}`)?.size ?? 0) > 0);
  if (terminal.name === to) return node(chosen);
  return terminal.name === chosen ? node(to) : [];
}

/** Whether a thing bonds neutral to earth in a state; undefined when it does not say. Things that never bond give `no`. */
export function bonding(
  { instance, terminal }: Node,
  circuit: CircuitState,
  fact: NeutralFact,
): 'yes' | 'no' | 'unsaid' {
  const bonds = bondingOf(instance);
  if (!bonds || (bonds.at !== undefined && bonds.at !== terminal.name)) return 'no';
  if (isUnplugged(instance, circuit.state)) return 'no';
  const word = fact(instance, 'neutralBond');
  if (word === undefined) return bonds.unsaid === 'open' ? 'unsaid' : 'no';
  return word === 'bonded' || (word === 'switched' && circuit.inverting.has(instance)) ? 'yes' : 'no';
}

/** The live neutral regions of a state: AC nodes whose neutrals are joined, with every bond in them. */
export function neutralRegions(
  circuit: CircuitState,
  context: DesignContext,
  fact: NeutralFact = asStated,
): NeutralRegion[] {
  const regions: NeutralRegion[] = [];
  const done = new Set<string>();
  for (const [key, feeders] of circuit.supply) {
    const start = context.graph.nodes.get(key);
    if (!start || feeders.size === 0 || done.has(key)) continue;
    const seen = new Map<string, Node>();
    const queue = [start];
    for (let node = queue.pop(); node; node = queue.pop()) {
      if (seen.has(node.key)) continue;
      for (const reached of circuit.graph.reach(node).values()) {
        seen.set(reached.key, reached);
        for (const other of joinedInside(reached, circuit, context, fact)) if (!seen.has(other.key)) queue.push(other);
      }
    }
    for (const reached of seen.keys()) done.add(reached);
    const nodes = [...seen.values()];
    // Nothing but a source that feeds nothing is no system to be judged.
    if (
      !nodes.some(({ instance }) => isAcConsumer(instance) || isJoint(instance) || isConnection(instance)) ||
      nodes.length < 2
    )
      continue;
    const by = (answer: 'yes' | 'unsaid'): Instance[] => [
      ...new Set(nodes.filter((node) => bonding(node, circuit, fact) === answer).map(({ instance }) => instance)),
    ];
    const transfers = new Set(nodes.map(({ instance }) => instance).filter(isTransferGear));
    const unsaid = [
      ...by('unsaid').map(({ name }) => `neutralBond of ${name}`),
      ...[...transfers].flatMap((each) => (fact(each, 'switches') ? [] : [`switches of ${each.name}`])),
    ];
    const sources = [...new Set(nodes.flatMap((node) => [...(circuit.supply.get(node.key) ?? [])]))];
    // The outlets of one machine have one bond.
    const bonds = by('yes').filter((each, index, all) => {
      const machine = machineOf(each);
      return machine === undefined || all.findIndex((other) => machineOf(other) === machine) === index;
    });
    regions.push({ nodes, sources, bonds, unsaid });
  }
  return regions;
}
