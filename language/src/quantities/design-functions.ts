import { callFunction } from '../calculate/index.js';
import { type Derivation, type Result, refused } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { Instance, Thing } from '../model/types.js';
import { CHEMISTRY_NAMES } from '../reference/energy/chemistries.js';
import { calculation } from './bank.js';
import { steadyLoadCurrent } from './steady-load.js';
import { collect, whenKnown } from './worst.js';

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

const chargeTimeOf: DesignFunction = {
  name: 'chargeTime',
  signature: 'chargeTime(Bank, from, to)',
  doc: 'Time to charge a bank from one state of charge to another with all its chargers, less the steady load current.',
  compute: (thing, given, context) => {
    if (thing.kind !== 'battery') return refused(`chargeTime takes a battery; ${thing.name} is a ${thing.kind}`);
    const from = argument(given, 0, 'from');
    const to = argument(given, 1, 'to');
    if (!from || !to)
      return refused('chargeTime needs the states of charge `from` and `to`, as in chargeTime(Bank, 20 %, 90 %)');
    const all = collect([
      context.quantity(thing, 'bankCapacity'),
      context.quantity(thing, 'chargeCurrent'),
      steadyLoadCurrent(thing as Instance, context),
    ]);
    if (!all.ok) return all.result;
    const [capacity, current, load] = all.derivations as [Derivation, Derivation, Derivation];
    const limit = context.quantity(thing, 'chargeCurrentLimit');
    const chemistry = context.maybe(thing, 'chemistry');
    const isListed =
      typeof chemistry?.value === 'string' && (CHEMISTRY_NAMES as readonly string[]).includes(chemistry.value);
    return callFunction(calculation('chargeTime'), {
      capacity,
      from,
      to,
      current,
      load,
      ...(limit.kind === 'known' ? { limit: limit.derivation } : {}),
      ...(isListed ? { chemistry } : {}),
    });
  },
};

const netChargeCurrentOf: DesignFunction = {
  name: 'netChargeCurrent',
  signature: 'netChargeCurrent(Bank)',
  doc: 'Current left for a bank when all its chargers work and the steady loads run.',
  compute: (thing, _given, context) => {
    if (thing.kind !== 'battery') return refused(`netChargeCurrent takes a battery; ${thing.name} is a ${thing.kind}`);
    return whenKnown(context.quantity(thing, 'chargeCurrent'), (charger) =>
      whenKnown(steadyLoadCurrent(thing as Instance, context), (load) =>
        callFunction(calculation('netChargeCurrent'), { charger, load }),
      ),
    );
  },
};

export const DESIGN_FUNCTIONS: ReadonlyMap<string, DesignFunction> = new Map(
  [chargeTimeOf, netChargeCurrentOf].map((each) => [each.name, each]),
);
