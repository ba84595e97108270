import type { DerivedValue } from '../derivation/index.js';
import type { Markup } from '../markup/element.js';

/** What stands in a box of a table. */
export type Cell =
  | { readonly kind: 'text'; readonly text: string; readonly isAssumed?: true }
  /** A value that was worked out or stated, with the number under which the appendix derives it. */
  | {
      readonly kind: 'value';
      readonly text: string;
      readonly value: DerivedValue;
      readonly unit: string;
      readonly derivation?: number;
      readonly isAssumed?: true;
    }
  /** A fact that nobody stated: a box to fill in. */
  | {
      readonly kind: 'box';
      readonly why?: string;
      /** Whether the sheet says it once for all rows, so that it is in the data alone. */
      readonly isSaidAbove?: true;
    };

/** One column of a table: its key in data, its heading, and what stands in it. */
export interface Column<Row> {
  readonly key: string;
  readonly title: string;
  readonly isNumber?: boolean;
  readonly cell: (row: Row) => Cell;
}

export interface Table {
  readonly kind: 'table';
  /** Key of its rows in data. */
  readonly key: string;
  readonly title: string;
  readonly columns: readonly { readonly key: string; readonly title: string; readonly isNumber?: true }[];
  readonly rows: readonly (readonly Cell[])[];
  /** What is said where it has no rows. */
  readonly empty: string;
  /** Whether a page shows its columns as rows: of few things much is said. */
  readonly isTurned?: true;
}

export type Block =
  | Table
  | { readonly kind: 'text'; readonly title?: string; readonly paragraphs: readonly string[] }
  | { readonly kind: 'list'; readonly title?: string; readonly isOrdered?: true; readonly items: readonly string[] }
  | { readonly kind: 'caution'; readonly lines: readonly string[] }
  | { readonly kind: 'figure'; readonly title: string; readonly picture: Markup; readonly description: string }
  | {
      readonly kind: 'worked';
      readonly number: number;
      readonly title: string;
      readonly lines: readonly { readonly depth: number; readonly text: string; readonly isValue: boolean }[];
    };

export const SHEETS = [
  'summary',
  'loads',
  'diagram',
  'wires',
  'protection',
  'parts',
  'settings',
  'links',
  'plan',
  'commissioning',
  'owner',
  'derivations',
] as const;

export type SheetName = (typeof SHEETS)[number];

/** One sheet of the set, as data. */
export interface Sheet {
  readonly name: SheetName;
  readonly title: string;
  /** Who it is for. */
  readonly reader: string;
  readonly blocks: readonly Block[];
  /** Whether it is laid across the page. */
  readonly isWide?: true;
  /** Whether it is so short that on paper it begins below the sheet before it. */
  readonly isShort?: true;
}

/** Makes a table of rows. */
export const table = <Row>(
  key: string,
  title: string,
  columns: readonly Column<Row>[],
  rows: readonly Row[],
  empty: string,
): Table => ({
  kind: 'table',
  key,
  title,
  columns: columns.map(({ key: name, title: heading, isNumber }) => ({
    key: name,
    title: heading,
    ...(isNumber ? { isNumber: true as const } : {}),
  })),
  rows: rows.map((row) => columns.map(({ cell }) => cell(row))),
  empty,
});

export const text = (value: string): Cell => ({ kind: 'text', text: value });
export const box = (why?: string): Cell => ({ kind: 'box', ...(why === undefined ? {} : { why }) });
