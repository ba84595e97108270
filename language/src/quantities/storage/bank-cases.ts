import type { Node } from '../../model/graph.js';
import { isBank } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import type { QuantityContext } from '../define.js';

/** How the banks of a network stand: each at an end of its resistance, and perhaps some of them out. */
export interface BankCase {
  /** Names the case, so that its solution is kept. */
  readonly key: string;
  /** Banks at the high end of their resistance, cold and aged; all others are at the low end. */
  readonly high: ReadonlySet<Instance>;
  /** Full or empty before the others, or cut off by their protection. */
  readonly out: readonly Instance[];
}

/** The banks of the network that a node belongs to. */
export const banksOn = (node: Node, context: QuantityContext): Instance[] => [
  ...new Set([...context.graph.reach(node).values()].map(({ instance }) => instance).filter(isBank)),
];

/** Up to so many banks with a range every mix of ends is tried; beyond, one bank against all others. */
const MIXED = 6;

/**
 * The mixes of ends that can govern a current: with currents fixed, what a branch carries moves one way with each resistance, so that the
 * most lies where every bank is at one end or the other, a new one beside an aged one.
 */
export function bankCases(
  banks: readonly Instance[],
  context: QuantityContext,
  out: readonly Instance[] = [],
): BankCase[] {
  const others = banks.filter((bank) => !out.includes(bank));
  const ranged = others.length < 2 ? [] : others.filter((bank) => isRanged(bank, context));
  const mixes = ranged.length <= MIXED ? everyMix(ranged) : oneAgainstOthers(ranged);
  return mixes.map((high) => ({
    key: [high, out].map((things) => things.map(({ name }) => name).join('+')).join(' '),
    high: new Set(high),
    out,
  }));
}

function isRanged(bank: Instance, context: QuantityContext): boolean {
  const value = context.maybe(bank, 'resistance')?.value;
  return typeof value === 'object' && value.low < value.high;
}

const everyMix = (banks: readonly Instance[]): Instance[][] =>
  banks.reduce<Instance[][]>((mixes, bank) => [...mixes, ...mixes.map((mix) => [...mix, bank])], [[]]);

const oneAgainstOthers = (banks: readonly Instance[]): Instance[][] => [
  [],
  ...banks.flatMap((bank) => [[bank], banks.filter((each) => each !== bank)]),
];

/** Up to so many banks any of them may be out together; beyond, those that go out alike and those that stay alone. */
const ALL_OUTAGES = 4;

/**
 * What may be out of the banks of a bus, nothing first: banks on unequal cables, or unlike ones, are full or empty one after the other, until
 * the last carries all, and the protection of any may open.
 */
export function bankOutages(banks: readonly Instance[], context: QuantityContext): readonly (readonly Instance[])[] {
  if (banks.length < 2) return [[]];
  if (banks.length <= ALL_OUTAGES) return everyMix(banks).filter((out) => out.length < banks.length);
  const alike = new Map<string, Instance[]>();
  for (const bank of banks) {
    const figure = (name: 'bankCapacity' | 'bankResistance'): string => {
      const found = context.quantity(bank, name);
      return found.kind === 'known' && typeof found.derivation.value === 'object'
        ? `${found.derivation.value.value}`
        : '';
    };
    const key = `${figure('bankCapacity')} ${figure('bankResistance')}`;
    alike.set(key, [...(alike.get(key) ?? []), bank]);
  }
  const kinds = [...alike.values()].filter((group) => group.length > 1 && group.length < banks.length);
  return [[], ...banks.map((bank) => [bank]), ...kinds, ...banks.map((bank) => banks.filter((each) => each !== bank))];
}
