import { groupCapacity } from '../../quantities/storage/bank-group.js';
import { chargeTimeIn } from '../../quantities/storage/charge-time.js';
import { type Derivation, type Result, deriveQuantity, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Control, Instance } from '../../model/types.js';
import { chargeBy } from '../../quantities/supply/generator-day.js';
import { collect } from '../../quantities/worst.js';
import { isBelow, pairs } from '../control/rules.js';
import { isBank } from '../../model/roles.js';

/** A charge that a control asks of its set: from its start to its stop threshold on state of charge. */
export interface ChargeRun {
  readonly control: Control;
  readonly bank: Instance;
  readonly from: Derivation;
  readonly to: Derivation;
  /** Time the charge takes with this set alone, loads running by profile and duty. */
  readonly time: Result;
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
  const all = collect([groupCapacity(bank, context), by.charge, by.load]);
  if (!all.ok) return all.result;
  const [capacity, charge, load] = all.derivations as [Derivation, Derivation, Derivation];
  return chargeTimeIn(bank, from, to, capacity, { ...by, charge, load }, context);
}

/** The charges that the controls of a set ask of it by state of charge. */
export function chargeRuns(set: Instance, context: DesignContext): ChargeRun[] {
  return context.system.controls
    .filter(({ target }) => target === set)
    .flatMap((control) =>
      pairs({ control, title: control.name, rules: control.rules }).flatMap(({ on, off }) => {
        if (on.signal !== 'soc' || !isBelow(on) || !isBank(on.of)) return [];
        const from = deriveQuantity('start threshold', on.limit, { origin: 'stated', place: on.limitPlace });
        const to = deriveQuantity('stop threshold', off.limit, { origin: 'stated', place: off.limitPlace });
        if (numberIn(to, '') <= numberIn(from, '')) return [];
        const time = chargeTimeBy(set, on.of, from, to, context);
        return time ? [{ control, bank: on.of, from, to, time }] : [];
      }),
    );
}
