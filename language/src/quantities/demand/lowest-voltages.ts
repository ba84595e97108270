/** What things draw while their direct-current bus is at its lowest voltage, and what that is, before any cable loses of it. */
import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import type { Node } from '../../model/graph.js';
import { chargingOf, isBusCharger, isLoad, takesToConvert, takesToInvert } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import type { QuantityContext } from '../define.js';
import { lowEnd } from '../ends.js';
import { banksAt } from '../supply/joined.js';
import { collect, whenKnown } from '../worst.js';

/** The converter whose output a thing hangs on; undefined for none. */
function feederOfBus(thing: Instance, context: QuantityContext): Instance | undefined {
  const nodes = context.graph.nodesOf(thing).flatMap((node) => [...context.graph.reach(node).values()]);
  return nodes.find(({ instance: each, terminal }) => isBusCharger(each) && chargingOf(each)?.at === terminal.name)
    ?.instance;
}

/** What holds the bus of a thing: its banks, else the converter that feeds it. */
export function holdersOfBus(thing: Instance, context: QuantityContext): readonly Instance[] {
  const banks = banksAt(thing, context);
  if (banks.length > 0) return banks;
  const feeder = feederOfBus(thing, context);
  return feeder ? [feeder] : [];
}

/** Lowest voltage of the DC bus a thing hangs on: that of its bank, else the least output of the converter that feeds it. */
export function lowestBusVoltage(thing: Instance, context: QuantityContext): Result {
  const [bank] = banksAt(thing, context);
  if (bank) return context.quantity(bank, 'lowestVoltage');
  const feeder = feederOfBus(thing, context);
  if (!feeder) return missing(`a bank for ${thing.name}`);
  return whenKnown(context.fact(feeder, 'output'), (output) =>
    known({ ...lowEnd(output), name: 'lowest bus voltage', symbol: 'U_min' }),
  );
}

/** The window of direct voltages that an inverter states. */
function windowOf(thing: Instance, context: QuantityContext): Derivation | undefined {
  const window = context.maybe(thing, 'dcVoltage');
  return window && typeof window.value === 'object' ? window : undefined;
}

/** Whether an inverter states the lowest voltage at its own terminals; the lowest of its bank counts else. */
export const statesLowest = (thing: Instance, context: QuantityContext): boolean =>
  context.maybe(thing, 'cutOff') !== undefined || windowOf(thing, context) !== undefined;

/** Lowest DC voltage at which an inverter still gives its rated power. */
export const lowestInverterVoltage = (thing: Instance, context: QuantityContext): Result => {
  const cutOff = context.maybe(thing, 'cutOff');
  if (cutOff) return known({ ...lowEnd(cutOff), symbol: 'U_min' });
  const window = windowOf(thing, context);
  if (window) return known({ ...lowEnd(window), symbol: 'U_min', name: 'lowest voltage of its window' });
  const [bank] = banksAt(thing, context);
  return bank ? context.quantity(bank, 'lowestVoltage') : missing(`cutOff of ${thing.name}`);
};

/** Input current of a DC-to-DC converter at full output and its lowest input voltage. */
export function converterInput(instance: Instance, context: QuantityContext): Result {
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
      {
        symbol: `I_${instance.name}`,
        formula: 'I·U_out/(η·U_in,min)',
        inputs: [{ ...current, symbol: 'I' }, output, input, efficiency],
        subject: instance.name,
      },
    ),
  );
}

/** A that a thing draws at a node while no cable loses anything; 0 where it draws nothing, or facts lack. */
export function drawnBeforeCables({ instance, terminal }: Node, context: QuantityContext): number {
  const over = (watts: Result, volts: Result, efficiency = 1): number =>
    watts.kind === 'known' && volts.kind === 'known'
      ? numberIn(watts.derivation, 'W') / (numberIn(volts.derivation, 'V') * efficiency)
      : 0;
  if (isLoad(instance)) return over(context.quantity(instance, 'totalPower'), lowestBusVoltage(instance, context));
  if (takesToInvert({ instance, terminal })) {
    const efficiency = context.maybe(instance, 'efficiency');
    return efficiency
      ? over(
          context.fact(instance, 'rated'),
          lowestInverterVoltage(instance, context),
          numberIn(lowEnd(efficiency), ''),
        )
      : 0;
  }
  if (!takesToConvert({ instance, terminal })) return 0;
  const input = converterInput(instance, context);
  return input.kind === 'known' ? numberIn(input.derivation, 'A') : 0;
}
