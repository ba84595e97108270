import type { Source } from '../../derivation/index.js';
import timeModelsJson from './time-models.json' with { type: 'json' };
import { type SourcedRow, type Table, asTable, rowSource } from './table.js';

const table = asTable<Table<SourcedRow & { fact: string; value: number; unit: string }>>(timeModelsJson);

/** Names of the numbers on how banks and charging gear behave over time. */
export const TIME_MODELS = [
  'self-discharge-lfp',
  'self-discharge-nmc',
  'self-discharge-flooded',
  'self-discharge-agm',
  'self-discharge-gel',
  'self-discharge-doubling',
  'lead-charge-share',
  'lead-charge-share-full',
  'lead-charge-knee',
  'lead-acceptance',
  'counts-as-full',
  'tail-hold',
  'absorb-again-share',
  'absorb-again-hold',
  'protection-reset',
  'protection-high-reset-share',
  'cut-off-hold',
] as const;
export type TimeModel = (typeof TIME_MODELS)[number];

/** A number on behaviour over time in its unit (`1` for plain numbers), with its source. */
export function timeModel(fact: TimeModel): { readonly value: number; readonly unit: string; readonly source: Source } {
  const row = table.rows.find((candidate) => candidate.fact === fact)!;
  return { value: row.value, unit: row.unit, source: rowSource(row) };
}
