import {
  type Derivation,
  type Reason,
  type Result,
  derive,
  becauseOf,
  inState,
  known,
  missing,
  numberIn,
  refused,
} from '../derivation/index.js';
import type { SourceState } from '../model/network.js';
import type { InState } from './define.js';

/**
 * The value of the state in which a quantity is largest. A missing fact in any state makes the whole missing, since that state could be
 * the one that governs.
 */
export const worstOfStates = (name: string, symbol: string, unit: string, results: readonly InState[]): Result =>
  governingState(name, symbol, unit, results, 1);

/** The value of the state in which a quantity is smallest; see `worstOfStates`. */
export const lowestOfStates = (name: string, symbol: string, unit: string, results: readonly InState[]): Result =>
  governingState(name, symbol, unit, results, -1);

function governingState(name: string, symbol: string, unit: string, results: readonly InState[], sign: 1 | -1): Result {
  const facts = results.flatMap(({ result }) => (result.kind === 'missing' ? result.missing : []));
  if (facts.length > 0) return missing(...facts);
  const refusal = results.find(({ result }) => result.kind === 'refused');
  if (refusal) return refusal.result;
  let worst: { derivation: Derivation; state: SourceState } | undefined;
  for (const { state, result } of results) {
    if (result.kind !== 'known') continue;
    if (!worst || sign * (numberIn(result.derivation, unit) - numberIn(worst.derivation, unit)) > 0)
      worst = { derivation: result.derivation, state };
  }
  if (!worst) return refused(`${name} has no value in any state`);
  const top = worst.derivation;
  return known({ ...top, name, symbol, ...(results.length > 1 ? becauseOf(top, inState(worst.state)) : {}) });
}

/** More terms than this are not written out in the formula of a sum; the sum has all of them as its inputs. */
const MOST_WRITTEN = 24;

/** The formula of a sum of some terms: the first and the last of them where there are very many. */
export function sumFormula(parts: readonly Derivation[]): string {
  const named = (part: Derivation): string => part.symbol ?? part.name;
  if (parts.length === 0) return '0';
  return parts.length <= MOST_WRITTEN
    ? parts.map(named).join(' + ')
    : `${parts.slice(0, 3).map(named).join(' + ')} + … + ${named(parts.at(-1)!)}`;
}

/** The sum of derivations of one unit; a single one is passed through under the new name. */
export function sumOf(
  name: string,
  symbol: string,
  unit: string,
  parts: readonly Derivation[],
  ...governing: readonly Reason[]
): Derivation {
  const total = parts.reduce((sum, part) => sum + numberIn(part, unit), 0);
  return derive(name, total, unit, {
    symbol,
    formula: sumFormula(parts),
    inputs: parts,
    governing,
  });
}

/** The term of a sum that is what a thing itself gives or takes. */
export const termOf = (sum: Derivation, { name }: { readonly name: string }): Derivation | undefined =>
  sum.inputs.find(({ subject, unit }) => subject === name && unit === sum.unit);

/** Collects results of several parts: all known, or what is missing. */
export function collect(
  results: readonly Result[],
): { ok: true; derivations: Derivation[] } | { ok: false; result: Result } {
  const facts = results.flatMap((result) => (result.kind === 'missing' ? result.missing : []));
  if (facts.length > 0) return { ok: false, result: missing(...facts) };
  const refusal = results.find((result) => result.kind === 'refused');
  if (refusal) return { ok: false, result: refusal };
  return { ok: true, derivations: results.map((result) => (result as { derivation: Derivation }).derivation) };
}

/** Uses a known result, or passes on why there is none. */
export function whenKnown(result: Result, then: (derivation: Derivation) => Result): Result {
  return result.kind === 'known' ? then(result.derivation) : result;
}
