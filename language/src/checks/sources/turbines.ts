import { type WaterWay, none, type PropertyName } from '../../equipment/index.js';
import type { Least, Named } from '../../equipment/formula/index.js';
import { type Derivation, type Result, missing, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { MONTH_NAMES } from '../../quantities/supply/months.js';
import { type End, driveOf, readDrive } from '../../quantities/plant/drive.js';

/** How water is led to a thing; undefined for what no water drives. */
export function waterOf(thing: Instance): WaterWay<PropertyName> | undefined {
  const water = driveOf(thing)?.water;
  return water === none ? undefined : water;
}

/** A value of a month. */
export interface Monthly {
  readonly name: string;
  readonly derivation: Derivation;
}

/** A formula of what drives a thing in every month, or what lacks for it. */
export function monthly(
  term: Least | Named,
  thing: Instance,
  end: End,
  context: DesignContext,
): { readonly ok: true; readonly months: readonly Monthly[] } | { readonly ok: false; readonly result: Result } {
  const lacking = new Set<string>();
  const months = MONTH_NAMES.flatMap((name, at) => {
    const result = readDrive(term, thing, at + 1, end, context);
    if (result.kind === 'known') return [{ name, derivation: result.derivation }];
    if (result.kind === 'missing') for (const fact of result.missing) lacking.add(fact);
    return [];
  });
  return months.length === MONTH_NAMES.length ? { ok: true, months } : { ok: false, result: missing(...lacking) };
}

/** The month with the largest value. */
export const largest = (months: readonly Monthly[], unit: string): Monthly =>
  months.reduce((so, next) => (numberIn(next.derivation, unit) > numberIn(so.derivation, unit) ? next : so));
