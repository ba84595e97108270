import { raise } from '../../quantity/index.js';
import { type Source, derive, known, numberIn } from '../../derivation/index.js';
import { defineFunction, needs } from '../registry.js';

const PEUKERT: Source = {
  standard: 'Peukert’s equation',
  table: 'battery-monitor manual p. 27',
  provenance: 'published',
};

export const peukertTime = defineFunction({
  name: 'peukertTime',
  group: 'storage',
  summary: 'Time a lead-acid battery lasts at a constant current by Peukert’s equation.',
  parameters: {
    capacity: needs('charge', 'Ah', 'rated capacity', { minimum: 0, aboveMinimum: true }),
    hours: needs('time', 'h', 'discharge time at which the capacity is rated, usually 20 h', {
      minimum: 0,
      maximum: 240,
      aboveMinimum: true,
    }),
    exponent: needs('ratio', '', 'Peukert exponent: flooded 1.2 to 1.3, AGM 1.05 to 1.15, gel 1.1 to 1.25', {
      minimum: 1,
      maximum: 2,
    }),
    current: needs('current', 'A', 'constant discharge current', { minimum: 0, aboveMinimum: true }),
  },
  result: 'time in s; `.charge` given in that time and its `.share` of the rated capacity',
  worst: 'low',
  validity:
    'Lead-acid at constant current and temperature, from the rated current upward; below it the rated capacity counts, never more. The charge that is left is still there at a lower current. Not for C/I^k, which mixes units.',
  sources: ['battery-monitor manual p. 27: table of 78 cells and two examples'],
  examples: [
    {
      call: 'peukertTime(capacity: 100 Ah, hours: 20 h, exponent: 1.3, current: 100 A).share',
      gives: '41 %',
      tolerance: 0.01,
      source: 'battery-monitor manual p. 27, example 2',
    },
    {
      call: 'peukertTime(capacity: 200 Ah, hours: 20 h, exponent: 1.25, current: 50 A).share',
      gives: '67 %',
      tolerance: 0.005,
      source: 'battery-monitor manual p. 27, example 1: 200 Ah at 50 A delivers 67 %',
    },
    {
      call: 'peukertTime(capacity: 100 Ah, hours: 20 h, exponent: 1.2, current: 5 A)',
      gives: '20 h',
      source: 'definition: the rated current lasts the rated time at any exponent',
    },
    {
      call: 'peukertTime(capacity: 100 Ah, hours: 20 h, exponent: 1.25, current: 0.1 A).charge',
      gives: '100 Ah',
      source: 'a battery gives no more than it holds: 100 Ah at 0.1 A, where the bare equation gives 266 Ah',
    },
  ],
  compute: ({ capacity, hours, exponent, current }) => {
    const rated = numberIn(capacity, 'Ah') / numberIn(hours, 'h');
    const ratedCurrent = derive('rated current', rated, 'A', {
      symbol: 'I_r',
      formula: 'C/H',
      inputs: [capacity, hours],
    });
    const amperes = numberIn(current, 'A');
    // The equation holds near the rated current and above; carried on below, it would give more than there is in the cells.
    const isSlow = amperes < rated * (1 - 1e-12);
    const lasts = isSlow
      ? numberIn(capacity, 'Ah') / amperes
      : numberIn(hours, 'h') * raise(rated / amperes, numberIn(exponent, ''));
    const given = lasts * numberIn(current, 'A');
    const charge = derive('charge given', given, 'Ah', { symbol: 'Q', formula: 'I·t', inputs: [current] });
    const share = derive('share of the rated capacity', given / numberIn(capacity, 'Ah'), '1', {
      formula: 'Q/C',
      inputs: [charge, capacity],
    });
    return known(
      derive('discharge time', lasts * 3600, 's', {
        symbol: 't',
        formula: isSlow ? 'C/I' : 'H·(I_r/I)^k',
        inputs: isSlow ? [capacity, current, ratedCurrent] : [capacity, hours, exponent, current, ratedCurrent],
        source: PEUKERT,
        ...(isSlow
          ? {
              notes: [
                'below the rated current: no more than the rated capacity is counted, since the equation would give more than the cells hold',
              ],
            }
          : {}),
        parts: { charge, share },
      }),
    );
  },
});
