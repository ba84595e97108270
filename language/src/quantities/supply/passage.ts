import type { Node } from '../../model/graph.js';
import type { CircuitState } from '../../model/network.js';
import type { QuantityContext } from '../define.js';
import { chosenSide, passingOf } from '../../model/roles.js';

/** Where power goes on from a node inside a thing, in a state. */
export function acrossGear({ instance, terminal }: Node, circuit: CircuitState, context: QuantityContext): Node[] {
  const node = (name: string): Node[] => {
    const found = context.graph.nodes.get(`${instance.name}.${name}`);
    return found ? [found] : [];
  };
  const passes = passingOf(instance);
  if (!passes?.from.includes(terminal.name)) return [];
  const isOn =
    passes.how === 'one'
      ? chosenSide(passes, (side) => (circuit.supply.get(`${instance.name}.${side}`)?.size ?? 0) > 0) === terminal.name
      : circuit.passing.has(instance);
  return isOn ? node(passes.to) : [];
}
