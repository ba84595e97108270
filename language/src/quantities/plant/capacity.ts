import type { Source } from '../../derivation/index.js';
import { leadCapacityAt, lithiumCapacityAt } from '../../reference/energy/index.js';

/** Hours of the slowest discharge in the table of lead capacities. */
const SLOWEST = 20;
/** °C at which capacities are rated. */
const RATED_AT = 25;
/** °C between which the tables have figures. */
const TABLES = { lithium: { low: -20, high: 45 }, lead: { low: -9.4, high: 35 } } as const;

/** Share of its rated capacity that a bank gives with its cells at a temperature, and how it is known. */
export interface CapacityShare {
  /** 0 to 1: warm cells count with no more than their rating. */
  readonly share: number;
  readonly source?: Source;
  /** °C that was looked up where the table ends before. */
  readonly heldAt?: number;
}

/** Capacity of cells at °C, of the rated one. Beyond its ends a table counts as at its end, which is told. */
export function capacityShareAt(family: 'lithium' | 'lead', celsius: number): CapacityShare {
  if (celsius >= RATED_AT) return { share: 1 };
  const { low, high } = TABLES[family];
  const held = Math.min(high, Math.max(low, celsius));
  const found = family === 'lithium' ? lithiumCapacityAt(held) : leadCapacityAt(held, SLOWEST);
  return {
    share: Math.min(1, found?.capacity ?? 1),
    ...(found ? { source: found.source } : {}),
    ...(held === celsius ? {} : { heldAt: held }),
  };
}
