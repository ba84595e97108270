import { beforeAll, describe, expect, it } from 'vitest';
import { displayValue } from '../../../language/src/index.js';
import { analyseText, findingsOf } from '../../helpers/analyse.js';
import { type Expressions, expressions } from '../../helpers/expressions.js';

/*
 * Exercises of the practice, as published for learners: quizzes and questions of trade magazines, licence exams, training notes. The source
 * stands beside each; where a published answer rests on another way of reckoning, that is said.
 */

let valueOf: Expressions['valueOf'];
beforeAll(async () => {
  ({ valueOf } = await expressions());
});

type Exercise = readonly [expression: string, gives: string, source: string, tolerance?: number];

const EXERCISES: readonly Exercise[] = [
  [
    'ampacity(size: 12 AWG, insulation: 90 degC, terminals: 90 degC, conductors: 30)',
    '13.5 A',
    'trade magazine, Code quiz: 12 AWG THHN with 29 others, terminals left out',
  ],
  [
    'ampacity(size: 12 AWG, insulation: 90 degC, terminals: 90 degC, conductors: 9)',
    '21 A',
    'trade magazine, Code quiz: nine 12 AWG THHN',
  ],
  [
    'ampacity(size: 14 AWG, insulation: 90 degC, terminals: 90 degC, conductors: 6, ambient: 40.6 degC)',
    '17.4 A',
    'the same quiz: six 14 AWG THHN at 105 °F',
  ],
  [
    'ampacity(size: 12 AWG, insulation: 90 degC, terminals: 90 degC, conductors: 4)',
    '24 A',
    'contractors’ forum: four 12 AWG THHN, from the 90 °C column',
  ],
  [
    'ampacity(size: 12 AWG, insulation: 90 degC, terminals: 90 degC, ambient: 55 degC)',
    '22.8 A',
    'engineering-licence forum: 12 AWG at 55 °C, factor 0.76 and not the 0.84 of the other table',
  ],
  [
    'ampacity(size: 4 AWG, insulation: 90 degC, terminals: 90 degC, ambient: 40 degC)',
    '86.45 A',
    'inspector exam question: 4 AWG THHN at 40 °C; 95 A · 0.91',
  ],
  [
    'ampacity(size: 4/0 AWG, insulation: 90 degC, terminals: 90 degC, conductors: 6)',
    '208 A',
    'apprentice quiz: six 4/0 AWG THHN in one conduit, 80 % of 260 A',
  ],
  ['requiredAmpacity(continuous: 200 A)', '250 A', 'trade magazine, Code quiz: feeder of 200 A continuous'],
  ['conductorFor(current: 200 A, insulation: 90 degC)', '250 kcmil', 'the same: THHN on 75 °C terminals'],
  ['protectionFor(current: 200 A)', '250 A', 'the same: inverse time breaker'],
  [
    'requiredAmpacity(continuous: 40 A, noncontinuous: 60 A)',
    '110 A',
    'apprentice review: feeder of 60 A and 40 A continuous',
  ],
  ['protectionFor(current: 16 A)', '20 A', 'branch circuit quiz: 16 A continuous'],
  [
    'earthConductor(rating: 300 A, minimum: 250 kcmil, installed: 350 kcmil)',
    '2 AWG',
    'training notes on 250.122(B): 1.4 · 41 740 circular mils are 58 436',
  ],
  [
    'earthConductor(rating: 20 A, minimum: 12 AWG, installed: 6 AWG)',
    '6 AWG',
    'contractor magazine, question of the day, 2013 and 2021',
  ],
  [
    'earthConductor(rating: 4000 A)',
    '500 kcmil',
    'standards body, question of the day: parallel raceways behind 4000 A',
  ],
  ['earthConductor(rating: 400 A)', '3 AWG', 'apprentice exam, year 4: each of two raceways behind 400 A'],
  [
    'voltageDrop(current: 16 A, length: 50 ft, size: 10 AWG, system: single)',
    '1.92 V',
    'licence practice test, by the 1.2 ohm/kft of Table 9, of which Table 8 has a digit more: 1.24',
    0.035,
  ],
  [
    'voltageDrop(current: 8 A, length: 100 ft, size: 12 AWG, system: single)',
    '3.2 V',
    'licence practice test, by the 2.0 ohm/kft of Table 9, of which Table 8 has a digit more: 1.98',
    0.0101,
  ],
  [
    'voltageDrop(current: 4 A, length: 100 ft, size: 16 AWG)',
    '4 V',
    'electrician training: 16 AWG, Chapter 9 Table 8; printed 4.0 V',
    0.003,
  ],
  [
    'voltageDrop(current: 50 A, length: 100 ft, size: 2 AWG, system: three)',
    '1.68 V',
    'licence practice test, by K = 12.9 and circular mils; Table 9 rounds its 0.19 ohm/kft',
    0.03,
  ],
  [
    'smallestSize(current: 100 A, length: 200 ft, voltage: 220 V, drop: 3 %)',
    '1 AWG',
    'college homework: K = 12.9 gives 78 182 circular mils',
  ],
  [
    'shortTimeCurrent(size: 95 mm2, time: 1 s, insulation: xlpe)',
    '13.6 kA',
    'course on IEC 60949: 95 mm², 90 °C to 250 °C in 1 s',
    0.003,
  ],
  [
    'conductorFor(current: 100 A, continuous: no, insulation: 105 degC, basis: craft)',
    '6 AWG',
    'wire sizing FAQ for vessels: 100 A over 10 ft at 24 V and 3 %; the ampacity decides',
  ],
  [
    'moduleProtection(shortCircuit: 7.34 A)',
    '15 A',
    'installers’ list: modules of 7.34 A tripped breakers of 10 A and held on 15 A; 1.56 · 7.34 A = 11.5 A',
  ],
];

describe('published exercises', () => {
  it.each(EXERCISES.map((exercise) => [...exercise.slice(0, 3), exercise] as const))('%s is %s: %s', (...row) => {
    const [expression, gives, , tolerance = 1e-3] = row.at(-1) as Exercise;
    const [is, should] = [valueOf(expression), valueOf(gives)];
    if (typeof is.value !== 'object' || typeof should.value !== 'object' || / (AWG|kcmil)$/.test(gives)) {
      expect(displayValue(is)).toBe(displayValue(should));
      return;
    }
    expect(is.value.dimension).toBe(should.value.dimension);
    expect(Math.abs(is.value.value / should.value.value - 1), `${displayValue(is, 6)}`).toBeLessThanOrEqual(tolerance);
  });
});

describe('published exercises on taps', () => {
  const tap = (feeder: number, size: string, metres: number): string => `design Shop {
  basis: nec 2023
  grid Mains { voltage: 240 V   rating: ${feeder} A }
  breaker F1 { rating: 20 A }
  load Saw { power: 2 kW }
  run Line: Mains -> F1 @ ${metres} m -> Saw { size: ${size}   type: THWN-2   length: 20 m   terminals: 60 degC   enclosed: yes }
}
`;
  const isTold = async (text: string): Promise<boolean> =>
    findingsOf(await analyseText(text), 'run-unprotected').length > 0;

  // Licence question on a study site: a tap of 30 A, 9 ft: the feeder may have 300 A. 10 AWG copper has 30 A at 60 °C.
  it('a tap of 30 A and 9 ft may leave a feeder of 300 A', async () => {
    expect(await isTold(tap(300, '10 AWG', 2.74))).toBe(false);
    expect(await isTold(tap(350, '10 AWG', 2.74))).toBe(true);
  });

  // Contractors’ forum: behind 300 A a tap of 10 ft is 10 AWG, not 12 AWG.
  it('behind 300 A a tap of 10 ft is 10 AWG', async () => {
    expect(await isTold(tap(300, '12 AWG', 3))).toBe(true);
    expect(await isTold(tap(300, '10 AWG', 3))).toBe(false);
  });

  // Master electrician practice question: a tap of 25 ft from 100 A needs 33.3 A. 10 AWG has 30 A, 8 AWG 40 A at 60 °C.
  it('a tap of 25 ft from a feeder of 100 A needs 33.3 A', async () => {
    expect(await isTold(tap(100, '10 AWG', 7.5))).toBe(true);
    expect(await isTold(tap(100, '8 AWG', 7.5))).toBe(false);
  });
});
