import { beforeAll, describe, expect, test } from 'vitest';
import { type RuleCase, ruleCase, ruleCases, ruleReport, ruleTallies, type RuleTally } from './search.js';

/*
 * What search and proof say of control rules must be true of other plays of the engine: nothing that is called impossible happens, and no rules
 * that are called free of a fault show it. Loads change by the hour, the grid and links are lost and come back, the sun varies.
 */
const SITES = 50;
const PLAYS = 2;

/** Share of accusations that no play of some shows: one in fifty over many sites; of so few as here two are let pass. */
const UNSHOWN = 2;

describe('what the search says of random rules', () => {
  let cases: readonly RuleCase[] = [];
  let tallies: readonly RuleTally[] = [];

  beforeAll(async () => {
    cases = await ruleCases(SITES, PLAYS);
    tallies = ruleTallies(cases);
  });

  const holds = (title: string, kind: string, least: number): void => {
    test(title, () => {
      const { free, wrong } = tallies.find((each) => each.kind === kind)!;
      // So many were put to the test that it means something.
      expect(free).toBeGreaterThanOrEqual(least);
      expect(wrong.length, ruleReport(wrong, 1)).toBe(0);
    });
  };

  holds('rules called free of conflict never start and stop at once', 'clash', 20);
  holds('sets called free of starving start for an empty bank', 'starved', 20);
  holds('sets called free of endless runs stop', 'endless', 28);
  holds('sets called free of endless runs stop with the grid there', 'latched', 30);
  holds('quiet hours called harmless leave no bank empty', 'quiet', 8);
  holds('sets called free of chatter do not chatter', 'chatter', 35);
  holds('rules called needless never act alone, and those called false are never true', 'needless', 45);

  test('rules switch without end in no play', () => {
    expect(cases.filter(({ given }) => given > 0).map(({ seed }) => seed)).toEqual([]);
  });

  test('nearly all accused show it in some play', () => {
    const accused = tallies.reduce((sum, each) => sum + each.accused, 0);
    const unshown = tallies.reduce((sum, each) => sum + each.unshown.length, 0);
    expect(accused).toBeGreaterThan(50);
    expect(unshown, ruleReport(cases, 0)).toBeLessThanOrEqual(UNSHOWN);
  });
});

/*
 * Sites that were called free of what plays of them showed: where a load, a charge and a short visit of the grid meet, where a link is lost for
 * a while and nothing is said for that, and where a fault showed first in a world that never comes about.
 */
test.each([2006, 2079, 2102, 2379, 2438])('site %i is called free of nothing that plays show', async (seed) => {
  const found = (await ruleCase(seed, PLAYS))!;
  expect(found.accused.length).toBeGreaterThan(0);
  expect(found.wrong, ruleReport([found], 1)).toEqual([]);
});
