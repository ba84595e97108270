import { callFunction } from '../calculate/index.js';
import {
  type Derivation,
  type Result,
  derive,
  known,
  missing,
  numberIn,
  refused,
  inState,
} from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { Instance, Thing } from '../model/types.js';
import { CHEMISTRY_NAMES } from '../reference/energy/chemistries.js';
import { isBank } from '../model/roles.js';
import { formatNumber } from '../quantity/index.js';
import { groupCapacity, groupChargeLimit } from './storage/bank-group.js';
import { chargeMarch, chargeNow } from './storage/charge-march.js';
import { type Balance, bestBalance } from './demand/steady-load.js';
import { whenKnown } from './worst.js';
import { calculation } from './calculation.js';

/** A function of the language whose first argument is a thing of the design; the rest of the facts come from the design. */
export interface DesignFunction {
  readonly name: string;
  /** For hovers and signature help: `chargeTime(Bank, from, to)`. */
  readonly signature: string;
  readonly doc: string;
  readonly compute: (
    thing: Thing,
    given: readonly { readonly name?: string; readonly derivation: Derivation }[],
    context: DesignContext,
  ) => Result;
}

const argument = (
  given: readonly { readonly name?: string; readonly derivation: Derivation }[],
  index: number,
  name: string,
): Derivation | undefined =>
  given.find((each) => each.name === name)?.derivation ??
  (given[index]?.name === undefined ? given[index]?.derivation : undefined);

/** Works with what chargers give and loads take in the state in which most is left for the bank. */
function inBestState(bank: Instance, context: DesignContext, use: (balance: Balance) => Result): Result {
  const balance = bestBalance(bank, context);
  if (!balance) return missing(`a charger of ${bank.name}`);
  return 'kind' in balance ? balance : use(balance);
}

/** The charge of the banks of a bus in the best state, followed along the state of charge; by rule of thumb where facts of a bank lack. */
function timeInBestState(
  bank: Instance,
  from: Derivation,
  to: Derivation,
  capacity: Derivation,
  { charge, load, state, circuit }: Balance,
  context: DesignContext,
): Result {
  const limit = groupChargeLimit(bank, context);
  const byRule = (): Result => {
    const chemistry = context.maybe(bank, 'chemistry');
    const isListed = (CHEMISTRY_NAMES as readonly unknown[]).includes(chemistry?.value);
    return callFunction(calculation('chargeTime'), {
      capacity,
      from,
      to,
      current: charge,
      load,
      ...(limit.kind === 'known' ? { limit: limit.derivation } : {}),
      ...(isListed ? { chemistry } : {}),
    });
  };
  const [first, last] = [numberIn(from, ''), numberIn(to, '')];
  const voltage = context.quantity(bank, 'bankVoltage');
  if (last <= first || voltage.kind !== 'known' || numberIn(charge, 'A') <= numberIn(load, 'A')) return byRule();
  const drawn = numberIn(load, 'A') * numberIn(voltage.derivation, 'V');
  const found = chargeMarch(bank, first, last, drawn, state, circuit, context);
  // Facts without which voltages are not known: what charges is then bounded by currents alone.
  if ('missing' in found) return byRule();
  if ('refused' in found) return refused(found.refused, 'cellTemperature');
  const { time, steady, tapering, charge: put, celsius, reached } = found;
  if (time === Infinity)
    return refused(
      `the charge ends at ${formatNumber(reached * 100, 3)} %: the chargers hold their voltage, and nothing flows into the bank any more`,
      'to',
    );
  const net = derive('charge current of the bank at the start', found.first, 'A', {
    symbol: 'I',
    formula: 'I_charger − I_load, no more than the bank takes',
    inputs: [charge, load, ...(limit.kind === 'known' ? [limit.derivation] : [])],
  });
  const amount = derive('charge to put in', put / 3600, 'Ah', {
    symbol: 'Q',
    formula: '∫ C/η ds',
    inputs: [capacity, from, to],
  });
  const constantCurrent = derive('time at the current and power of the chargers', steady, 's', { symbol: 't_1' });
  const falling = derive('time at falling current', tapering, 's', { symbol: 't_2' });
  return known(
    derive('charge time', time, 's', {
      symbol: 't',
      formula: '∫ C/(η·I(s)) ds',
      inputs: [net, amount, constantCurrent, falling],
      governing: charge.governing ?? [inState(state)],
      notes: [
        `followed along the state of charge with the cells at ${formatNumber(celsius, 3)} °C, resistances at the upper end of their range`,
      ],
      parts: { net, charge: amount, constantCurrent, tapering: falling },
    }),
  );
}

const chargeTimeOf: DesignFunction = {
  name: 'chargeTime',
  signature: 'chargeTime(Bank, from, to)',
  doc: 'Time to charge the banks of a bus from one state of charge to another, in the source state in which most is left for them: what the chargers give within their limits of output and input and what their supply has left, less the mean current of the loads, until their voltage is reached at the bank, resistances and cables counted.',
  compute: (thing, given, context) => {
    const bank = thing as Instance;
    if (!('terminals' in thing) || !isBank(bank))
      return refused(`chargeTime takes a battery; ${thing.name} is a ${thing.kind}`);
    const from = argument(given, 0, 'from');
    const to = argument(given, 1, 'to');
    if (!from || !to)
      return refused('chargeTime needs the states of charge `from` and `to`, as in chargeTime(Bank, 20 %, 90 %)');
    return whenKnown(groupCapacity(bank, context), (capacity) =>
      inBestState(bank, context, (balance) => timeInBestState(bank, from, to, capacity, balance, context)),
    );
  },
};

/** What is left for the banks of a bus in a state: what their network and limits let them take of it at half charge, where their facts are known. */
function netIn(bank: Instance, { charge, load, state, circuit }: Balance, context: DesignContext): Result {
  const net = callFunction(calculation('netChargeCurrent'), { charger: charge, load });
  const voltage = context.quantity(bank, 'bankVoltage');
  if (net.kind !== 'known' || voltage.kind !== 'known') return net;
  const drawn = numberIn(load, 'A') * numberIn(voltage.derivation, 'V');
  const found = chargeNow(bank, drawn, state, circuit, context);
  if ('missing' in found || found.amperes >= numberIn(net.derivation, 'A')) return net;
  return known(
    derive(net.derivation.name, found.amperes, 'A', {
      symbol: 'I_net',
      formula: 'min(I_charger − I_load, what the banks take)',
      inputs: [charge, load],
      governing: charge.governing ?? [inState(state)],
      notes: [
        'at half charge, with the limits that the bank sends over its link, its voltages and the drop of its cables',
      ],
    }),
  );
}

const netChargeCurrentOf: DesignFunction = {
  name: 'netChargeCurrent',
  signature: 'netChargeCurrent(Bank)',
  doc: 'Current left for a bank in the source state in which that is most: what its chargers give within their limits, less the mean current of the loads.',
  compute: (thing, _given, context) => {
    if (!('terminals' in thing) || !isBank(thing))
      return refused(`netChargeCurrent takes a battery; ${thing.name} is a ${thing.kind}`);
    const bank = thing as Instance;
    return inBestState(bank, context, (balance) => netIn(bank, balance, context));
  },
};

export const DESIGN_FUNCTIONS: ReadonlyMap<string, DesignFunction> = new Map(
  [chargeTimeOf, netChargeCurrentOf].map((each) => [each.name, each]),
);
