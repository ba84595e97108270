import { describe, expect, it } from 'vitest';
import { SLOWER_BY, notKept, slowerThan } from '../bench/kept.mjs';

describe('figures of the bench that are kept', () => {
  const kept = { check: 10, open: 4 };

  it('name what has become slower by more than the stated factor, and nothing else', () => {
    const measures = [
      { id: 'check', name: 'check of an example', ratio: 10 * SLOWER_BY + 0.1 },
      { id: 'open', name: 'opening', ratio: 4 * SLOWER_BY - 0.1 },
      { id: 'new', name: 'never kept', ratio: 99 },
      { name: 'without a ratio' },
    ];
    expect(slowerThan(measures, kept)).toEqual(['check of an example: 11.60, kept 10.00 (1.16 times)']);
    expect(notKept(measures, kept)).toEqual(['never kept']);
  });
});
