import { callFunction, fact, findFunction, stated } from '../../../language/src/calculate/index.js';
import { type Derivation, type Result, numberIn } from '../../../language/src/derivation/index.js';
import { quantity } from '../../../language/src/quantity/index.js';

/** An argument as the rows of worked-examples.json give it: a number with its unit, or a word or text. */
export type Argument = { readonly value: number; readonly unit: string } | string;

/** Calls a function of the language by name. Throws when there is none, since a test then has the wrong name. */
export function call(name: string, given: Readonly<Record<string, Argument | boolean>>): Result {
  const definition = findFunction(name);
  if (!definition) throw new RangeError(`no function ${name}`);
  const prepared = Object.entries(given).map(([key, value]): [string, Derivation] => [
    key,
    typeof value === 'object' ? stated(key, quantity(value.value, value.unit)) : fact(key, value),
  ]);
  return callFunction(definition, Object.fromEntries(prepared));
}

/** The derivation of a result that must be known. */
export function derivationOf(result: Result): Derivation {
  if (result.kind !== 'known') throw new Error(`not known: ${JSON.stringify(result)}`);
  return result.derivation;
}

/** The number of a result that must be known, or of one of its parts. */
export function numberOf(result: Result, unit: string, part?: string): number {
  const derivation = derivationOf(result);
  const chosen = part === undefined ? derivation : derivation.parts[part];
  if (!chosen) throw new Error(`${derivation.name} has no part ${String(part)}`);
  return numberIn(chosen, unit);
}

/** Shorthand for a number with a unit. */
export const of = (value: number, unit = ''): Argument => ({ value, unit });
