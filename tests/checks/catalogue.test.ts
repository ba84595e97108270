import { describe, expect, it } from 'vitest';
import { CHECKS, CHECK_GROUPS, type Fix } from '../../language/src/index.js';
import { analyseText, applyFix, findingsOf, lacking } from '../helpers/analyse.js';

describe('the catalogue of checks', () => {
  it('has no id twice, and every id reads well after `accept`', () => {
    const ids = CHECKS.map(({ id }) => id);
    expect(new Set(ids).size).toBe(ids.length);
    for (const id of ids) expect(id).toMatch(/^[a-z]+(-[a-z]+)*$/);
  });

  it('puts every check into a group that exists', () => {
    for (const check of CHECKS) expect(CHECK_GROUPS).toHaveProperty(check.group);
  });
});

describe.each(CHECKS.map((check) => [check.id, check] as const))('%s', (id, check) => {
  it('says what it finds, guards and does, and names its sources', () => {
    expect(check.docs.finds).toMatch(/^[A-Z`].*\.$/s);
    expect(check.docs.guards).toMatch(/\.$/);
    expect(check.docs.how).toMatch(/\.$/);
    // What is longer is said in points.
    for (const paragraph of check.docs.how.split('\n')) expect(paragraph.length, paragraph).toBeLessThanOrEqual(600);
    expect(check.docs.fix).toMatch(/^[A-Z].{10,}\.$/);
    expect(check.docs.sources.length).toBeGreaterThan(0);
  });

  it('finds exactly one fault in its failing example', async () => {
    const analysis = await analyseText(check.docs.failing);
    expect(findingsOf(analysis, id).map(({ message }) => message)).toHaveLength(1);
  });

  it('is silent on its passing example', async () => {
    const analysis = await analyseText(check.docs.passing);
    expect(findingsOf(analysis, id).map(({ message }) => message)).toEqual([]);
    // A passing example that cannot be read would be silent for the wrong reason.
    expect(findingsOf(analysis, 'syntax-error').map(({ message }) => message)).toEqual([]);
    if (id !== 'unknown-name') expect(findingsOf(analysis, 'unknown-name').map(({ message }) => message)).toEqual([]);
  });

  it('says in its message what is wrong in whole sentences', async () => {
    const [finding] = findingsOf(await analyseText(check.docs.failing), id);
    expect(lacking(finding?.message, /[.?]$/)).toEqual([]);
    expect(finding?.message).not.toMatch(/undefined|NaN|\[object|Infinity/);
  });

  it('offers only fixes that mend what it found', async () => {
    const text = check.docs.failing;
    const [finding] = findingsOf(await analyseText(text), id);
    for (const fix of finding?.fixes ?? []) {
      const mended = applyFix(text, fix as Fix);
      const after = await analyseText(mended);
      expect(
        findingsOf(after, id).map(({ message }) => message),
        `after "${fix.title}":\n${mended}`,
      ).toEqual([]);
      expect(
        findingsOf(after, 'syntax-error').map(({ message }) => message),
        `after "${fix.title}":\n${mended}`,
      ).toEqual([]);
    }
  });
});
