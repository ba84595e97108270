import type { Result } from '../../derivation/index.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { QuantityContext } from '../define.js';
import { chargesAt, chargingOf, isBank, isLoad, takesArray, takesToConvert, takesToInvert } from '../../model/roles.js';
import { isCharging } from '../supply/joined.js';
import { dcLoadCurrent } from '../demand/loads.js';
import { converterInput } from '../demand/lowest-voltages.js';

/** Things that take or give whatever the rest of the network does: a bank, and the array side of a charge controller. */
export const isUnlimited = ({ instance, terminal }: Node): boolean =>
  isBank(instance) || takesArray({ instance, terminal });

/** Whether a thing can draw at a node at all, in any state. */
export const mayDrawDirect = (node: Node): boolean =>
  takesToInvert(node) || isLoad(node.instance) || takesToConvert(node);

/** Whether a thing can give at a node at all, in any state. */
export const mayGiveDirect = (node: Node): boolean => chargesAt(node);

/** Current that one thing can draw from the DC network in a state; undefined when it draws none, or is unlimited. */
export function dcDemand(node: Node, circuit: CircuitState, context: QuantityContext): Result | undefined {
  const { instance } = node;
  if (takesToInvert(node)) return circuit.inverting.has(instance) ? context.quantity(instance, 'dcCurrent') : undefined;
  if (isLoad(instance)) return dcLoadCurrent(instance, context);
  return takesToConvert(node) ? converterInput(instance, context) : undefined;
}

/** Current that one thing can push into the DC network in a state; undefined when it gives none, or is unlimited. */
export function dcSupply(
  node: Node,
  state: SourceState,
  circuit: CircuitState,
  context: QuantityContext,
): Result | undefined {
  const { instance } = node;
  const charges = chargesAt(node) ? chargingOf(instance) : undefined;
  switch (charges?.supply.kind) {
    case 'own':
      // Modules follow any voltage: what they give is their own current, not one they are set to.
      return state.dcSources.includes(instance)
        ? context.quantity(instance, charges!.isUnregulated ? 'arrayCurrent' : 'outputCurrent')
        : undefined;
    case 'alternating':
    case 'array':
      return isCharging(instance, context, state.dcSources, circuit.supply)
        ? context.quantity(instance, 'outputCurrent')
        : undefined;
    case 'bus':
      return context.quantity(instance, 'outputCurrent');
    case undefined:
      return undefined;
  }
}
