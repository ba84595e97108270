import { type Derivation, displayValue } from '../derivation/index.js';
import { DIMENSIONS, type Quantity, formatNumber, formatQuantity, isRange } from '../quantity/index.js';
import type { Pair, LoadUse } from './types.js';

const DIGITS = 3;

const atGoverning = (q: Quantity): Quantity =>
  isRange(q) && (q.value === q.low || q.value === q.high) ? { ...q, low: q.value, high: q.value } : q;

/** A share for people: `81.5 %`. */
export const shareText = (share: number): string => `${formatNumber(share * 100, DIGITS)} %`;

/** A value to three significant digits; shares in percent where something beside them is in percent. */
export function shown(derivation: Derivation, like?: Derivation): string {
  const { value } = derivation;
  if (typeof value !== 'object') return displayValue(derivation);
  const q = atGoverning(value);
  const other = like && typeof like.value === 'object' ? like.value : undefined;
  const isShare = q.dimension === DIMENSIONS.ratio && (q.unit?.symbol === '%' || other?.unit?.symbol === '%');
  if (isShare && !isRange(q)) return shareText(q.value);
  // A limit is written as it stands, what is held against it in the same unit.
  const unit = other?.dimension === q.dimension ? other.unit : undefined;
  return formatQuantity(unit && !isRange(q) ? { ...q, unit } : q, DIGITS);
}

/** Two values in one unit, as a table shows them beside each other. */
export function shownPair(before: Derivation, after: Derivation, like?: Derivation): Pair {
  const [left, right] = [before.value, after.value];
  if (typeof left !== 'object' || typeof right !== 'object') return { before: shown(before), after: shown(after) };
  if (like) return { before: shown(before, like), after: shown(after, like) };
  return { before: shown(before, after.unit ? after : undefined), after: shown(after) };
}

/** The number that decides of a value; undefined for words. */
export const numberOf = ({ value }: Derivation): number | undefined =>
  typeof value === 'object' ? value.value : undefined;

/** By how much of itself a number has moved. */
export const moved = (before: number, after: number): number =>
  before === after ? 0 : Math.abs(after - before) / Math.max(Math.abs(before), Math.abs(after));

/** What is held against a limit on both sides. */
export function usedTexts(before: LoadUse, after: LoadUse): Pair {
  const [was, is] = [numberOf(before.demand), numberOf(after.demand)];
  return after.isShare && was !== undefined && is !== undefined
    ? { before: shareText(was), after: shareText(is) }
    : shownPair(before.demand, after.demand, after.capacity);
}

export function limitText({ capacity, isShare }: LoadUse): string {
  const limit = numberOf(capacity);
  return isShare && limit !== undefined ? shareText(limit) : shown(capacity);
}
