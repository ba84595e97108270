import { afterAll, describe, expect, it } from 'vitest';
import { allFound } from './run/found.js';
import { KINDS, Trials } from './run/trial.js';

const trials = new Trials();
afterAll(() => trials.end());

describe('what random trials once found', () => {
  it('is kept in files that can be tried', () => {
    for (const [name, found] of allFound()) {
      expect(KINDS, name).toContain(found.case.kind);
      expect(found.broke.length, name).toBeGreaterThan(0);
    }
  });

  for (const [name, found] of allFound())
    it(`${name} breaks no promise any more`, async () => {
      expect(await trials.faults(found.case)).toEqual([]);
    });
});
