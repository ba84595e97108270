import { callFunction } from '../../calculate/index.js';
import {
  type Derivation,
  type Reason,
  type Result,
  derive,
  inState,
  known,
  numberIn,
  refused,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { CHEMISTRY_NAMES } from '../../reference/energy/chemistries.js';
import { calculation } from '../calculation.js';
import type { Balance } from '../demand/steady-load.js';
import { cellsOutside, refusedOutside } from '../plant/cell-limits.js';
import { workingChargers } from '../supply/joined.js';
import { groupAcceptance, groupChargeLimit, groupOf } from './bank-group.js';
import { chargeMarch, chargeNow } from './charge-march.js';

/** Time of a charge of the banks of a bus in a state, followed along the state of charge; by rule of thumb where facts of a bank lack. */
export function chargeTimeIn(
  bank: Instance,
  from: Derivation,
  to: Derivation,
  capacity: Derivation,
  { charge, load, state, circuit }: Balance,
  context: DesignContext,
): Result {
  const working = workingChargers(bank, state, circuit, context);
  const accepted = groupAcceptance(bank, working, context);
  const limit = accepted ? known(accepted) : groupChargeLimit(bank, context);
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
  const outside = last > first ? refusedOutside(groupOf(bank, context), 'charge', context) : undefined;
  if (outside) return outside;
  const voltage = context.quantity(bank, 'bankVoltage');
  if (last <= first || voltage.kind !== 'known' || numberIn(charge, 'A') <= numberIn(load, 'A')) return byRule();
  const drawn = numberIn(load, 'A') * numberIn(voltage.derivation, 'V');
  const found = chargeMarch(bank, first, last, drawn, state, circuit, context);
  // Facts without which voltages are not known: what charges is then bounded by currents alone.
  if ('missing' in found) return byRule();
  const { time, steady, tapering, charge: put, celsius, reached } = found;
  if (time === Infinity)
    return refused(
      `the charge ends at ${formatNumber(reached * 100, 3)} %: the chargers hold their voltage, and nothing flows into the bank any more`,
      'to',
    );
  const net = derive('charge current of the bank at the start', found.first, 'A', {
    symbol: 'I',
    formula: 'I_charger − I_load, no more than the bank accepts',
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

/** What is left for the banks of a bus in a state: what their network and limits let them take of it at half charge, where their facts are known. */
export function netChargeIn(bank: Instance, { charge, load, state, circuit }: Balance, context: DesignContext): Result {
  const net = callFunction(calculation('netChargeCurrent'), { charger: charge, load });
  const voltage = context.quantity(bank, 'bankVoltage');
  if (net.kind !== 'known') return net;
  const most = numberIn(net.derivation, 'A');
  const taken = (amperes: number, notes: readonly string[], ...ahead: readonly Reason[]): Result =>
    known(
      derive(net.derivation.name, amperes, 'A', {
        symbol: 'I_net',
        formula: 'min(I_charger − I_load, what the banks take)',
        inputs: [charge, load],
        governing: [...ahead, ...(charge.governing ?? [inState(state)])],
        notes,
      }),
    );
  const outside = groupOf(bank, context).flatMap((each) => cellsOutside(each, 'charge', context) ?? [])[0];
  if (outside && most > 0)
    return taken(0, [], { kind: 'cellTemperature', celsius: outside.reaches }, { kind: 'noCharging' });
  const accepted = groupAcceptance(bank, workingChargers(bank, state, circuit, context), context);
  const asked = accepted ? numberIn(accepted, 'A') : Infinity;
  const drawn = voltage.kind === 'known' ? numberIn(load, 'A') * numberIn(voltage.derivation, 'V') : NaN;
  const found = voltage.kind === 'known' ? chargeNow(bank, drawn, state, circuit, context) : undefined;
  // Without the facts of its voltages a charge is bounded by currents alone.
  const amperes = found && 'amperes' in found ? found.amperes : asked;
  if (amperes >= most) return net;
  return taken(amperes, [
    'at half charge, with the limits that the bank sends over its link, its voltages and the drop of its cables',
  ]);
}
