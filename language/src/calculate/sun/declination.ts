import { derive, fromTable, known, numberIn } from '../../derivation/index.js';
import { solarSource } from '../../reference/energy/index.js';
import { defineFunction, wordOr } from '../registry.js';
import { DECLINATION_MODELS, declinationOf, distanceFactor, equationOfTimeOf } from './geometry.js';
import { DECLINATION_FORMULA, TEXTBOOK, dayParameter } from './parameters.js';

export const declination = defineFunction({
  name: 'declination',
  group: 'sun',
  summary: 'Latitude over which the sun stands at noon of a day.',
  parameters: {
    day: dayParameter,
    model: wordOr(
      DECLINATION_MODELS,
      'cooper',
      'cooper, on which the radiation correlations are built; spencer; or almanac, nearest the true sun',
    ),
  },
  result: 'angle in deg, north positive; `.distanceFactor` is the radiation outside the air over its mean',
  worst: 'low',
  validity:
    'Any year. Against the true sun at noon UTC: almanac within 0.25° from 2020 to 2035, spencer within 0.6°, cooper within 1.1°. For one instant use sunPosition.',
  sources: ['Cooper 1969; Spencer 1971; Astronomical Almanac, low-precision formulas [from memory]', TEXTBOOK],
  examples: [
    {
      call: 'declination(day: 162)',
      gives: '23.1 deg',
      tolerance: 3e-3,
      source: 'Duffie and Beckman Table 1.6.1, from memory: 11 June',
    },
    {
      call: 'declination(day: 17)',
      gives: '-20.9 deg',
      tolerance: 3e-3,
      source: 'Duffie and Beckman Table 1.6.1, from memory: 17 January',
    },
    {
      call: 'declination(day: 290, model: almanac)',
      gives: '-9.31 deg',
      tolerance: 0.02,
      source: 'NREL/TP-560-34302 Appendix A.5, declination of the sun on 17 October 2003: −9.31434°',
    },
  ],
  compute: ({ day, model }) => {
    const number = numberIn(day, '');
    return known(
      fromTable('declination', declinationOf(number, model), 'deg', solarSource(`declination-${model}`), {
        symbol: 'δ',
        formula: DECLINATION_FORMULA[model],
        inputs: [day],
        parts: {
          distanceFactor: derive('distance factor', distanceFactor(number), '1', {
            symbol: 'E₀',
            formula: '1 + 0.033·cos(360°·n/365)',
            inputs: [day],
            source: solarSource('distance'),
          }),
        },
      }),
    );
  },
});

export const equationOfTime = defineFunction({
  name: 'equationOfTime',
  group: 'sun',
  summary: 'How far sun time runs ahead of mean time on a day.',
  parameters: { day: dayParameter },
  result: 'time in s, negative when the sun is behind',
  worst: 'low',
  validity: 'Any year, within 35 s.',
  sources: ['Spencer 1971', TEXTBOOK],
  examples: [
    {
      call: 'equationOfTime(day: 34)',
      gives: '-13.5 min',
      tolerance: 5e-3,
      source: 'Duffie and Beckman example 1.5.1, from memory: 3 February',
    },
    {
      call: 'equationOfTime(day: 290)',
      gives: '14.64 min',
      tolerance: 0.02,
      source: 'NREL/TP-560-34302 Appendix A.5, equation of time on 17 October 2003: 14.641503 min',
    },
  ],
  compute: ({ day }) =>
    known(
      fromTable('equation of time', equationOfTimeOf(numberIn(day, '')) * 60, 's', solarSource('equation-of-time'), {
        symbol: 'E',
        formula: 'Spencer’s series in the day angle',
        inputs: [day],
      }),
    ),
});
