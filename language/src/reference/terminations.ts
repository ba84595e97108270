/** Studs, lugs and tightening torques. */
import studsFile from './materials/studs.json' with { type: 'json' };
import torqueFile from './nec/torque-annex-i.json' with { type: 'json' };
import { type SizedRow, type Table, type TableRow, areaOfSize, typed } from './table.js';

export interface StudRow extends TableRow {
  readonly stud: string;
  /** Thread diameters that take each other's lugs, mm. */
  readonly metric: number;
  readonly inch: number;
  /** A */
  readonly current: number;
  /** Cable sizes for which lugs with this hole are usually made, mm². */
  readonly smallest: number;
  readonly largest: number;
  /** Nm */
  readonly torque: { readonly low: number; readonly high: number };
}

export interface ScrewTorqueRow extends SizedRow {
  /** In the unit of the table. */
  readonly torque: number;
}

export const studs = typed<Table<StudRow>>(studsFile);
export const screwTorques = typed<Table<ScrewTorqueRow> & { readonly unit: string }>(torqueFile);

/** Threads are given in round figures: 0.375 in is 9.53 mm, and written as such. mm. */
const THREAD_SLACK = 0.1;

/** The row of a thread diameter (mm), metric or inch; undefined for a thread the table does not list. */
export const studOf = (thread: number): StudRow | undefined =>
  studs.rows.find(({ metric, inch }) => [metric, inch].some((listed) => Math.abs(listed - thread) <= THREAD_SLACK));

/** Whether a lug made for one thread goes on a stud of another (mm): the same thread, or its metric and inch neighbours. */
export function lugFits(hole: number, stud: number): boolean {
  if (Math.abs(hole - stud) <= THREAD_SLACK) return true;
  const row = studOf(stud);
  return row !== undefined && row === studOf(hole);
}

/** The row for a conductor of an area (mm²): the first one that is not smaller. */
export const screwTorqueFor = (area: number): ScrewTorqueRow | undefined =>
  screwTorques.rows.find(({ size }) => areaOfSize(size) >= area * 0.999);
