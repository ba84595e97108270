import { type Derivation, type Result, derive, known, numberIn } from '../../derivation/index.js';
import { formatNumber, inUnit, quantity } from '../../quantity/index.js';
import { sizeAtLeast, ruleValue } from '../../reference/index.js';
import { defineFunction, may, needs } from '../registry.js';
import { GROUP, currentParameter, lengthParameter, named } from './common.js';

export const craftArea = defineFunction({
  name: 'craftArea',
  group: GROUP,
  summary: 'Area of metal for a voltage drop by the small-craft formula CM = K·I·L/E.',
  parameters: {
    current: currentParameter,
    length: lengthParameter,
    drop: needs('voltage', 'V', 'allowed voltage drop', { minimum: 0, aboveMinimum: true }),
    constant: may('ratio', '', 'K in ohm·circular mil per foot; 10.75 when not said', { minimum: 5, maximum: 30 }),
  },
  result: 'area, mm2; .nextSize, the standard size to use',
  worst: 'high',
  validity:
    'Copper, direct current. L of the formula is the whole loop and is worked out from the length one way. K = 10.75 is copper at about 29 °C; a hot conductor loses some 18 % more. Limits in practice: 3 % for feeders, electronics, navigation lights and blowers, 10 % for the rest. The ampacity must be looked at too.',
  sources: ['ABYC E-11.14.2.6, from quotations'],
  examples: [
    {
      call: 'craftArea(current: 10 A, length: 10.5 ft, drop: 0.36 V)',
      gives: '6.271 kcmil',
      source: 'chandlery page on 3 % drop: bilge pump, 11 ft out and 10 ft back at 12 V; 6271 circular mils, 12 AWG',
    },
    {
      call: 'craftArea(current: 45 A, length: 20 ft, drop: 1.2 V)',
      gives: '16.125 kcmil',
      source: 'refrigeration FAQ on wire sizing: 40 ft circuit at 12 V and 10 %; 16 125 circular mils, 8 AWG',
    },
  ],
  compute: ({ current, length, drop, constant }): Result => {
    const k = constant ?? asDefault(ruleValue('craft', 'circularMilConstant'));
    const loop = derive('length of the loop', 2 * numberIn(length, 'm'), 'm', {
      symbol: 'L',
      formula: '2 · length one way',
      inputs: [length],
    });
    const circularMils = (numberIn(k, '') * numberIn(current, 'A') * numberIn(loop, 'ft')) / numberIn(drop, 'V');
    const area = inUnit(quantity(circularMils / 1000, 'kcmil'), 'mm2');
    const next = sizeAtLeast(area, 'craft');
    const nextSize = next && derive('next standard size', next.area, 'mm2', { origin: 'table', notes: [next.name] });
    return known(
      derive('area by the small-craft formula', area, 'mm2', {
        symbol: 'CM',
        formula: 'K · I · L / E',
        inputs: [named(k, 'K'), named(current, 'I'), loop, named(drop, 'E')],
        notes: [
          `${formatNumber(circularMils, 5)} circular mils`,
          next ? `next size ${next.name}` : 'no single standard size is that large',
        ],
        parts: nextSize ? { nextSize } : {},
      }),
    );
  },
});

const asDefault = (constant: Derivation): Derivation => ({
  ...constant,
  origin: 'default',
  notes: [...constant.notes, 'not stated'],
});
