import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Finding, CHECKS } from '../../../language/src/index.js';
import { analyseText, applyFix } from '../../helpers/analyse.js';

const OWN = CHECKS.filter(({ group }) => group === 'storage').map(({ id }) => id);

const UNITS = {
  lfp: 'voltage: 12.8 V   cells: 4   maximumDischarge: 100 A   maximumCharge: 60 A',
  agm: 'voltage: 12 V   cells: 6   peukert: 1.1   maximumCharge: 30 A',
  flooded: 'voltage: 12 V   cells: 6   peukert: 1.3   maximumCharge: 25 A',
} as const;

/** A 12 V bank with one load and one charger, every fact stated at random. */
const randomBank = fc
  .record({
    chemistry: fc.constantFrom('lfp' as const, 'agm' as const, 'flooded' as const),
    parallel: fc.integer({ min: 1, max: 6 }),
    takeOff: fc.constantFrom('end', 'diagonal', 'busbar'),
    jumper: fc.integer({ min: 1, max: 30 }),
    watts: fc.integer({ min: 5, max: 3000 }),
    hours: fc.integer({ min: 1, max: 100 }),
    coldest: fc.integer({ min: -15, max: 24 }),
    opening: fc.integer({ min: 1, max: 300 }),
    location: fc.constantFrom('closet', 'garage', 'ground', 'living'),
  })
  .map(
    (facts) => `design D {
  basis: nec 2023
  site { dwelling: yes   ambient: -20..35 degC }
  battery Bank {
    chemistry: ${facts.chemistry}   ${UNITS[facts.chemistry]}   capacity: 100 Ah   capacityTime: 20 h   reserve: 30 %
    resistance: 5..12 mohm   parallel: ${facts.parallel}   takeOff: ${facts.takeOff}
    jumper: ${facts.jumper / 10} mohm   autonomy: ${facts.hours} h   cellTemperature: ${facts.coldest}..30 degC
    chargeTemperature: 0..45 degC   opening: ${facts.opening} cm2   location: ${facts.location}
  }
  grid Mains { voltage: 120 V   rating: 30 A   neutralBond: bonded }
  charger Rect { input: 90..140 V   currentLimit: 20 A   absorb: 14.2 V   efficiency: 93 %   powerFactor: 0.98 }
  load Pump { power: ${facts.watts} W   supply: dc   duty: 40 % }
  bus Dc {}
  run In: Mains -> Rect.ac { size: 12 AWG   length: 3 m }
  run Out: Dc -> Rect.dc { size: 8 AWG   length: 1 m }
  run Feed: Bank -> Dc { size: 4/0 AWG   length: 1 m }
  run Line: Dc -> Pump { size: 4/0 AWG   length: 1 m }
}
`,
  );

const isOwn = ({ check }: Finding): boolean => OWN.includes(check);
const key = ({ check, subject }: Finding): string => `${check} ${subject}`;
/** A check may say two things of one bank (of its number and of its take-off, say): each is told by the property it stands at. */
const told = (findings: readonly Finding[], check: string, place: number): number =>
  findings.filter((each) => each.check === check && each.place.line === place).length;

describe('fixes of the checks on storage', () => {
  it('end the finding, and leave no new error on the bank', async () => {
    let tried = 0;
    await fc.assert(
      fc.asyncProperty(randomBank, async (text) => {
        const before = await analyseText(text);
        const errors = new Set(before.findings.filter(({ severity }) => severity === 'error').map(key));
        for (const finding of before.findings.filter(isOwn)) {
          for (const fix of finding.fixes) {
            tried += 1;
            const mended = applyFix(text, fix);
            const after = (await analyseText(mended)).findings;
            const count = (list: readonly Finding[]): number =>
              list.filter((each) => each.check === finding.check && each.severity !== 'info').length;
            const where = `${finding.check}: ${finding.message}\n${fix.title}\n${mended}`;
            expect(count(after), where).toBeLessThan(Math.max(1, count(before.findings)));
            expect(
              after.filter((each) => each.severity === 'error' && !errors.has(key(each))).map(({ told }) => told),
              where,
            ).toEqual([]);
          }
        }
      }),
      { numRuns: 60 },
    );
    expect(tried).toBeGreaterThan(20);
  });

  it('stand at a property of the bank where the fault lies', async () => {
    const text = `design D {
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   resistance: 4 mohm
    parallel: 5
    takeOff: end   jumper: 1 mohm }
}
`;
    const { findings } = await analyseText(text);
    expect(told(findings, 'bank-strings', 2)).toBe(1);
    expect(told(findings, 'bank-strings', 3)).toBe(1);
  });
});
