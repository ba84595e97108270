/** Constants of conductor metals. */
import metalsFile from './materials/conductor-metals.json' with { type: 'json' };
import { type Metal, type Table, type TableRow, typed } from './table.js';

export interface MetalRow extends TableRow {
  readonly metal: Metal;
  /** Ω·mm²/m at the table's temperature. */
  readonly resistivity: number;
  /** Per kelvin at the table's temperature. */
  readonly temperatureCoefficient: number;
}

export const conductorMetals = typed<Table<MetalRow> & { readonly temperature: number }>(metalsFile);
