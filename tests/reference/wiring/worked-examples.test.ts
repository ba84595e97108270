import { describe, expect, test } from 'vitest';
import computed from './computed-vectors.json' with { type: 'json' };
import { type Row, expectRow } from './rows.js';
import worked from './worked-examples.json' with { type: 'json' };

const rowsOf = (file: { rows: unknown }): readonly Row[] => file.rows as readonly Row[];
const title = (row: Row): string =>
  `${row.id} ${row.call}: ${row.statement}, ${row.part ?? 'result'} ${row.gives} (${row.source})`;

describe('published worked examples', () => {
  for (const row of rowsOf(worked)) test(title(row), () => expectRow(row));

  test('a row whose published answer does not stand says why', () => {
    for (const row of rowsOf(worked)) if (row.published) expect(row.why, row.statement).toBeTruthy();
  });
});

describe('values computed apart from this program', () => {
  for (const row of rowsOf(computed)) test(title(row), () => expectRow(row));
});
