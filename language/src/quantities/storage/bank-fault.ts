import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, becauseOf, derive, known, missing, numberIn } from '../../derivation/index.js';
import { mayStore } from '../../equipment/index.js';
import { distanceOf } from '../../model/stated-facts.js';
import type { Instance } from '../../model/types.js';
import { calculation } from '../calculation.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { highEnd, lowEnd } from '../ends.js';
import { collect, whenKnown } from '../worst.js';
import { scaled } from './bank.js';

/**
 * By how much the current of a unit's lowest resistance may be above the short-circuit current it states before the two contradict each
 * other. It is worked out at the charge voltage, which is up to a seventh above that of a full unit at rest. Common practice, no source.
 */
export const ROUNDING = 1.2;

/** Which of two facts of a bank speaks: its short-circuit current is stated nearer to it than its resistance, farther, or with it. */
export function nearerFault(bank: Instance): 'current' | 'resistance' | 'both' | undefined {
  const current = distanceOf(bank, 'shortCircuitCurrent');
  const resistance = distanceOf(bank, 'resistance');
  if (current === undefined || resistance === undefined) return undefined;
  return current < resistance ? 'current' : resistance < current ? 'resistance' : 'both';
}

/** What the stated short-circuit current of the units gives. */
function byCurrent(bank: Instance, context: QuantityContext): Result | undefined {
  const unit = context.maybe(bank, 'shortCircuitCurrent');
  if (!unit) return undefined;
  return whenKnown(context.fact(bank, 'parallel'), (strings) =>
    scaled('prospective short-circuit current', 'I_sc', 'A', highEnd(unit), strings, 'I_unit', 'n_p'),
  );
}

/** What the lowest resistance of its units gives at its highest voltage. */
function byResistance(bank: Instance, context: QuantityContext): Result {
  const all = collect([
    context.quantity(bank, 'highestVoltage'),
    context.fact(bank, 'resistance'),
    context.fact(bank, 'series'),
    context.fact(bank, 'parallel'),
  ]);
  if (!all.ok) return all.result;
  const [voltage, unit, series, strings] = all.derivations as [Derivation, Derivation, Derivation, Derivation];
  const lowest = lowEnd(unit);
  const string = derive('resistance of one string', numberIn(lowest, 'ohm') * numberIn(series, ''), 'ohm', {
    symbol: 'R_string',
    formula: 'R_unit·n_s',
    inputs: [lowest, series],
  });
  return callFunction(calculation('faultCurrent'), { voltage, resistance: string, strings });
}

/**
 * Prospective short-circuit current at the terminals of the bank: warm, full and new cells. A current that is stated nearer to the bank than
 * its resistance counts; else the worse of the two does, of two that one data sheet states the current within rounding.
 */
function largest(bank: Instance, context: QuantityContext): Result {
  const stated = byCurrent(bank, context);
  const worked = byResistance(bank, context);
  if (stated?.kind === 'known') {
    const nearer = nearerFault(bank);
    if (worked.kind !== 'known' || nearer === 'current') return stated;
    const slack = nearer === 'resistance' ? 1 : ROUNDING;
    if (numberIn(worked.derivation, 'A') <= numberIn(stated.derivation, 'A') * slack) return stated;
    return known({
      ...worked.derivation,
      ...becauseOf(worked.derivation, { kind: 'contradicted', by: 'more', fact: 'its stated short-circuit current' }),
    });
  }
  return worked.kind === 'missing'
    ? missing(
        ...worked.missing.map((fact) =>
          fact === `resistance of ${bank.name}` ? `resistance or shortCircuitCurrent of ${bank.name}` : fact,
        ),
      )
    : worked;
}

export const faultCurrent = defineQuantity({
  name: 'faultCurrent',
  of: [mayStore],
  doc: 'Prospective short-circuit current at the bank terminals, all strings together: from `shortCircuitCurrent`, or from its lowest resistance where that gives clearly more and the current is not stated nearer to the bank than the resistance.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => largest(instance(thing), context),
});

/** What a resistance without a range leaves out. */
const ONE_FIGURE = 'stated as one figure: aged and cold cells have more, and drive less';

/** Whether the resistance of a bank is stated as one figure, which is that of new units. */
export function leavesAgeingOut(bank: Instance, context: QuantityContext): boolean {
  const value = context.maybe(bank, 'resistance')?.value;
  return typeof value === 'object' && value.low === value.high;
}

/**
 * Highest resistance of a bank, ohm: that of its units aged and cold, or the one its own statement of a short-circuit current tells of where
 * that is higher.
 */
export function highestResistance(bank: Instance, context: QuantityContext): Result {
  const inner = context.quantity(bank, 'bankResistance');
  if (inner.kind !== 'known') return inner;
  const { value } = inner.derivation;
  const isRange = typeof value === 'object' && value.low < value.high;
  const high = isRange
    ? highEnd(inner.derivation)
    : { ...inner.derivation, notes: [...inner.derivation.notes, ONE_FIGURE] };
  const nearer = nearerFault(bank);
  const fault = nearer === 'current' || nearer === 'both' ? byCurrent(bank, context) : undefined;
  const volts = context.quantity(bank, 'highestVoltage');
  if (fault?.kind !== 'known' || volts.kind !== 'known') return known(high);
  const told = numberIn(volts.derivation, 'V') / numberIn(fault.derivation, 'A');
  if (told <= numberIn(high, 'ohm') * ROUNDING) return known(high);
  return known(
    derive('resistance by the short-circuit current', told, 'ohm', {
      symbol: 'R_i',
      formula: 'U_max/I_sc',
      inputs: [volts.derivation, fault.derivation],
      governing: [{ kind: 'contradicted', by: 'more', fact: 'its stated resistance' }],
    }),
  );
}

export const bankFaultQuantities = [faultCurrent];
