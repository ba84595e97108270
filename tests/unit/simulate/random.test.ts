import { describe, expect, test } from 'vitest';
import { Random } from '../../../language/src/simulate/random.js';

const drawn = (random: Random, count: number, draw: (from: Random) => number): number[] =>
  Array.from({ length: count }, () => draw(random));
const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

describe('random numbers', () => {
  test('are the same for the same seed and stream, and others for others', () => {
    const take = (seed: number, stream?: number): number[] => drawn(new Random(seed, stream), 5, (from) => from.next());
    expect(take(7)).toEqual(take(7));
    expect(take(7)).not.toEqual(take(8));
    expect(take(7, 1)).not.toEqual(take(7, 2));
    expect(take(0)).not.toEqual(take(0, 1));
  });

  test('lie evenly between 0 and 1', () => {
    const values = drawn(new Random(3), 100_000, (from) => from.next());
    expect(Math.min(...values.slice(0, 1000))).toBeGreaterThanOrEqual(0);
    expect(values.every((value) => value >= 0 && value < 1)).toBe(true);
    // The mean of n even numbers strays by 1/√(12·n): four times that is 0.0037.
    expect(Math.abs(mean(values) - 0.5)).toBeLessThan(0.0037);
    const tenths = new Array<number>(10).fill(0);
    for (const value of values) tenths[Math.floor(value * 10)]! += 1;
    // Each tenth holds 10 000 ± 4·√9000.
    for (const count of tenths) expect(Math.abs(count - 10_000)).toBeLessThan(380);
  });

  test('of the normal distribution have mean 0, deviation 1 and the tails of one', () => {
    const values = drawn(new Random(4), 100_000, (from) => from.normal());
    expect(Math.abs(mean(values))).toBeLessThan(0.013);
    expect(Math.abs(mean(values.map((value) => value ** 2)) - 1)).toBeLessThan(0.018);
    // 4.55 % lie beyond two deviations (tables of the normal distribution).
    const beyond = values.filter((value) => Math.abs(value) > 2).length / values.length;
    expect(Math.abs(beyond - 0.0455)).toBeLessThan(0.0027);
  });

  test('of streams of one seed have nothing to do with each other', () => {
    const [a, b] = [new Random(5, 1), new Random(5, 2)];
    const products = Array.from({ length: 50_000 }, () => (a.next() - 0.5) * (b.next() - 0.5));
    expect(Math.abs(mean(products))).toBeLessThan(4 / 12 / Math.sqrt(50_000));
  });

  test('waiting times have their mean, and a share of 1/e is longer than it', () => {
    const values = drawn(new Random(6), 100_000, (from) => from.waiting(30));
    expect(Math.abs(mean(values) - 30)).toBeLessThan(0.4);
    const longer = values.filter((value) => value > 30).length / values.length;
    expect(Math.abs(longer - Math.exp(-1))).toBeLessThan(0.0062);
  });
});
