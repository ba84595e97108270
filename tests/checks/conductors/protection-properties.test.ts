import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Analysis } from '../../../language/src/index.js';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';

/*
 * What holds of the checks of protection on any design: a fact that is left out proves nothing, and a device that can do more brings no
 * finding of the same check.
 */
const CHECKS = [
  'short-circuit-withstand',
  'fault-clearing',
  'interrupt-rating',
  'run-protection',
  'run-ampacity',
] as const;

interface Facts {
  readonly direct: boolean;
  readonly className: string;
  readonly rating: number;
  readonly size: string;
  readonly length: number;
  readonly ohms: number;
}

const REMOVABLE = ['class', 'rating', 'size', 'length', 'resistance', 'faultCurrent', 'protectionLow'] as const;

const design = (facts: Facts, without = '', interrupt = ''): string => {
  const { direct, className, rating, size, length, ohms } = facts;
  const fact = (name: string, value: string): string => (name === without ? '' : `${name}: ${value}   `);
  const source = direct
    ? `battery Source { voltage: 51.2 V   capacity: 100 Ah   ${fact('resistance', `${ohms}..${2 * ohms} mohm`)}${fact('protectionLow', '40 V')}chargeLimit: 57.6 V }`
    : `grid Source { voltage: 240 V   rating: 100 A   ${fact('faultCurrent', `${Math.round(50 / ohms)} kA`)}neutralBond: bonded }`;
  return `design Any {
  ${source}
  fuse F1 { ${fact('class', className)}${fact('rating', `${rating} A`)}${interrupt} }
  load Pump { power: 400 W   supply: ${direct ? 'dc' : 'ac'} }
  run Line: Source -> F1 @ 0 m -> Pump { ${fact('size', size)}type: THHN   ${fact('length', `${length} m`)} }
}
`;
};

const facts = fc.record({
  direct: fc.boolean(),
  className: fc.constantFrom('T', 'J', 'RK1', 'RK5'),
  rating: fc.constantFrom(15, 30, 60, 100, 200),
  size: fc.constantFrom('14 AWG', '10 AWG', '6 AWG', '2 AWG'),
  length: fc.constantFrom(1, 10, 60),
  ohms: fc.constantFrom(2, 5, 20),
});

/** Whether a check proves a design sound: it finds nothing and asks nothing. */
const isProved = (analysis: Analysis, check: string): boolean =>
  findingsOf(analysis, check).length === 0 && askedBy(analysis, check).length === 0;

describe('checks of protection', () => {
  it('prove nothing more where a fact is left out', async () => {
    await fc.assert(
      fc.asyncProperty(facts, fc.constantFrom(...REMOVABLE), async (given, without) => {
        const whole = await analyseText(design(given));
        const less = await analyseText(design(given, without));
        for (const check of CHECKS)
          if (!isProved(whole, check))
            expect(isProved(less, check), `${check} without ${without}\n${design(given)}`).toBe(false);
      }),
      { numRuns: 40 },
    );
  });

  it('find nothing new with a larger interrupt rating', async () => {
    await fc.assert(
      fc.asyncProperty(facts, fc.integer({ min: 1, max: 40 }), async (given, kiloamperes) => {
        const at = async (rating: number): Promise<number> =>
          findingsOf(await analyseText(design(given, '', `interruptRating: ${rating} kA`)), 'interrupt-rating').length;
        expect(await at(kiloamperes + 5)).toBeLessThanOrEqual(await at(kiloamperes));
      }),
      { numRuns: 20 },
    );
  });
});
