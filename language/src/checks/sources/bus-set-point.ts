import { type Derivation, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { banksAt } from '../../quantities/supply/joined.js';
import { setPointsOf } from '../../quantities/plant/chargers.js';
import { type Chemistry, chemistry, openCircuitVoltage } from '../../reference/energy/chemistries.js';
import { roundDown } from './shared.js';

/** A set point this near the protection trips it by tolerance and imbalance: 0.05 V a cell (common practice, no source). */
export const CLEARANCE_PER_CELL = 0.05;
/** Float voltages of makers differ by so much from the usual, V a cell (common practice, no source). */
export const FLOAT_SPREAD = 0.02;

/** What is known of the cells of a bank. */
export interface BankCells {
  readonly row: Chemistry;
  readonly count: number;
}

export function cellsOf(bank: Instance, context: DesignContext): BankCells | undefined {
  const name = context.maybe(bank, 'chemistry')?.value;
  const row = typeof name === 'string' ? chemistry(name) : undefined;
  const count = context.quantity(bank, 'cellCount');
  return row && count.kind === 'known' ? { row, count: numberIn(count.derivation, '') } : undefined;
}

/** The most a bank is charged with: its limit, and its protection less a clearance. Undefined where the limit is not known. */
export function ceilingOf(bank: Instance, context: DesignContext): number | undefined {
  const limit = context.quantity(bank, 'chargeVoltageLimit');
  if (limit.kind !== 'known') return undefined;
  const protection = context.quantity(bank, 'protectionVoltage');
  const count = context.quantity(bank, 'cellCount');
  const clearance = count.kind === 'known' ? CLEARANCE_PER_CELL * numberIn(count.derivation, '') : 0;
  return Math.min(
    numberIn(limit.derivation, 'V'),
    protection.kind === 'known' ? numberIn(protection.derivation, 'V') - clearance : Infinity,
  );
}

/** Usual float voltages of cells, V each; `least` for cells that run down below. Lithium that is not floated is kept below absorption. */
export function floatOf({ row }: BankCells): { readonly most: number; readonly least: number } {
  const least = row.family === 'lead' ? (openCircuitVoltage(row.name, 1) ?? 0) : 0;
  return { most: row.float?.to ?? row.absorb.from - FLOAT_SPREAD, least };
}

/** What a bank asks of a set point, V; undefined where a fact lacks. */
function windowOf(bank: Instance, name: string, context: DesignContext): { least: number; most: number } | undefined {
  const ceiling = ceilingOf(bank, context);
  const cells = cellsOf(bank, context);
  if (ceiling === undefined || !cells) return undefined;
  const { row, count } = cells;
  if (name === 'float') {
    const { least, most } = floatOf(cells);
    return row.float ? { least: least * count, most: Math.min(most * count, ceiling) } : undefined;
  }
  if (name === 'equalise') return row.equaliseAllowed === 'never' ? undefined : { least: 0, most: ceiling };
  return { least: row.absorbLeast * count, most: Math.min(row.absorb.to * count, ceiling) };
}

/**
 * A set point that suits every bank that a charger charges: the upper end of what all of them take. `unknown` where a fact lacks that could
 * make it harm one of them, `none` where they want different things.
 */
export function suitable(charger: Instance, name: string, context: DesignContext): number | 'unknown' | 'none' {
  const windows = banksAt(charger, context).map((bank) => windowOf(bank, name, context));
  if (windows.length === 0 || windows.some((each) => each === undefined)) return 'unknown';
  const absorb = name === 'float' ? setPointOf(charger, 'absorb', context) : undefined;
  const most = Math.min(...windows.map((each) => each!.most), ...(absorb ? [numberIn(absorb, 'V')] : []));
  const value = roundDown(most, 0.1);
  return windows.every((each) => value >= each!.least * (1 - 1e-9)) ? value : 'none';
}

export const setPointOf = (charger: Instance, name: string, context: DesignContext): Derivation | undefined =>
  setPointsOf(charger, context).find((each) => each.name === name)?.point;

/** Whether another temperature compensation of a charger suits all its banks: those of the same family and cells. */
export function suitsAll(charger: Instance, bank: Instance, context: DesignContext): boolean {
  const own = cellsOf(bank, context);
  return banksAt(charger, context).every((other) => {
    const cells = other === bank ? own : cellsOf(other, context);
    return (
      own !== undefined &&
      cells !== undefined &&
      cells.row.family === own.row.family &&
      (own.row.family === 'lithium' || cells.count === own.count)
    );
  });
}
