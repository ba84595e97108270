/** Plug and receptacle configurations by their standard names. */
import configurationsFile from './plugs/configurations.json' with { type: 'json' };
import { type Table, type TableRow, typed } from './table.js';

export interface PlugRow extends TableRow {
  readonly name: string;
  readonly standard: string;
  /** A */
  readonly rating: number;
  /** The voltage marked on the device, as written there. */
  readonly voltage: string;
  readonly poles: number;
  readonly wires: number;
  readonly phases: number;
  readonly neutral: boolean;
  readonly ground: boolean;
  /** Two legs and a neutral, 120/240 V. */
  readonly split: boolean;
  readonly locking: boolean;
}

export const plugConfigurations = typed<Table<PlugRow>>(configurationsFile);
