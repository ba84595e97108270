import { describe, expect, test } from 'vitest';
import { type Argument, call, numberOf } from './call.js';
import examples from './worked-examples.json' with { type: 'json' };

interface Row {
  readonly id: string;
  readonly source: string;
  readonly provenance: string;
  readonly function: string;
  readonly arguments: Readonly<Record<string, Argument>>;
  readonly part?: string;
  readonly answer: { readonly value: number; readonly unit: string };
  /** Absolute, in the unit of the answer. */
  readonly tolerance: number;
  readonly note?: string;
}

const rows = examples.rows as unknown as readonly Row[];

describe('published and hand-worked examples on sources, storage and the sun', () => {
  test.each(rows.map((row) => [row.id, row.source, row] as const))('%s (%s)', (_id, _source, row) => {
    const result = numberOf(call(row.function, row.arguments), row.answer.unit, row.part);
    expect(Math.abs(result - row.answer.value)).toBeLessThanOrEqual(row.tolerance * (1 + 1e-9));
  });

  test('the exponent of a battery that delivers 67 % of 200 Ah at 50 A is 1.25 (battery-monitor manual p. 27, example 1)', () => {
    const shareAt = (exponent: number): number =>
      numberOf(
        call('peukertTime', {
          capacity: { value: 200, unit: 'Ah' },
          hours: { value: 20, unit: 'h' },
          exponent: { value: exponent, unit: '' },
          current: { value: 50, unit: 'A' },
        }),
        '',
        'share',
      );
    let low = 1;
    let high = 2;
    for (let round = 0; round < 60; round += 1) {
      const middle = (low + high) / 2;
      if (shareAt(middle) > 0.67) low = middle;
      else high = middle;
    }
    expect(low).toBeCloseTo(1.25, 2);
  });

  test('a year of monthly means on 42° comes within 0.5 % of the satellite data (NASA, 22-year means)', () => {
    const months = rows.filter((row) => row.function === 'tilted' && row.source.startsWith('NASA'));
    const computed = months.map((row) => numberOf(call('tilted', row.arguments), 'kWh/m2'));
    const sum = (values: readonly number[]): number => values.reduce((so, value) => so + value, 0);
    expect(months).toHaveLength(12);
    expect(sum(computed) / sum(months.map((row) => row.answer.value))).toBeCloseTo(1, 2);
  });
});
