import type { Derivation, Place, Result } from '../derivation/index.js';
import { type Quantity, formatPair } from '../quantity/index.js';
import type { Thing } from '../model/types.js';
import type { NotChecked, Passed, Use, UseOfLimit } from './define.js';

/** The subject holds: by how much, and the quantities that decided. */
export const passed = (
  thing: Pick<Thing, 'path'>,
  use: UseOfLimit,
  numbers: Readonly<Record<string, Derivation>> = {},
): Passed => ({ verdict: 'passed', subject: thing.path, use, numbers });

/** The verdict whose limit is used most, of several on one subject. */
export function fullest(first: Use, ...others: readonly Use[]): Use {
  return others.reduce((so, next) => (shareOf(next) > shareOf(so) ? next : so), first);
}

/**
 * The share of a limit that is used: above 1 where it is broken, infinite where no number says by how much. Nothing of nothing is all of it. Readings
 * of temperature count from absolute zero, so that they have an order; as a share such a number says nothing (`isReading`).
 */
export function shareOf({ value, limit, sense }: Use): number {
  const [amount, most] = [numberOf(value), numberOf(limit)];
  if (amount === most) return 1;
  const [used, of] = sense === 'at-most' ? [amount, most] : [most, amount];
  if (of > 0) return used / of;
  // Below zero the smaller of two that hold is the one with less in hand.
  const holds = sense === 'at-most' ? amount < most : amount > most;
  return holds ? Math.min(-used, -of) / Math.max(-used, -of) : Infinity;
}

/** Whether a value is a point on a scale, such as 20 °C, of which there is no share. */
export const isReading = ({ value }: Derivation): boolean => typeof value === 'object' && value.dimension.point;

const numberOf = (derivation: Derivation): number =>
  typeof derivation.value !== 'object'
    ? Number.NaN
    : isReading(derivation)
      ? derivation.value.value - ABSOLUTE_ZERO
      : derivation.value.value;

/** °C. */
const ABSOLUTE_ZERO = -273.15;

/** What a result that is not known leaves open: the missing facts, or why a function refused its arguments. */
export const notChecked = (
  thing: Pick<Thing, 'path' | 'place'>,
  result: Result,
  place: Place = thing.place,
): NotChecked => ({
  verdict: 'not-checked',
  subject: thing.path,
  place,
  missing: result.kind === 'missing' ? result.missing : result.kind === 'refused' ? [result.reason] : [],
  ...(result.kind === 'refused' ? { isRefused: true } : {}),
});

/** The place of a property's value where the thing or its part states it in a text the reader can change, else the thing's name. */
export function placeOf(thing: Thing, property: string): Place {
  const stated = thing.properties.get(property);
  return stated?.place && stated.inheritedFrom === undefined ? stated.place : thing.place;
}

/** `NEC 2023`, `IEC 60364`, `craft practice`: the rules a design follows, for messages. */
export function basisText(basis: { readonly practice: string; readonly edition?: string }): string {
  const names: Readonly<Record<string, string>> = { nec: 'NEC', iec: 'IEC 60364', craft: 'small-craft practice' };
  return [names[basis.practice] ?? basis.practice, basis.edition].filter(Boolean).join(' ');
}

/** Two derived quantities as texts that visibly differ: in their own unit where they share one, else in one that reads well. */
export function pairText(left: Derivation, right: Derivation): readonly [string, string] {
  const [a, b] = [left.value as Quantity, right.value as Quantity];
  const isApparent = (q: Quantity): boolean => q.unit?.flavour === 'apparent';
  if (a.unit && (a.unit === b.unit || (isApparent(a) && isApparent(b)))) return formatPair(a, b);
  const plain = ({ unit: _unit, ...rest }: Quantity): Quantity => rest;
  return formatPair(plain(a), plain(b));
}

/** The reasons of a finding in the order in which they are told; those that do not hold are left out. */
export function whyOf(...reasons: readonly (string | false | undefined)[]): { why?: string } {
  const told = reasons.filter((each): each is string => typeof each === 'string' && each !== '');
  return told.length > 0 ? { why: told.join('; ') } : {};
}
