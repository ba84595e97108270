import type { Node } from '../model/graph.js';
import type { CircuitState } from '../model/network.js';
import type { QuantityContext } from './define.js';

/** Where power goes on from a node inside a thing, in a state. */
export function acrossGear({ instance, terminal }: Node, circuit: CircuitState, context: QuantityContext): Node[] {
  const node = (name: string): Node[] => {
    const found = context.graph.nodes.get(`${instance.name}.${name}`);
    return found ? [found] : [];
  };
  if (instance.kind === 'transfer' && terminal.name !== 'out') {
    const normalLive = (circuit.supply.get(`${instance.name}.normal`)?.size ?? 0) > 0;
    return (terminal.name === 'normal') === normalLive ? node('out') : [];
  }
  if (instance.kind === 'inverter' && terminal.name === 'input' && circuit.passing.has(instance)) return node('ac');
  return [];
}
