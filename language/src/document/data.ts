import { type Quantity, inUnit } from '../quantity/index.js';
import type { HandoverSet } from './set.js';
import type { Cell, Table } from './sheet.js';

/** Tables of the set by the names of their files. */
const FILES: Readonly<Record<string, (key: string, sheet: string) => boolean>> = {
  loads: (key) => key === 'loads',
  wires: (key) => key === 'wires',
  cuts: (key) => key === 'cuts',
  reels: (key) => key === 'reels',
  protection: (key) => key === 'protection',
  panels: (key) => /^panel\d+$/.test(key),
  parts: (key) => key === 'parts',
  labels: (key) => key === 'labels',
  wiring: (key) => key.startsWith('wiring'),
  settings: (key) => key === 'settings',
  links: (key) => key === 'links',
  commissioning: (key) => /^steps\d+$/.test(key),
  'run-tests': (key) => key === 'runTests',
};

/** Names of all files of tables that a set may have, without ending. */
export const CSV_NAMES: readonly string[] = Object.keys(FILES);

const tablesOf = (set: HandoverSet): readonly { readonly sheet: string; readonly table: Table }[] =>
  set.sheets.flatMap(({ name, blocks }) =>
    blocks.flatMap((block) => (block.kind === 'table' ? [{ sheet: name, table: block }] : [])),
  );

/** What a table program would take for a formula is told apart by a leading quote; numbers and units of ours never begin so. */
const harmless = (text: string): string =>
  /^[=+\-@\t\r]/.test(text) && Number.isNaN(Number.parseFloat(text)) ? `'${text}` : text;

const quoted = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

const cellText = (cell: Cell): string => (cell.kind === 'box' ? '' : cell.text);

/** The sheets as comma-separated values (RFC 4180), by the names of their files without ending. */
export function handoverCsv(set: HandoverSet): ReadonlyMap<string, string> {
  const files = new Map<string, string>();
  for (const [file, isIn] of Object.entries(FILES)) {
    const tables = tablesOf(set).filter(({ sheet, table: { key } }) => isIn(key, sheet));
    const [first] = tables;
    if (!first) continue;
    const head = first.table.columns.map(({ title }) => title);
    const rows = tables.flatMap(({ table: { rows: own } }) => own.map((row) => row.map(cellText)));
    files.set(
      file,
      [head, ...rows].map((row) => `${row.map((text) => quoted(harmless(text))).join(',')}\r\n`).join(''),
    );
  }
  return files;
}

/** A cell in data: texts as they are, values with their unit beside, nothing for a box to fill in. */
function cellData(cell: Cell): unknown {
  if (cell.kind === 'box') return cell.why === undefined ? null : { missing: cell.why };
  const assumed = cell.isAssumed ? { assumed: true } : {};
  if (cell.kind === 'text') return cell.isAssumed ? { text: cell.text, ...assumed } : cell.text;
  const { value, unit, text, derivation } = cell;
  const inItsUnit = (quantity: Quantity, at: number): number =>
    inUnit({ ...quantity, value: at }, unit === '1' ? '' : unit);
  const isRange = typeof value === 'object' && value.low !== value.high;
  return {
    text,
    value: typeof value === 'object' ? inItsUnit(value, value.value) : value,
    unit,
    ...(isRange ? { range: [inItsUnit(value, value.low), inItsUnit(value, value.high)] } : {}),
    ...(derivation === undefined ? {} : { derivation }),
    ...assumed,
  };
}

/** The set as data: rows of every table by its key. */
export function handoverData(set: HandoverSet, written: readonly string[]): unknown {
  return {
    schema: 1,
    design: set.design,
    ...(set.variantOf ? { variantOf: set.variantOf } : {}),
    stamp: set.stamp,
    hasErrors: set.hasErrors,
    written,
    sheets: Object.fromEntries(
      tablesOf(set).map(({ table: { key, columns, rows } }) => [
        key,
        rows.map((row) => Object.fromEntries(row.map((cell, index) => [columns[index]!.key, cellData(cell)]))),
      ]),
    ),
  };
}
