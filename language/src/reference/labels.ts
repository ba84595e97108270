import labelsJson from './labels/labels.json' with { type: 'json' };
import type { Basis, Table, TableRow } from './table.js';

/** What a label is put on or is about. */
export type LabelSubject =
  | 'disconnects'
  | 'panels'
  | 'banks'
  | 'storage above 1 kWh'
  | 'arrays'
  | 'array runs'
  | 'services beside other sources'
  | 'inlets of sets'
  | 'several sources'
  | 'several sources of a site'
  | 'several sources of a vehicle'
  | 'sets'
  | 'bonds'
  | 'residual devices'
  | 'enclosures'
  | 'shore inlets'
  | 'plugged inlets'
  | 'inverters';

/** A label that a rule asks for. `says` and `where` hold words in braces that a design fills in. */
export interface LabelRule extends TableRow {
  readonly id: string;
  readonly practice: readonly Basis[];
  readonly of: LabelSubject;
  readonly rule: string;
  readonly says: string;
  readonly where: string;
}

const labels = labelsJson as unknown as Table<LabelRule>;

/** The labels that a practice asks for, in the order of the table. */
export const labelRules = (practice: Basis): readonly LabelRule[] =>
  labels.rows.filter((row) => row.practice.includes(practice));
