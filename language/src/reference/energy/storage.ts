import type { Source } from '../../derivation/index.js';
import batterySizingJson from './battery-sizing.json' with { type: 'json' };
import dwellingJson from './dwelling-storage.json' with { type: 'json' };
import gassingJson from './gassing-current.json' with { type: 'json' };
import ventilationJson from './ventilation.json' with { type: 'json' };
import { type SourcedRow, type Table, asTable, rowSource, tableSource } from './table.js';

const sizing = asTable<Table<SourcedRow & { fact: string; value: number }>>(batterySizingJson);
export type BatterySizingFact = 'design-margin' | 'aging' | 'charge-factor-lead' | 'charge-factor-lithium';
/** A factor of battery sizing practice, with its source. */
export function batterySizing(fact: BatterySizingFact): { readonly value: number; readonly source: Source } {
  const row = sizing.rows.find((candidate) => candidate.fact === fact)!;
  return { value: row.value, source: rowSource(row) };
}

const gassing = asTable<Table<{ cell: string; charge: string; current: number; voltage: number }>>(gassingJson);
export const CELL_TYPES = ['vented', 'valveRegulated', 'nickelCadmium'] as const;
export type CellType = (typeof CELL_TYPES)[number];
export const CHARGE_MODES = ['float', 'boost'] as const;
export type ChargeMode = (typeof CHARGE_MODES)[number];
/** Current in mA per Ah that makes gas, by IEC 62485-2, and the cell voltage it holds for. */
export function gassingCurrentOf(
  cell: CellType,
  charge: ChargeMode,
): {
  readonly current: number;
  readonly voltage: number;
  readonly source: Source;
} {
  const row = gassing.rows.find((candidate) => candidate.cell === cell && candidate.charge === charge)!;
  return { current: row.current, voltage: row.voltage, source: tableSource(gassing) };
}

export const VENTILATION_BASES = ['iec', 'ieee'] as const;
export type VentilationBasis = (typeof VENTILATION_BASES)[number];
interface VentilationRow {
  readonly basis: VentilationBasis;
  readonly standard: string;
  readonly edition: string | null;
  readonly dilution: number;
  readonly hydrogen: number;
  readonly safety: number;
  readonly airPerAmpere: number;
  readonly openingPerAir: number | null;
  readonly volumePerAir: number | null;
  readonly provenance: Source['provenance'];
}
const ventilation = asTable<Table<VentilationRow>>(ventilationJson);
/** How a standard works out battery ventilation: m³/h of hydrogen and of air for each ampere and cell, opening in cm² per m³/h. */
export function ventilationOf(basis: VentilationBasis): VentilationRow & { readonly source: Source } {
  const row = ventilation.rows.find((candidate) => candidate.basis === basis)!;
  return {
    ...row,
    source: { standard: row.standard, ...(row.edition ? { edition: row.edition } : {}), provenance: row.provenance },
  };
}

export const BANK_LOCATIONS = ['living', 'closet', 'garage', 'wall', 'ground'] as const;
export type BankLocation = (typeof BANK_LOCATIONS)[number];
const dwelling = asTable<Table<SourcedRow & { location: BankLocation; all: number }> & { least: number; unit: number }>(
  dwellingJson,
);
/** Limits of stored energy at a one- or two-family dwelling, in kWh: `least` from which rules hold, most of one unit. */
export const DWELLING_STORAGE: { readonly least: number; readonly unit: number; readonly source: Source } = {
  least: dwelling.least,
  unit: dwelling.unit,
  source: tableSource(dwelling),
};
/** Most kWh of all units in one kind of place at a dwelling; 0 where none may stand. */
export function dwellingLimitAt(location: BankLocation): { readonly all: number; readonly source: Source } {
  const row = dwelling.rows.find((candidate) => candidate.location === location)!;
  return { all: row.all, source: rowSource(row) };
}
