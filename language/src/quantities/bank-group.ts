/**
 * Banks that hang on one bus are one store: their capacities add up, and what charges or empties the bus divides among them as their
 * resistances say.
 */
import { type Derivation, type Result, derive, known, numberIn, becauseOf } from '../derivation/index.js';
import { type DesignContext, query } from '../model/context.js';
import type { Instance } from '../model/types.js';
import { banksAt } from './joined.js';
import { Facts } from './plant/facts.js';
import { busesOf } from './plant/wiring.js';
import { collect, sumOf, whenKnown } from './worst.js';

/** The banks of the bus of a bank, itself among them. */
export const groupOf = (bank: Instance, context: DesignContext): readonly Instance[] => {
  const banks = banksAt(bank, context);
  return banks.includes(bank) ? banks : [bank];
};

/** Capacity of all banks on the bus of a bank. */
export function groupCapacity(bank: Instance, context: DesignContext): Result {
  const banks = groupOf(bank, context);
  if (banks.length === 1) return context.quantity(bank, 'bankCapacity');
  const all = collect(banks.map((each) => context.quantity(each, 'bankCapacity')));
  return all.ok
    ? known(
        sumOf(
          'capacity of the banks on the bus',
          'C',
          'Ah',
          all.derivations.map((each, at) => ({ ...each, symbol: `C_${banks[at]!.name}` })),
        ),
      )
    : all.result;
}

/** Whether a charger hears one of the banks of a bus over a link, and so keeps to what they take. */
export const isLinked = (charger: Instance, bank: Instance, context: DesignContext): boolean => {
  const group = groupOf(bank, context);
  return context.system.links.some(
    ({ from, to }) => [from, to].includes(charger) && group.some((each) => [from, to].includes(each)),
  );
};

const SHARES = query<Instance, Result>('share of a bank in the current of its bus');

/**
 * Share of the current of a bus that goes into (or comes out of) one of its banks: by the conductance of each with its leads; by capacity
 * where a resistance is not known.
 */
export const bankShare = (bank: Instance, context: DesignContext): Result =>
  context.kept(SHARES, bank, () => {
    const banks = groupOf(bank, context);
    if (banks.length === 1) return known(derive(`share of ${bank.name}`, 1, '', { symbol: 'a' }));
    const conductances = banks.map((each) => conductanceOf(each, context));
    if (conductances.every((each) => each !== undefined)) {
      const sum = conductances.reduce((total, each) => total + each!, 0);
      const own = conductances[banks.indexOf(bank)]!;
      return known(
        derive(`share of ${bank.name}`, own / sum, '', {
          symbol: 'a',
          formula: '(1/R)/Σ(1/R)',
          inputs: banks.map((each, at) =>
            derive(`resistance of ${each.name} with its leads`, 1 / conductances[at]!, 'ohm', {
              symbol: `R_${each.name}`,
            }),
          ),
        }),
      );
    }
    const all = collect(banks.map((each) => context.quantity(each, 'bankCapacity')));
    if (!all.ok) return all.result;
    const ampereHours = (each: Derivation): number => numberIn(each, 'Ah');
    const sum = all.derivations.reduce((total, each) => total + ampereHours(each), 0);
    return known(
      derive(`share of ${bank.name}`, ampereHours(all.derivations[banks.indexOf(bank)]!) / sum, '', {
        symbol: 'a',
        formula: 'C/ΣC',
        inputs: all.derivations.map((each, at) => ({ ...each, symbol: `C_${banks[at]!.name}` })),
        notes: ['by capacity: not all resistances are known'],
      }),
    );
  });

/** Siemens of a bank with its leads; undefined where its resistance is not known. */
function conductanceOf(bank: Instance, context: DesignContext): number | undefined {
  const found = context.quantity(bank, 'bankResistance');
  if (found.kind !== 'known') return undefined;
  const ohms = numberIn(found.derivation, 'ohm') + busesOf(context, new Facts()).leads(bank, 'dc');
  return ohms > 0 ? 1 / ohms : undefined;
}

/** Ohm between the cells of all banks of a bus and the bus, over the ranges of their resistances; undefined where one is not known. */
export function groupResistance(
  bank: Instance,
  context: DesignContext,
): { readonly low: number; readonly high: number } | undefined {
  let [most, least] = [0, 0];
  for (const each of groupOf(bank, context)) {
    const found = context.quantity(each, 'bankResistance');
    const value = found.kind === 'known' ? found.derivation.value : undefined;
    if (typeof value !== 'object') return undefined;
    most += 1 / value.low;
    least += 1 / value.high;
  }
  return { low: 1 / most, high: 1 / least };
}

/** Current that goes into one bank of what charges its bus. */
export const currentInto = (bank: Instance, total: Derivation, context: DesignContext): Result =>
  groupOf(bank, context).length === 1
    ? known(total)
    : whenKnown(bankShare(bank, context), (share) =>
        known({
          ...derive(`charge current into ${bank.name}`, numberIn(total, 'A') * numberIn(share, ''), 'A', {
            symbol: 'I_chg',
            formula: 'I·a',
            inputs: [{ ...total, symbol: 'I' }, share],
          }),
          ...becauseOf(total),
        }),
      );

/** Most that all banks of a bus may be charged with together, so that none of them gets more than it takes. */
export function groupChargeLimit(bank: Instance, context: DesignContext): Result {
  const banks = groupOf(bank, context);
  if (banks.length === 1) return context.quantity(bank, 'chargeCurrentLimit');
  const limits = banks.map((each) =>
    whenKnown(context.quantity(each, 'chargeCurrentLimit'), (limit) =>
      whenKnown(bankShare(each, context), (share) =>
        known(
          derive(`most on the bus for ${each.name}`, numberIn(limit, 'A') / numberIn(share, ''), 'A', {
            symbol: `I_${each.name}`,
            formula: 'I_chg/a',
            inputs: [limit, share],
          }),
        ),
      ),
    ),
  );
  const all = collect(limits);
  if (!all.ok) return all.result;
  const least = all.derivations.reduce((so, next) => (numberIn(next, 'A') < numberIn(so, 'A') ? next : so));
  return known(
    derive('charge current limit of the banks on the bus', numberIn(least, 'A'), 'A', {
      symbol: 'I_chg',
      formula: `min(${all.derivations.map(({ symbol }) => symbol).join(', ')})`,
      inputs: all.derivations,
    }),
  );
}
