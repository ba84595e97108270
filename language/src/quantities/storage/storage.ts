/** What a bank is asked to give, and how long it lasts. */
import { mayStore } from '../../equipment/index.js';
import { callFunction } from '../../calculate/index.js';
import {
  type DerivationOptions,
  type Derivation,
  type Result,
  derive,
  fromTable,
  known,
  missing,
  numberIn,
  becauseOf,
  refused,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber, raise } from '../../quantity/index.js';
import { chemistry } from '../../reference/energy/chemistries.js';
import { type QuantityContext, defineQuantity } from '../define.js';
import { dcDemand } from '../flow/direct-flows.js';
import { lowEnd } from '../ends.js';
import { capacityShareAt } from '../plant/capacity.js';
import { refusedOutside } from '../plant/cell-limits.js';
import { loadIn } from '../demand/steady-load.js';
import { collect, sumOf, whenKnown, worstOfStates } from '../worst.js';
import { banksAt } from '../supply/joined.js';
import { calculation } from '../calculation.js';
import { bankShare } from './bank-group.js';
import { chargeAtCutOff } from './charge-at-cut-off.js';

/** Resistance of one string of a bank: its units in series. */
export function stringResistance(bank: Instance, context: QuantityContext): Result {
  const all = collect([context.fact(bank, 'resistance'), context.fact(bank, 'series')]);
  if (!all.ok) return all.result;
  const [cell, series] = all.derivations;
  return callFunction(calculation('bankResistance'), {
    cell,
    series,
    parallel: derive('one string', 1, '', { notes: ['one string'] }),
  });
}

export const stringShare = defineQuantity({
  name: 'stringShare',
  of: [mayStore],
  doc: 'Current of the busiest string over the mean of all, from the resistances of strings and links; `.string1` … are the shares.',
  unit: '1',
  isListedFor: (thing) => thing.properties.has('takeOff'),
  compute: (thing, context) =>
    whenKnown(context.fact(thing, 'parallel'), (strings) => {
      const takeOff = context.maybe(thing, 'takeOff');
      if (numberIn(strings, '') > 1 && !takeOff) return missing(`takeOff of ${thing.name}`);
      const isLinked = numberIn(strings, '') > 1 && takeOff?.value !== 'busbar';
      if (!isLinked) return known(derive('busiest string over the mean', 1, '', { symbol: 's', inputs: [strings] }));
      const all = collect([stringResistance(thing as Instance, context), context.fact(thing, 'jumper')]);
      if (!all.ok) return all.result;
      const [string, jumper] = all.derivations;
      return callFunction(calculation('stringShare'), { strings, string, jumper, takeOff });
    }),
});

/** Current of everything that draws from a bus of banks at once, in one state. */
export const dischargeCurrent = defineQuantity({
  name: 'dischargeCurrent',
  of: [mayStore],
  doc: 'Current that inverters at rated power, DC loads and converters draw from the bus of the bank at once, in the source state where it is largest.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const nodes = context.graph.nodesOf(thing as Instance).flatMap((node) => [...context.graph.reach(node).values()]);
    return worstOfStates(
      'discharge current',
      'I_dis',
      'A',
      context.circuitStates.map(({ state, circuit }) => {
        const all = collect(nodes.flatMap((node) => dcDemand(node, circuit, context) ?? []));
        return {
          state,
          result: all.ok ? known(sumOf('discharge current', 'I_dis', 'A', all.derivations)) : all.result,
        };
      }),
    );
  },
});

/** Share of its rated capacity a bank gives at its lowest cell temperature; never more than all of it. */
export function capacityInTheCold(bank: Instance, context: DesignContext): Result {
  const name = context.maybe(bank, 'chemistry')?.value;
  const row = typeof name === 'string' ? chemistry(name) : undefined;
  if (!row) return missing(`chemistry of ${bank.name}`);
  const cells = context.fact(bank, 'cellTemperature');
  return whenKnown(cells, (stated) => {
    const coldest = lowEnd(stated);
    const celsius = numberIn(coldest, 'degC');
    const { share, source, heldAt } = capacityShareAt(row.family, celsius);
    // Below the end of the table nobody knows how much is left: a play says what it takes, a closed form does not guess.
    if (heldAt !== undefined)
      return refused(`there are no figures for the capacity of ${row.title} at ${formatNumber(celsius)} °C`);
    const options: DerivationOptions = {
      symbol: 'k_T',
      inputs: [coldest],
      governing: [{ kind: 'cellTemperature', celsius }],
      notes: [...(row.name === 'nmc' && source ? ['figures of lithium iron phosphate'] : [])],
    };
    return known(
      source
        ? fromTable('capacity in the cold', share, '', source, options)
        : derive('capacity in the cold', share, '', options),
    );
  });
}

/** Share of its capacity that a lead bank gives at its share of the mean current drawn from its bus: less above the current it is rated at. */
export function shareAtRate(bank: Instance, load: Derivation, context: DesignContext): Result {
  const all = collect([
    context.quantity(bank, 'bankCapacity'),
    context.fact(bank, 'capacityTime'),
    context.fact(bank, 'peukert'),
    bankShare(bank, context),
  ]);
  if (!all.ok) return all.result;
  const [capacity, time, exponent, part] = all.derivations as [Derivation, Derivation, Derivation, Derivation];
  const rated = numberIn(capacity, 'Ah') / numberIn(time, 'h');
  const own = numberIn(load, 'A') * numberIn(part, '');
  const isOne = numberIn(part, '') === 1;
  const current = isOne
    ? load
    : derive(`current of ${bank.name}`, own, 'A', { symbol: 'I', formula: 'I_load·a', inputs: [load, part] });
  return known(
    derive(
      'share of the capacity at this rate',
      own <= rated ? 1 : raise(own / rated, 1 - numberIn(exponent, '')),
      '',
      {
        symbol: 's',
        formula: '(I·H/C)^(1 − k)',
        inputs: [current, time, capacity, exponent],
      },
    ),
  );
}

/** Whether what a bank gives depends on the rate, by what it states. */
function hasRateEffect(bank: Instance, context: DesignContext): boolean {
  const name = context.maybe(bank, 'chemistry')?.value;
  const exponent = context.maybe(bank, 'peukert');
  return (
    typeof name === 'string' &&
    chemistry(name)?.family === 'lead' &&
    exponent !== undefined &&
    numberIn(exponent, '') > 1
  );
}

/**
 * Charge all banks of a bus give from full down to their reserve, or to where the voltage of lead reaches a cut-off before it, while a mean current is drawn from it. `isCold`: at their lowest cell
 * temperature.
 */
export function usableCharge(bank: Instance, isCold: boolean, load: Derivation, context: DesignContext): Result {
  const parts = banksAt(bank, context).map((each): Result => {
    const outside = isCold ? refusedOutside([each], 'discharge', context) : undefined;
    if (outside) return outside;
    const facts = collect([
      context.quantity(each, 'bankCapacity'),
      context.fact(each, 'reserve'),
      ...(isCold ? [capacityInTheCold(each, context)] : []),
      ...(hasRateEffect(each, context) ? [shareAtRate(each, load, context)] : []),
    ]);
    if (!facts.ok) return facts.result;
    const [capacity, reserve, ...factors] = facts.derivations as [Derivation, Derivation, ...Derivation[]];
    // What the voltage ends before the reserve is reached is not usable.
    const cutOff = chargeAtCutOff(each, load, context);
    const isEarly = cutOff !== undefined && numberIn(cutOff, '') > numberIn(reserve, '');
    const end = isEarly ? cutOff : reserve;
    const share = factors.reduce((so, factor) => so * numberIn(factor, ''), 1 - numberIn(end, ''));
    return known(
      derive(`usable charge of ${each.name}`, numberIn(capacity, 'Ah') * share, 'Ah', {
        symbol: `Q_${each.name}`,
        formula: [`C·(1 − ${isEarly ? 's_off' : 'reserve'})`, ...factors.map(({ symbol }) => symbol)].join('·'),
        inputs: [capacity, end, ...factors],
        ...(isCold ? becauseOf(factors[0]!) : {}),
      }),
    );
  });
  const all = collect(parts);
  return all.ok ? known(sumOf('usable charge', 'Q', 'Ah', all.derivations)) : all.result;
}

/** Mean current the loads of a bank take in a day when nothing charges it. */
export function meanLoad(bank: Instance, context: DesignContext): Result {
  // The first state is that of the battery alone.
  const [alone] = context.circuitStates;
  return alone ? loadIn(bank, alone.circuit, context) : missing(`a source state of ${bank.name}`);
}

/** Time a charge lasts for a mean load; `missing` where nothing draws. */
export function timeFor(bank: Instance, charge: Derivation, load: Derivation): Result {
  const amperes = numberIn(load, 'A');
  if (amperes <= 0) return missing(`a load of ${bank.name}`);
  return known(
    derive('time without charge', numberIn(charge, 'Ah') / amperes, 'h', {
      symbol: 't',
      formula: 'Q/I_load',
      inputs: [charge, load],
      ...becauseOf(charge),
      notes: ['mean load by profile and duty; loads that control rules shed count in full'],
    }),
  );
}

export const autonomyTime = defineQuantity({
  name: 'autonomyTime',
  of: [mayStore],
  doc: 'Time the banks on a bus carry their loads without any charge: new, from full down to their reserve, at their lowest cell temperature.',
  unit: 'h',
  compute: (thing, context) => {
    const bank = thing as Instance;
    return whenKnown(meanLoad(bank, context), (load) =>
      whenKnown(usableCharge(bank, true, load, context), (charge) => timeFor(bank, charge, load)),
    );
  },
});

export const storageQuantities = [stringShare, dischargeCurrent, autonomyTime];
