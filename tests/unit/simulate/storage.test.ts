import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { openCircuitCurve } from '../../../language/src/reference/energy/index.js';
import type { BankPlan } from '../../../language/src/simulate/plan.js';
import {
  chargeShare,
  restCurve,
  slopeOf,
  storedEnergy,
  stretchAt,
} from '../../../language/src/equipment/bank-curve.js';

const points = openCircuitCurve('lfp')!.points;
const curve = restCurve(points, 16);

describe('the rest curve of a bank', () => {
  test('has the voltage of one cell times the cells', () => {
    expect(curve.volts[6]).toBeCloseTo(16 * 3.2772, 9);
  });

  test('has the slope of the published table between 29.72 and 98.33 % of charge', () => {
    // Sunil, Pattipati, Balasingam 2025: 73.9 mV over 68.61 % of charge, 1.0771 mV for each percent and cell.
    expect(slopeOf(curve, 6) / 16 / 100).toBeCloseTo(1.0771e-3, 7);
  });

  test('belongs at one of its points to the stretch that is gone towards', () => {
    expect(stretchAt(curve, 0.2972, 1)).toBe(6);
    expect(stretchAt(curve, 0.2972, -1)).toBe(5);
    expect(stretchAt(curve, 0, -1)).toBe(0);
    expect(stretchAt(curve, 1, 1)).toBe(points.length - 2);
  });
});

describe('energy stored', () => {
  const bank = { curve, capacity: 3600 * 100 };

  test('is the integral of the rest voltage over the charge', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1, noNaN: true }), (soc) => {
        const steps = 20_000;
        let sum = 0;
        for (let at = 0; at < steps; at += 1) {
          const here = ((at + 0.5) / steps) * soc;
          const above = Math.max(
            1,
            points.findIndex(([x]) => x >= here),
          );
          const [[x0, y0], [x1, y1]] = [points[above - 1]!, points[above]!];
          sum += 16 * (y0 + ((y1 - y0) * (here - x0)) / (x1 - x0)) * ((soc / steps) * bank.capacity);
        }
        expect(storedEnergy(bank, soc * bank.capacity)).toBeCloseTo(sum, -Math.log10(sum * 1e-6 + 1));
      }),
      { numRuns: 20, seed: 1 },
    );
  });

  test('is nothing in an empty bank, and mean voltage times capacity in a full one', () => {
    expect(storedEnergy(bank, 0)).toBe(0);
    // Trapezoids of the table by hand: 3.2916 V is the mean of a cell.
    let mean = 0;
    for (let at = 1; at < points.length; at += 1)
      mean += ((points[at]![1] + points[at - 1]![1]) / 2) * (points[at]![0] - points[at - 1]![0]);
    expect(storedEnergy(bank, bank.capacity)).toBeCloseTo(16 * mean * bank.capacity, 3);
  });
});

describe('the share of a charge that is stored', () => {
  const bank = { efficiency: 0.97, efficiencyFull: 0.5, knee: 0.8 } as BankPlan;

  test('stays up to the knee and falls straight to that of a full bank', () => {
    expect(chargeShare(bank, 0.2)).toBe(0.97);
    expect(chargeShare(bank, 0.8)).toBe(0.97);
    expect(chargeShare(bank, 0.9)).toBeCloseTo(0.735, 12);
    expect(chargeShare(bank, 1)).toBeCloseTo(0.5, 12);
  });
});
