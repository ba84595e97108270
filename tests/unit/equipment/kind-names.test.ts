import { ESLint } from 'eslint';
import { describe, expect, it } from 'vitest';
import { INSTANCE_KIND_NAMES } from '../../../eslint.kinds.js';
import { INSTANCE_KINDS } from '../../../language/src/index.js';

describe('names of kinds', () => {
  it('that the lint rule knows are those of all kinds that can be placed', () => {
    expect([...INSTANCE_KIND_NAMES].sort()).toEqual(INSTANCE_KINDS.map(({ kind }) => kind as string).sort());
  });

  it('are no question outside equipment', async () => {
    const eslint = new ESLint({ cwd: new URL('../../..', import.meta.url).pathname });
    const told = async (body: string, filePath: string): Promise<number> => {
      const [result] = await eslint.lintText(`${body}\n`, { filePath });
      return result!.messages.filter(({ ruleId }) => ruleId === 'no-restricted-syntax').length;
    };
    const outside = 'language/src/checks/any.ts';
    for (const test of [
      "thing.kind === 'battery'",
      "thing?.kind !== 'battery'",
      "'battery' === kind",
      "['battery', 'load'].includes(thing.kind)",
      "new Set(['battery'])",
    ])
      expect(await told(`export const found = (thing, kind) => ${test};`, outside), test).toBeGreaterThan(0);
    expect(await told("switch (thing.kind) { case 'battery': found(); }", outside)).toBe(1);
    expect(await told("export const made = { kind: 'transfer' };", outside)).toBe(1);
    expect(await told("export const found = (result) => result.kind === 'known';", outside)).toBe(0);
    expect(await told("export const found = (charges) => charges.supply.kind === 'bus';", outside)).toBe(0);
    expect(
      await told("export const found = (thing) => thing.kind === 'battery';", 'language/src/equipment/any.ts'),
    ).toBe(0);
  });
});
