import { describe, expect, test } from 'vitest';
import { SYMBOLS, type SymbolName, definitionOf } from '../../language/src/draw/symbols/shapes.js';
import type { SymbolShape } from '../../language/src/draw/symbols/symbol.js';

const all = (Object.keys(SYMBOLS) as SymbolName[]).filter((name) => name !== 'bus');
const BEGIN_RIGHT: readonly string[] = [
  'set',
  'utility',
  'shore',
  'array',
  'wind',
  'water',
  'alternator',
  'vehicle',
  'bank',
];

/** Whether a stroke begins or ends at a point on the level of the line. */
const touches = ({ strokes }: SymbolShape, x: number): boolean =>
  x < 0 ? new RegExp(`M${x} -?\\d+H`).test(strokes) : new RegExp(`H${x}(?![\\d.])`).test(strokes);

describe.each(['iec', 'ieee'] as const)('symbols in the manner of %s', (manner) => {
  test.each(all)('%s: a stroke ends at every connection', (name) => {
    const shape: SymbolShape = SYMBOLS[name][manner];
    if (definitionOf(name).isSquare) {
      // Lines reach to the sides of the square, which is 4 by 4 modules.
      expect(shape.strokes).toContain('M-20 -20H20V20H-20Z');
      return;
    }
    if (!BEGIN_RIGHT.includes(name)) expect(touches(shape, -30)).toBe(true);
    if (!definitionOf(name).isWordedBeside) expect(touches(shape, 30)).toBe(true);
  });
});

// Proportions as the collection of symbols has them; shapes from memory.
describe('proportions', () => {
  test('a fuse is 1 by 3 modules with its line through it', () => {
    expect(SYMBOLS.fuse.iec.strokes).toBe('M-30 0H30M-15 -5H15V5H-15Z');
  });

  test('a blade stands at 30 degrees', () => {
    const [, x, y] = /M10 0L(-?[\d.]+) (-?[\d.]+)/.exec(SYMBOLS.breaker.iec.strokes)!;
    expect((Math.atan2(-Number(y), 10 - Number(x)) * 180) / Math.PI).toBeCloseTo(30, 0);
  });

  test('a machine is a circle of 4 modules', () => {
    expect(SYMBOLS.set.iec.strokes).toContain('A20 20');
    expect(SYMBOLS.motor.ieee.strokes).toContain('A20 20');
  });
});
