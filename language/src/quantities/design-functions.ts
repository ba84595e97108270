import { type Derivation, type Result, missing, refused } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { Instance, Thing } from '../model/types.js';
import { isBank } from '../model/roles.js';
import { groupCapacity } from './storage/bank-group.js';
import { chargeTimeIn, netChargeIn } from './storage/charge-time.js';
import { type Balance, bestBalance } from './demand/steady-load.js';
import { whenKnown } from './worst.js';

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

const chargeTimeOf: DesignFunction = {
  name: 'chargeTime',
  signature: 'chargeTime(Bank, from, to)',
  doc: 'Time to charge the banks of a bus from one state of charge to another, in the source state in which most is left for them: what the chargers give within their limits of output and input and what their supply has left, less the mean current of the loads, until their voltage is reached at the bank, resistances and cables counted.',
  compute: (thing, given, context) => {
    const bank = thing as Instance;
    if (!('terminals' in thing) || !isBank(bank))
      return refused(`chargeTime needs a battery; ${thing.name} is a ${thing.kind}`);
    const from = argument(given, 0, 'from');
    const to = argument(given, 1, 'to');
    if (!from || !to)
      return refused('chargeTime needs the states of charge `from` and `to`, as in chargeTime(Bank, 20 %, 90 %)');
    return whenKnown(groupCapacity(bank, context), (capacity) =>
      inBestState(bank, context, (balance) => chargeTimeIn(bank, from, to, capacity, balance, context)),
    );
  },
};

const netChargeCurrentOf: DesignFunction = {
  name: 'netChargeCurrent',
  signature: 'netChargeCurrent(Bank)',
  doc: 'Current left for a bank in the source state in which that is most: what its chargers give within their limits, less the mean current of the loads.',
  compute: (thing, _given, context) => {
    if (!('terminals' in thing) || !isBank(thing))
      return refused(`netChargeCurrent needs a battery; ${thing.name} is a ${thing.kind}`);
    const bank = thing as Instance;
    return inBestState(bank, context, (balance) => netChargeIn(bank, balance, context));
  },
};

export const DESIGN_FUNCTIONS: ReadonlyMap<string, DesignFunction> = new Map(
  [chargeTimeOf, netChargeCurrentOf].map((each) => [each.name, each]),
);
