import { describe, expect, it } from 'vitest';
import { analyseText, applyFix, findingsOf, lacking } from '../../helpers/analyse.js';

const design = (member: string): string => `design D {
  site { altitude: assumed 300 m }
  load Lamp { power: assumed 40 W }
  ${member}
}
`;

const messages = async (text: string, check: string): Promise<string[]> =>
  findingsOf(await analyseText(text), check).map(({ told }) => told);

describe('a waiver', () => {
  it('sets aside one check on one thing, and keeps the finding with its reason', async () => {
    const analysis = await analyseText(design('accept assumed-fact on Lamp because "asked" until 2027-06-30'));
    const of = analysis.findings.filter(({ check }) => check === 'assumed-fact');
    expect(of.map(({ subject, accepted }) => [subject, accepted])).toEqual([
      ['D.site', undefined],
      ['D.Lamp', { reason: 'asked', until: '2027-06-30' }],
    ]);
    expect(findingsOf(analysis, 'unused-accept')).toEqual([]);
  });

  it('can be on the site', async () => {
    const analysis = await analyseText(design('accept assumed-fact on site because "from the map"'));
    expect(findingsOf(analysis, 'assumed-fact').map(({ subject }) => subject)).toEqual(['D.Lamp']);
  });

  it('holds on its last day and not after it', async () => {
    const text = design('accept assumed-fact on Lamp because "asked" until 2027-01-01');
    expect(findingsOf(await analyseText(text, '2027-01-01'), 'expired-accept')).toEqual([]);
    const later = await analyseText(text, '2027-01-02');
    expect(findingsOf(later, 'expired-accept')).toHaveLength(1);
    expect(findingsOf(later, 'assumed-fact').map(({ subject }) => subject)).toContain('D.Lamp');
  });

  it('without a reason does not count', async () => {
    const text = design('accept assumed-fact on Lamp');
    expect(await messages(text, 'unused-accept')).toEqual([expect.stringContaining('gives no reason')]);
    expect(await messages(text, 'assumed-fact')).toHaveLength(2);
  });

  it('of a check that does not exist proposes the one that was meant', async () => {
    const text = design('accept assumed-facts on Lamp because "asked"');
    const [found] = findingsOf(await analyseText(text), 'unused-accept');
    expect(lacking(found?.told, '`assumed-fact`')).toEqual([]);
    expect(await messages(applyFix(text, found!.fixes[0]!), 'unused-accept')).toEqual([]);
  });

  it('on a thing that does not exist is said once, as an unknown name', async () => {
    const text = design('accept assumed-fact on Lmap because "asked"');
    expect(await messages(text, 'unused-accept')).toEqual([]);
    expect(await messages(text, 'unknown-name')).toHaveLength(1);
  });

  it('given twice is unused once', async () => {
    const line = 'accept assumed-fact on Lamp because "asked"';
    expect(await messages(design(`${line}\n  ${line}`), 'unused-accept')).toHaveLength(1);
  });

  it('that a variant no longer needs is kept for its base, and the other way round', async () => {
    const text = `design D {
  load Lamp { power: assumed 40 W }
  accept assumed-fact on Lamp because "asked"
}
variant Known of D { Lamp.power = 42 W }
`;
    expect(await messages(text, 'unused-accept')).toEqual([]);
    const reverse = `design D {
  load Lamp { power: 40 W }
  accept assumed-fact on Lamp because "asked"
}
variant Guessed of D { Lamp.power = assumed 42 W }
`;
    expect(await messages(reverse, 'unused-accept')).toEqual([]);
  });

  it('can set aside what reading the text has to say', async () => {
    const text = `design D {
  load Lamp { power: ? }
  accept not-evaluated because "to be chosen with the customer"
}
`;
    expect(await messages(text, 'not-evaluated')).toEqual([]);
    expect(await messages(text, 'unused-accept')).toEqual([]);
  });

  it('is taken out by its fix when it silences nothing', async () => {
    const text = design('accept wrong-dimension on Lamp because "none left"');
    const [found] = findingsOf(await analyseText(text), 'unused-accept');
    expect(await messages(applyFix(text, found!.fixes[0]!), 'unused-accept')).toEqual([]);
  });
});
