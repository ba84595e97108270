/**
 * Banks that hang on one bus are one store: their capacities add up, and what charges or empties the bus divides among them as their
 * resistances say.
 */
import { type Derivation, type Result, becauseOf, derive, known, numberIn } from '../../derivation/index.js';
import { type DesignContext, type Query, query } from '../../model/context.js';
import { storingOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { highEnd, lowEnd } from '../ends.js';
import { banksAt } from '../supply/joined.js';
import { cellsReach, chargeAccepted } from '../plant/cell-limits.js';
import { Facts } from '../plant/facts.js';
import { polarisationOf } from '../plant/polarisation.js';
import { busesOf } from '../plant/wiring.js';
import { leadVoltage } from '../../reference/energy/index.js';
import { collect, sumOf, whenKnown } from '../worst.js';

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

/** How the resistances of banks are taken: at the middle of their ranges, or where one bank gets most: its own least, the others at most. */
type Resistances = 'middle' | 'worst';

const SHARES: Readonly<Record<Resistances, Query<Instance, Result>>> = {
  middle: query('share of a bank in the current of its bus'),
  worst: query('most that one bank gets of the current of its bus'),
};

/**
 * Share of the current of a bus that goes into (or comes out of) one of its banks: by the conductance of each with its leads; by capacity
 * where a resistance is not known. A new bank beside an aged one gets the `worst` of it.
 */
export const bankShare = (bank: Instance, context: DesignContext, at: Resistances = 'middle'): Result =>
  context.kept(SHARES[at], bank, () => {
    const banks = groupOf(bank, context);
    if (banks.length === 1) return known(derive(`share of ${bank.name}`, 1, '', { symbol: 'a' }));
    const conductances = banks.map((each) =>
      conductanceOf(each, context, at === 'middle' ? 'middle' : each === bank ? 'low' : 'high'),
    );
    if (conductances.every((each) => each !== undefined)) {
      const sum = conductances.reduce((total, each) => total + each!, 0);
      const own = conductances[banks.indexOf(bank)]!;
      return known(
        derive(`share of ${bank.name}`, own / sum, '', {
          symbol: 'a',
          formula: '(1/R)/Σ(1/R)',
          inputs: banks.map((each, index) =>
            derive(`resistance of ${each.name} with its leads`, 1 / conductances[index]!, 'ohm', {
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
function conductanceOf(bank: Instance, context: DesignContext, end: 'low' | 'middle' | 'high'): number | undefined {
  const found = context.quantity(bank, 'bankResistance');
  if (found.kind !== 'known') return undefined;
  const { derivation } = found;
  const taken = end === 'low' ? lowEnd(derivation) : end === 'high' ? highEnd(derivation) : derivation;
  const ohms = numberIn(taken, 'ohm') + busesOf(context, new Facts()).leads(bank, storingOf(bank)!.at);
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

/** Ohm of polarisation of all banks of a bus over the temperatures of their cells, at a state of charge; V besides. */
export interface PolarisationSpan {
  readonly charge: (soc: number) => { readonly low: number; readonly high: number };
  readonly discharge: (soc: number) => { readonly low: number; readonly high: number };
  readonly offset: number;
  /** V by which voltages under current may lie off the model. */
  readonly band: number;
}

/**
 * What the banks of a bus polarise, taken as cells like those of one of them; undefined where that one does not. Where banks that do not
 * polarise share the bus, these carry the most of the current, and nothing may be left of it.
 */
export function groupPolarisation(
  bank: Instance,
  cells: number,
  coulombs: number,
  context: DesignContext,
): PolarisationSpan | undefined {
  const name = (each: Instance): string => String(context.maybe(each, 'chemistry')?.value);
  const celsius = cellsReach(bank, context);
  const [cold, warm] = [celsius.low, celsius.high].map((each) => polarisationOf(name(bank), cells, coulombs, each));
  if (!cold || !warm) return undefined;
  const isAlike = groupOf(bank, context).every((each) => leadVoltage(name(each)) !== undefined);
  return {
    charge: (soc) => ({ low: isAlike ? warm.charge(soc) : 0, high: cold.charge(soc) }),
    discharge: (soc) => ({ low: isAlike ? warm.discharge(soc) : 0, high: cold.discharge(soc) }),
    offset: cold.offset,
    band: cold.band,
  };
}

/** The most that goes into one bank of what charges its bus. */
export const currentInto = (bank: Instance, total: Derivation, context: DesignContext): Result =>
  groupOf(bank, context).length === 1
    ? known(total)
    : whenKnown(bankShare(bank, context, 'worst'), (share) =>
        known({
          ...derive(`charge current into ${bank.name}`, numberIn(total, 'A') * numberIn(share, ''), 'A', {
            symbol: 'I_chg',
            formula: 'I·a',
            inputs: [{ ...total, symbol: 'I' }, share],
          }),
          ...becauseOf(total),
        }),
      );

/** Most that all banks of a bus may be charged with together, so that none of them gets more than it takes by its data sheet. */
export function groupChargeLimit(bank: Instance, context: DesignContext, at: Resistances = 'middle'): Result {
  const banks = groupOf(bank, context);
  if (banks.length === 1) return context.quantity(bank, 'chargeCurrentLimit');
  const all = collect(
    banks.map((each) =>
      whenKnown(context.quantity(each, 'chargeCurrentLimit'), (limit) => onBusFor(each, limit, at, context)),
    ),
  );
  return all.ok ? known(leastOnBus(all.derivations)) : all.result;
}

/** What may flow on a bus so that one of its banks gets no more than a limit. */
const onBusFor = (bank: Instance, limit: Derivation, at: Resistances, context: DesignContext): Result =>
  whenKnown(bankShare(bank, context, at), (share) =>
    known(
      derive(`most on the bus for ${bank.name}`, numberIn(limit, 'A') / numberIn(share, ''), 'A', {
        symbol: `I_${bank.name}`,
        formula: 'I_chg/a',
        inputs: [limit, share],
        ...becauseOf(limit),
      }),
    ),
  );

function leastOnBus(limits: readonly Derivation[]): Derivation {
  const least = limits.reduce((so, next) => (numberIn(next, 'A') < numberIn(so, 'A') ? next : so));
  return derive('charge current limit of the banks on the bus', numberIn(least, 'A'), 'A', {
    symbol: 'I_chg',
    formula: `min(${limits.map(({ symbol }) => symbol).join(', ')})`,
    inputs: limits,
    ...becauseOf(least),
  });
}

/**
 * Most that the banks of a bus let chargers give them that hear them, at the temperature of their cells at which that is least; undefined
 * where one of the chargers does not hear them, or nothing bounds it.
 */
export function groupAcceptance(
  bank: Instance,
  chargers: readonly Instance[],
  context: DesignContext,
): Derivation | undefined {
  if (!chargers.every((charger) => isLinked(charger, bank, context))) return undefined;
  const banks = groupOf(bank, context);
  if (banks.length === 1) return chargeAccepted(bank, context);
  const limits = banks.flatMap((each) => {
    const limit = chargeAccepted(each, context);
    const found = limit && onBusFor(each, limit, 'middle', context);
    return found?.kind === 'known' ? [found.derivation] : [];
  });
  return limits.length > 0 ? leastOnBus(limits) : undefined;
}
