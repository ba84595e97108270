/** What is joined to what on direct-current buses: the banks of a thing, and what charges them. */
import { ORIGINS } from '../../equipment/index.js';
import { numberIn } from '../../derivation/index.js';
import { waysPlugged } from '../../model/cords.js';
import type { Node } from '../../model/graph.js';
import { type DesignContext, query } from '../../model/context.js';
import { chargingOf, isArray, isBank, sourceOf, takesArray } from '../../model/roles.js';
import { type CircuitState, type SourceState, leadsOn } from '../../model/network.js';
import type { Instance } from '../../model/types.js';

/** A question about things of which each is asked once for all that are joined to each other, not again for each thing that asks. */
const askedOnce = (
  is: (thing: Instance) => boolean,
  title: string,
): ((node: Node, context: DesignContext) => readonly Instance[]) => {
  const asked = query<ReadonlyMap<string, Node>, readonly Instance[]>(title);
  return (node, context) =>
    context.kept(asked, context.graph.reach(node), () => context.graph.joinedTo(node).filter(is));
};

/** The banks that a node is joined to. */
export const banksJoinedTo = askedOnce(isBank, 'banks of an island');

/** The arrays that a node is joined to. */
export const arraysJoinedTo = askedOnce(isArray, 'arrays of an island');

const CHARGERS = query<Instance, readonly Instance[]>('what charges a bank');

/** What charges a bank: chargers (built-in ones too), charge controllers, DC-to-DC converters, and DC sources joined to it directly. */
export const chargersOf = (bank: Instance, context: DesignContext): readonly Instance[] =>
  context.kept(CHARGERS, bank, () => {
    const nodes = context.graph.nodesOf(bank).flatMap((node) => [...context.graph.reach(node).values()]);
    const chargers = new Set(
      nodes.filter(({ instance, terminal }) => chargingOf(instance)?.at === terminal.name).map((node) => node.instance),
    );
    // In the order of the design, so that sums and messages read like it.
    return chargers.size < 2 ? [...chargers] : context.system.instances.filter((each) => chargers.has(each));
  });

const BANKS = query<Instance, readonly Instance[]>('banks on the bus of a thing');

/** The terminals at which a thing lies on a bus of banks: not its alternating side, nor the array side of a charge controller. */
function busNodes(thing: Instance, context: DesignContext): Node[] {
  const charging = chargingOf(thing);
  const array = charging?.supply.kind === 'array' ? charging.supply.at : undefined;
  return context.graph.nodesOf(thing).filter(({ terminal }) => terminal.carries !== 'ac' && terminal.name !== array);
}

/** The banks whose DC node is joined to a node of a thing. */
export const banksAt = (thing: Instance, context: DesignContext): readonly Instance[] =>
  context.kept(BANKS, thing, () => [
    ...new Set(busNodes(thing, context).flatMap((node) => banksJoinedTo(node, context))),
  ]);

/** Whether a charger has its supply in a state. */
export function isCharging(
  charger: Instance,
  context: DesignContext,
  dcSources: SourceState['dcSources'],
  supply: CircuitState['supply'],
): boolean {
  const charging = chargingOf(charger);
  if (!charging) return false;
  const joined = (terminal: string): readonly Instance[] => {
    const node = context.graph.nodes.get(`${charger.name}.${terminal}`);
    return node ? context.graph.joinedTo(node) : [];
  };
  switch (charging.supply.kind) {
    // Its own output led back to its input charges nothing.
    case 'alternating':
      return [...(supply.get(`${charger.name}.${charging.supply.at}`) ?? [])].some((feeder) => feeder !== charger);
    case 'array':
      return joined(charging.supply.at).some((each) => dcSources.includes(each));
    case 'bus': {
      const near = joined(charging.supply.at);
      // A converter behind an engine charges while the engine runs: else it would only empty the starter battery.
      const isActive = near.some((each) => dcSources.includes(each));
      return near.some(runsWithEngine) ? isActive : isActive || near.some(isBank);
    }
    case 'own':
      return dcSources.includes(charger);
  }
}

/** Whether it gives power while an engine runs only. */
export const runsWithEngine = (instance: Instance): boolean => {
  const source = sourceOf(instance);
  return source !== undefined && ORIGINS[source.from].withEngine;
};

/** The chargers of a bank that have their supply in a state. */
export const workingChargers = (
  bank: Instance,
  state: SourceState,
  circuit: CircuitState,
  context: DesignContext,
): Instance[] =>
  chargersOf(bank, context).filter((charger) => isCharging(charger, context, state.dcSources, circuit.supply));

/** Whether nothing of what a charger gives can be counted on at any one time: wind. A play has it where it is stated. */
export function isUncertain(charger: Instance): boolean {
  const source = sourceOf(charger);
  return source !== undefined && ORIGINS[source.from].comes === 'unknown';
}

/** The modules on the array side of a charge controller that can be there together. */
export const modulesBehind = (controller: Instance, context: DesignContext): readonly Instance[] =>
  mostTogether(allModulesBehind(controller, context), context);

/** Of arrays whose cords exclude each other, those of the way with the most power; all where none do. */
export function mostTogether(all: readonly Instance[], context: DesignContext): readonly Instance[] {
  const { graph } = context;
  if (!all.some((array) => graph.broughtByCord.has(array))) return all;
  const watts = (of: readonly Instance[]): number =>
    of.reduce((sum, array) => {
      const power = context.quantity(array, 'arrayPower');
      return sum + (power.kind === 'known' ? numberIn(power.derivation, 'W') : 0);
    }, 0);
  return waysPlugged(graph.inlets, [])
    .map((cords) => all.filter((array) => leadsOn(array, graph.plugged(cords))))
    .reduce((most, next) => (watts(next) > watts(most) ? next : most));
}

/** The modules on the array side of a charge controller with all cords plugged in. */
export function allModulesBehind(controller: Instance, context: DesignContext): readonly Instance[] {
  const supply = chargingOf(controller)?.supply;
  const node = supply?.kind === 'array' ? context.graph.nodes.get(`${controller.name}.${supply.at}`) : undefined;
  return node ? arraysJoinedTo(node, context) : [];
}

/** The arrays on the solar side of a charge controller, in the order of the design. */
export function arraysOf(controller: Instance, context: DesignContext): readonly Instance[] {
  const node = context.graph.nodesOf(controller).find(takesArray);
  const joined = new Set(node ? context.graph.joinedTo(node) : []);
  return mostTogether(
    context.system.instances.filter((each) => isArray(each) && joined.has(each)),
    context,
  );
}
