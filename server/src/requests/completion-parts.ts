import { DIMENSIONS, type DesignContext, type Part, type ast, isBank, numberIn } from '@wattwright/language';
import type { NamesAround } from './completion-names.js';

/** How far the nominal voltages of banks that go together lie apart at most: 48 V of lead and 51.2 V of lithium. Common practice, no source. */
const LIKE_VOLTAGE = 0.1;

/** Parts in the order in which they are likely meant: those of the project first, each with what suits the voltage of a bank in front. */
export function partsInOrder(parts: readonly ast.Part[], names: NamesAround): readonly ast.Part[] {
  const context = names.analysed?.context;
  const banks = context ? banksOf(context) : undefined;
  if (!context || !banks || banks.voltages.length === 0) return parts;
  const kinds = new Set(parts.map(({ kind }) => kind));
  const ranks = new Map(
    [...kinds].flatMap((kind) =>
      context.parts(kind).map((part) => [part.name, (part.library ? RANKS : 0) + rankOf(part, banks)] as const),
    ),
  );
  const rank = ({ name }: ast.Part): number => ranks.get(name) ?? 0;
  return [...parts].sort((left, right) => rank(left) - rank(right));
}

interface Banks {
  readonly kinds: ReadonlySet<string>;
  /** Nominal, V. */
  readonly voltages: readonly number[];
}

function banksOf(context: DesignContext): Banks {
  const banks = context.system.instances.filter(isBank);
  const voltages = banks.flatMap((bank) => {
    const voltage = context.quantity(bank, 'bankVoltage');
    return voltage.kind === 'known' ? [numberIn(voltage.derivation, 'V')] : [];
  });
  return { kinds: new Set(banks.map(({ kind }) => kind)), voltages };
}

/** How many ranks there are. */
const RANKS = 3;

/**
 * 0 where the voltage of a bank lies in a span of voltages that a part works in, or is that of the part where the part is a bank itself; 1
 * where the part says nothing of that, 2 where none of what it says suits.
 */
function rankOf({ kind, properties }: Part, { kinds, voltages }: Banks): 0 | 1 | 2 {
  const stated = [...properties.values()].flatMap(({ value }) =>
    value.type === 'quantity' &&
    value.quantity.dimension === DIMENSIONS.voltage &&
    (kinds.has(kind) || value.quantity.low < value.quantity.high)
      ? [value.quantity]
      : [],
  );
  if (stated.length === 0) return 1;
  const suits = stated.some(({ low, high }) =>
    voltages.some((bank) => low * (1 - LIKE_VOLTAGE) <= bank && bank <= high * (1 + LIKE_VOLTAGE)),
  );
  return suits ? 0 : 2;
}
