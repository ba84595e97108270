import { callFunction } from '../calculate/index.js';
import { type Derivation, type Result, missing, refused } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { Instance, Thing } from '../model/types.js';
import { CHEMISTRY_NAMES } from '../reference/energy/chemistries.js';
import { calculation } from './bank.js';
import { type Balance, bestBalance } from './steady-load.js';

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
  doc: 'Time to charge a bank from one state of charge to another, in the source state in which most is left for it: what its chargers give within their input limits, less the mean current of the loads.',
  compute: (thing, given, context) => {
    if (thing.kind !== 'battery') return refused(`chargeTime takes a battery; ${thing.name} is a ${thing.kind}`);
    const from = argument(given, 0, 'from');
    const to = argument(given, 1, 'to');
    if (!from || !to)
      return refused('chargeTime needs the states of charge `from` and `to`, as in chargeTime(Bank, 20 %, 90 %)');
    const capacity = context.quantity(thing, 'bankCapacity');
    if (capacity.kind !== 'known') return capacity;
    const limit = context.quantity(thing, 'chargeCurrentLimit');
    const chemistry = context.maybe(thing, 'chemistry');
    const isListed =
      typeof chemistry?.value === 'string' && (CHEMISTRY_NAMES as readonly string[]).includes(chemistry.value);
    return inBestState(thing as Instance, context, ({ charge, load }) =>
      callFunction(calculation('chargeTime'), {
        capacity: capacity.derivation,
        from,
        to,
        current: charge,
        load,
        ...(limit.kind === 'known' ? { limit: limit.derivation } : {}),
        ...(isListed ? { chemistry } : {}),
      }),
    );
  },
};

const netChargeCurrentOf: DesignFunction = {
  name: 'netChargeCurrent',
  signature: 'netChargeCurrent(Bank)',
  doc: 'Current left for a bank in the source state in which that is most: what its chargers give within their input limits, less the mean current of the loads.',
  compute: (thing, _given, context) => {
    if (thing.kind !== 'battery') return refused(`netChargeCurrent takes a battery; ${thing.name} is a ${thing.kind}`);
    return inBestState(thing as Instance, context, ({ charge, load }) =>
      callFunction(calculation('netChargeCurrent'), { charger: charge, load }),
    );
  },
};

export const DESIGN_FUNCTIONS: ReadonlyMap<string, DesignFunction> = new Map(
  [chargeTimeOf, netChargeCurrentOf].map((each) => [each.name, each]),
);
