import { type Derivation, type Result, derive, known, missing, numberIn } from '../derivation/index.js';
import type { Node } from '../model/graph.js';
import type { CircuitState, SourceState } from '../model/network.js';
import type { Instance } from '../model/types.js';
import type { QuantityContext } from './define.js';
import { collect } from './worst.js';
import { isCharging } from './joined.js';
import { dcLoadCurrent } from './loads.js';

/** Things that take or give whatever the rest of the network does: a bank, and the array side of a charge controller. */
export const isUnlimited = ({ instance, terminal }: Node): boolean =>
  instance.kind === 'battery' || (instance.kind === 'chargeController' && terminal.name === 'solar');

/** Current that one thing can draw from the DC network in a state; undefined when it draws none, or is unlimited. */
export function dcDemand(
  { instance, terminal }: Node,
  circuit: CircuitState,
  context: QuantityContext,
): Result | undefined {
  switch (instance.kind) {
    case 'inverter':
      return terminal.name === 'dc' && circuit.inverting.has(instance)
        ? context.quantity(instance, 'dcCurrent')
        : undefined;
    case 'load':
      return dcLoadCurrent(instance, context);
    case 'converter':
      return terminal.name === 'in' ? converterInput(instance, context) : undefined;
    default:
      return undefined;
  }
}

/** Current that one thing can push into the DC network in a state; undefined when it gives none, or is unlimited. */
export function dcSupply(
  { instance, terminal }: Node,
  state: SourceState,
  circuit: CircuitState,
  context: QuantityContext,
): Result | undefined {
  switch (instance.kind) {
    case 'solar':
      return state.dcSources.includes(instance) ? context.quantity(instance, 'arrayCurrent') : undefined;
    case 'charger':
    case 'chargeController':
    case 'inverter':
      return terminal.name === 'dc' &&
        (instance.kind !== 'inverter' || instance.properties.has('currentLimit')) &&
        isCharging(instance, context, state.dcSources, circuit.supply)
        ? context.quantity(instance, 'outputCurrent')
        : undefined;
    case 'converter':
      return terminal.name === 'out' ? context.quantity(instance, 'outputCurrent') : undefined;
    case 'wind':
    case 'alternator':
    case 'vehicle':
      return state.dcSources.includes(instance) ? context.quantity(instance, 'outputCurrent') : undefined;
    default:
      return undefined;
  }
}

/** Input current of a DC-to-DC converter at full output and its lowest input voltage. */
function converterInput(instance: Instance, context: QuantityContext): Result {
  const all = collect([
    context.quantity(instance, 'outputCurrent'),
    context.fact(instance, 'output'),
    context.fact(instance, 'input'),
    context.fact(instance, 'efficiency'),
  ]);
  if (!all.ok) return all.result;
  const [current, output, input, efficiency] = all.derivations as [Derivation, Derivation, Derivation, Derivation];
  const high = typeof output.value === 'object' ? output.value.high : 0;
  const low = typeof input.value === 'object' ? input.value.low : 0;
  if (low <= 0) return missing(`input of ${instance.name}`);
  return known(
    derive(
      `input current of ${instance.name}`,
      (numberIn(current, 'A') * high) / (low * numberIn(efficiency, '')),
      'A',
      { symbol: `I_${instance.name}`, formula: 'I·U_out/(η·U_in,min)', inputs: [current, output, input, efficiency] },
    ),
  );
}
