import { raise } from '../quantity/index.js';
import type { Source } from '../derivation/index.js';
import { type SourcedRow, asTable, rowSource, type Table } from './energy/table.js';
import lineLimitsJson from './links/line-limits.json' with { type: 'json' };

interface LineRow extends SourcedRow {
  readonly medium: string;
  /** kbit/s. */
  readonly rate: number;
  /** m. */
  readonly length: number;
}

interface TerminatorRow extends SourcedRow {
  readonly medium: string;
  readonly count: number;
  readonly ohms: number;
}

interface LineTable extends Table<LineRow> {
  readonly terminators: readonly TerminatorRow[];
  readonly branch: SourcedRow & { readonly length: number };
  readonly modbusAddresses: SourcedRow & { readonly from: number; readonly to: number };
}

const lines = asTable<LineTable>(lineLimitsJson);

export interface LineLimit {
  /** m. */
  readonly length: number;
  readonly source: Source;
}

/**
 * The longest line of a medium at a bit rate (kbit/s), m: that of the rows on both sides on a straight line in both logarithms. Below the
 * slowest row its length, which other things than the rate bound; beyond the fastest, and for media without rows, undefined.
 */
export function longestLine(medium: string, rate: number): LineLimit | undefined {
  const rows = lines.rows.filter((row) => row.medium === medium).sort((a, b) => a.rate - b.rate);
  const above = rows.findIndex((row) => row.rate >= rate);
  if (above < 0) return undefined;
  const upper = rows[above]!;
  if (above === 0 || upper.rate === rate) return { length: upper.length, source: rowSource(upper) };
  const lower = rows[above - 1]!;
  const share = Math.log(rate / lower.rate) / Math.log(upper.rate / lower.rate);
  return { length: lower.length * raise(upper.length / lower.length, share), source: rowSource(upper) };
}

/** The longest line of a medium at any rate, m. */
export function longestOfMedium(medium: string): LineLimit | undefined {
  const [row] = lines.rows.filter((each) => each.medium === medium).sort((a, b) => b.length - a.length);
  return row && { length: row.length, source: rowSource(row) };
}

/** How many terminating resistors a line of a medium has, and of how many ohm; undefined for media that need none. */
export function terminatorsOf(medium: string): { count: number; ohms: number; source: Source } | undefined {
  const row = lines.terminators.find((each) => each.medium === medium);
  return row && { count: row.count, ohms: row.ohms, source: rowSource(row) };
}

/** The longest branch off a line, m. */
export const longestBranch: LineLimit = { length: lines.branch.length, source: rowSource(lines.branch) };

/** Addresses that things may have on a Modbus serial line. */
export const modbusAddresses = {
  from: lines.modbusAddresses.from,
  to: lines.modbusAddresses.to,
  source: rowSource(lines.modbusAddresses),
};
