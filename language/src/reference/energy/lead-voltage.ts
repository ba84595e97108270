import type { Source } from '../../derivation/index.js';
import leadVoltageJson from './lead-voltage.json' with { type: 'json' };
import { type SourcedRow, type Table, asTable, rowSource } from './table.js';

/** Constants of Shepherd's form for one lead-acid chemistry; see the note of the table for their units. */
export interface LeadVoltage {
  readonly chemistry: string;
  readonly dischargeVoltage: number;
  readonly dischargeRoom: number;
  readonly chargeVoltage: number;
  readonly chargeRoom: number;
  readonly endVoltage: number;
  readonly endRoom: number;
  readonly chargeOffset: number;
  readonly knee: number;
  readonly band: number;
  readonly dischargeCooling: number;
  readonly chargeCooling: number;
}

const table = asTable<Table<SourcedRow & LeadVoltage>>(leadVoltageJson);

/** The constants of a chemistry with their source; undefined for all that is not lead-acid. */
export function leadVoltage(name: string): (LeadVoltage & { readonly source: Source }) | undefined {
  const row = table.rows.find(({ chemistry }) => chemistry === name);
  return row && { ...row, source: rowSource(row) };
}
