import { callFunction, findFunction } from '../../calculate/index.js';
import { type Derivation, type Result, derive, deriveFact, missing, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { ruleValue, standardRatings } from '../../reference/index.js';
import { chemistry } from '../../reference/energy/chemistries.js';
import { highEnd, lowEnd } from '../../quantities/ends.js';
import { stringResistance } from '../../quantities/storage/storage.js';
import { type Row, mixedShare } from '../../quantities/storage/string-mix.js';
import { collect } from '../../quantities/worst.js';

/** Current of the busiest string over the mean, were the strings taken off so and as many; infinite where facts lack. */
export function shareWith(bank: Instance, strings: number, takeOff: string, context: DesignContext): number {
  if (takeOff === 'busbar' || strings < 2) return 1;
  const jumper = context.maybe(bank, 'jumper');
  const string = stringResistance(bank, context);
  if (!jumper || string.kind !== 'known') return Infinity;
  const result = callFunction(findFunction('stringShare')!, {
    strings: derive('strings', strings, ''),
    string: string.derivation,
    jumper,
    takeOff: deriveFact('takeOff', takeOff),
  });
  return result.kind === 'known' ? numberIn(result.derivation, '') : Infinity;
}

/** As `shareWith`, where the strings differ as far as the range of their resistance says: a new unit beside aged ones. */
function mixedShareWith(bank: Instance, strings: number, takeOff: string, context: DesignContext): number {
  if (strings < 2) return 1;
  const jumper = context.maybe(bank, 'jumper');
  const string = stringResistance(bank, context);
  if ((!jumper && takeOff !== 'busbar') || string.kind !== 'known') return Infinity;
  const share = mixedShare({
    strings,
    low: numberIn(lowEnd(string.derivation), 'ohm'),
    high: numberIn(highEnd(string.derivation), 'ohm'),
    jumper: jumper ? numberIn(jumper, 'ohm') : 0,
    takeOff: takeOff as Row['takeOff'],
  });
  return share ?? Infinity;
}

/** What one string of a bank carries. */
export interface StringLoad {
  /** With all strings at work: the busiest. */
  readonly shared: Derivation;
  /** With one string out, by its protection or for service: the busiest of the others, itself new and they aged. */
  readonly oneOut: Derivation;
}

/** A load, or the facts that lack for it and what a string carries at least by those that are known. */
export type FoundLoad = StringLoad | { readonly lacking: Result; readonly atLeast?: Derivation };

export const isStringLoad = (found: FoundLoad): found is StringLoad => 'shared' in found;

const DIRECTIONS = [
  ['dischargeCurrent', 'maximumDischarge'],
  ['chargeCurrent', 'maximumCharge'],
] as const;

/** The load of a string, were the strings of a bank so many and taken off so. Every fact that could make it worse must be known. */
export function stringLoad(
  bank: Instance,
  strings: number,
  takeOff: string | undefined,
  context: DesignContext,
): FoundLoad {
  const currents = DIRECTIONS.map(([quantity]) => context.quantity(bank, quantity));
  const share = takeOff === undefined ? Infinity : shareWith(bank, strings, takeOff, context);
  const shareOut = takeOff === undefined ? Infinity : mixedShareWith(bank, strings - 1, takeOff, context);
  const isKnown = Number.isFinite(share) && Number.isFinite(shareOut);
  const all = collect([...currents, ...(isKnown ? [] : [lackingShare(bank, takeOff, context)])]);
  const count = derive('strings in parallel', strings, '', { symbol: 'n' });
  const asOne = (name: string, whole: Derivation, uneven: number, of: number, formula: string): Derivation =>
    derive(name, (numberIn(whole, 'A') * uneven) / of, 'A', {
      formula,
      inputs: [whole, derive('share of the busiest string', uneven, '', { symbol: 's' }), count],
    });
  if (!all.ok) {
    const known = currents.flatMap((each) => (each.kind === 'known' ? [each.derivation] : []));
    const atLeast = largest(known.map((whole) => asOne('current of one string', whole, 1, strings, 'I/n')));
    return { lacking: all.result, ...(atLeast ? { atLeast } : {}) };
  }
  const loads = DIRECTIONS.map(([, limit], index): StringLoad => {
    const whole = all.derivations[index]!;
    const shared = asOne('current of one string', whole, share, strings, 'I·s/n');
    const others = asOne(
      'current of one string with another out',
      whole,
      shareOut,
      Math.max(1, strings - 1),
      'I·s/(n − 1)',
    );
    return { shared, oneOut: heldTo(limit, bank, shared, others, context) };
  });
  return { shared: largest(loads.map((each) => each.shared))!, oneOut: largest(loads.map((each) => each.oneOut))! };
}

/** Cells with electronics open at what their unit may carry: a fuse need not hold more than that. */
function heldTo(
  property: 'maximumDischarge' | 'maximumCharge',
  bank: Instance,
  shared: Derivation,
  others: Derivation,
  context: DesignContext,
): Derivation {
  const name = context.maybe(bank, 'chemistry')?.value;
  const limit = context.maybe(bank, property);
  const opens = typeof name === 'string' && chemistry(name)?.protection;
  if (!limit || !opens || numberIn(limit, 'A') >= numberIn(others, 'A')) return others;
  return numberIn(limit, 'A') > numberIn(shared, 'A') ? { ...limit, inputs: [others] } : shared;
}

const largest = (derivations: readonly Derivation[]): Derivation | undefined =>
  derivations.reduce<Derivation | undefined>(
    (so, next) => (!so || numberIn(next, 'A') > numberIn(so, 'A') ? next : so),
    undefined,
  );

/** What lacks for the shares of strings. */
function lackingShare(bank: Instance, takeOff: string | undefined, context: DesignContext): Result {
  if (takeOff === undefined) return missing(`takeOff of ${bank.name}`);
  const asked =
    takeOff === 'busbar' ? (['resistance', 'series'] as const) : (['jumper', 'resistance', 'series'] as const);
  const lacking = asked.filter((name) => !context.maybe(bank, name));
  return missing(...(lacking.length > 0 ? lacking : (['jumper'] as const)).map((name) => `${name} of ${bank.name}`));
}

/**
 * The standard fuse of a string: 125 % of what it carries for hours (a rule of the NEC, common practice elsewhere), and no less than it
 * carries with one of the others out, since else one that opens opens all.
 */
export function stringRating({ shared, oneOut }: StringLoad, context: DesignContext): number | undefined {
  const factor = numberIn(ruleValue('nec', 'continuousFactor'), '');
  const least = Math.max(factor * numberIn(shared, 'A'), numberIn(oneOut, 'A'));
  return standardRatings(context.system.basis.practice).find((rating) => rating >= least * (1 - 1e-9));
}
