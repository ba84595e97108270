import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, deriveQuantity, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Control, Instance } from '../../model/types.js';
import { calculation, chargersOf, isCharging } from '../../quantities/bank.js';
import { deliveredIn, loadIn } from '../../quantities/steady-load.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { CHEMISTRY_NAMES } from '../../reference/energy/chemistries.js';
import { isBelow, pairs } from '../control/rules.js';

/** A charge that a control asks of its set: from its start to its stop threshold on state of charge. */
export interface ChargeRun {
  readonly control: Control;
  readonly bank: Instance;
  readonly from: Derivation;
  readonly to: Derivation;
  /** Time the charge takes with this set alone, loads running by profile and duty. */
  readonly time: Result;
}

/** What the chargers give and the loads take while one set alone charges a bank; undefined where it charges nothing. */
export function chargeBy(
  set: Instance,
  bank: Instance,
  context: DesignContext,
): { readonly charge: Result; readonly load: Result; readonly working: readonly Instance[] } | undefined {
  const alone = context.circuitStates.find(
    ({ state }) => state.acSources.length === 1 && state.acSources[0] === set && state.dcSources.length === 0,
  );
  if (!alone) return undefined;
  const working = chargersOf(bank, context).filter((charger) =>
    isCharging(charger, context, alone.state.dcSources, alone.circuit.supply),
  );
  if (working.length === 0) return undefined;
  const all = collect(working.map((charger) => deliveredIn(charger, bank, alone.circuit, context)));
  const charge: Result = all.ok
    ? { kind: 'known', derivation: sumOf('charger output', 'I_chg', 'A', all.derivations) }
    : all.result;
  return { charge, load: loadIn(bank, alone.circuit, context), working };
}

/** Time a set alone needs to charge a bank between two states of charge. */
export function chargeTimeBy(
  set: Instance,
  bank: Instance,
  from: Derivation,
  to: Derivation,
  context: DesignContext,
): Result | undefined {
  const by = chargeBy(set, bank, context);
  if (!by) return undefined;
  const all = collect([context.quantity(bank, 'bankCapacity'), by.charge, by.load]);
  if (!all.ok) return all.result;
  const [capacity, current, load] = all.derivations as [Derivation, Derivation, Derivation];
  const limit = context.quantity(bank, 'chargeCurrentLimit');
  const chemistry = context.maybe(bank, 'chemistry');
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
}

/** The charges that the controls of a set ask of it by state of charge. */
export function chargeRuns(set: Instance, context: DesignContext): ChargeRun[] {
  return context.system.controls
    .filter(({ target }) => target === set)
    .flatMap((control) =>
      pairs({ control, title: control.name, rules: control.rules }).flatMap(({ on, off }) => {
        if (on.signal !== 'soc' || !isBelow(on) || on.of.kind !== 'battery') return [];
        const from = deriveQuantity('start threshold', on.limit, { origin: 'stated', place: on.limitPlace });
        const to = deriveQuantity('stop threshold', off.limit, { origin: 'stated', place: off.limitPlace });
        if (numberIn(to, '') <= numberIn(from, '')) return [];
        const time = chargeTimeBy(set, on.of, from, to, context);
        return time ? [{ control, bank: on.of, from, to, time }] : [];
      }),
    );
}

/** A time in hours for messages, the tenth of an hour below or above it. */
export const hoursBelow = (time: Derivation): number => Math.floor(numberIn(time, 'h') * 10 + 1e-9) / 10;
