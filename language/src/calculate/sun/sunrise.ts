import { type Derivation, type Result, derive, known, numberIn, refused } from '../../derivation/index.js';
import { solarModel, solarSource } from '../../reference/energy/index.js';
import { defaults, defineFunction, needs } from '../registry.js';
import {
  DEGREES_PER_HOUR,
  almanacEquationOfTime,
  declinationOf,
  equationOfTimeOf,
  hourAngleAt,
  solarCorrectionHours,
} from './geometry.js';
import {
  GEOMETRY,
  TEXTBOOK,
  dayParameter,
  declinationInput,
  latitudeParameter,
  longitudeParameter,
} from './parameters.js';

const offsetParameter = defaults('time', 'h', 0, 'hours the clock is ahead of UTC: −7 h for mountain standard time', {
  minimum: -14,
  maximum: 14,
  defaultSource: 'clock in UTC',
});
const HOURS = 24;

const parameters = {
  latitude: latitudeParameter,
  longitude: longitudeParameter,
  day: dayParameter,
  offset: offsetParameter,
};

interface Place {
  readonly latitude: Derivation;
  readonly longitude: Derivation;
  readonly day: Derivation;
  readonly offset: Derivation;
}

function eventTime(name: 'sunrise' | 'sunset', { latitude, longitude, day, offset }: Place): Result {
  const side = name === 'sunrise' ? -1 : 1;
  const altitude = solarModel('sunrise-altitude')[0]!;
  const date = numberIn(day, '');
  const zone = numberIn(offset, 'h');
  let clock = HOURS / 2;
  let angle = 0;
  // The sun moves on during the day: three rounds settle the time to well under a second.
  for (let round = 0; round < 3; round += 1) {
    // The series are reckoned from noon UTC.
    const instant = date + (clock - zone - HOURS / 2) / HOURS;
    angle = hourAngleAt(numberIn(latitude, 'deg'), declinationOf(instant, 'almanac'), altitude);
    if (angle === 0 || angle === 180)
      return refused(
        angle === 0 ? 'the sun does not rise on this day' : 'the sun does not set on this day',
        'latitude',
      );
    clock =
      HOURS / 2 +
      (side * angle) / DEGREES_PER_HOUR -
      solarCorrectionHours(numberIn(longitude, 'deg'), zone, almanacEquationOfTime(instant));
  }
  const hourAngle = derive('hour angle', side * angle, 'deg', {
    symbol: 'ω',
    formula: 'arccos((sin h − sin φ·sin δ)/(cos φ·cos δ)), h = −0.833°',
    inputs: [latitude, declinationInput(day, 'almanac')],
    source: solarSource('sunrise-altitude'),
  });
  const equation = derive('equation of time', almanacEquationOfTime(date) * 60, 's', {
    symbol: 'E',
    inputs: [day],
    source: solarSource('sun-mean-longitude'),
  });
  return known(
    derive(name, clock * 3600, 's', {
      symbol: 't',
      formula: '12 h + ω/15°·h − 4 min·(λ − 15°·z) − E',
      inputs: [hourAngle, longitude, offset, equation],
      source: GEOMETRY,
      parts: {
        hourAngle,
        dayLength: derive('day length', (2 * angle * 3600) / DEGREES_PER_HOUR, 's', {
          formula: '2·|ω|/15°·h',
          inputs: [hourAngle],
          source: GEOMETRY,
        }),
      },
    }),
  );
}

const VALIDITY =
  'Level horizon at sea level, upper limb with mean refraction; within two minutes up to 65° of latitude. A result below 0 h or above 24 h falls on the day before or after on that clock.';

export const sunrise = defineFunction({
  name: 'sunrise',
  group: 'sun',
  summary: 'Clock time at which the sun rises.',
  parameters,
  result: 'time of day as a duration since midnight, in s; `.dayLength`, `.hourAngle`',
  worst: 'high',
  validity: VALIDITY,
  sources: [
    'Astronomical Almanac, low-precision formulas for the sun [from memory]',
    'sunrise at −0.833°: usual definition',
  ],
  examples: [
    {
      call: 'sunrise(latitude: 39.742476 deg, longitude: -105.1786 deg, day: 290, offset: -7 h)',
      gives: '22363 s',
      tolerance: 2e-3,
      source: 'NREL/TP-560-34302 Appendix A.5: 06:12:43 on 17 October 2003',
    },
    {
      call: 'sunrise(latitude: 0 deg, longitude: 0 deg, day: 80).dayLength',
      gives: '12.111 h',
      tolerance: 2e-3,
      source: 'hand calculation: on the equator 12 h and twice 0.833° of 15° an hour',
    },
  ],
  compute: (given) => eventTime('sunrise', given),
});

export const sunset = defineFunction({
  name: 'sunset',
  group: 'sun',
  summary: 'Clock time at which the sun sets.',
  parameters,
  result: 'time of day as a duration since midnight, in s; `.dayLength`, `.hourAngle`',
  worst: 'low',
  validity: VALIDITY,
  sources: [
    'Astronomical Almanac, low-precision formulas for the sun [from memory]',
    'sunset at −0.833°: usual definition',
  ],
  examples: [
    {
      call: 'sunset(latitude: 39.742476 deg, longitude: -105.1786 deg, day: 289, offset: -7 h)',
      gives: '62419 s',
      source:
        'NREL/TP-560-34302 Appendix A.5: 17:20:19, which is 00:20:19 UTC on 17 October 2003 and so 16 October by the clock',
    },
    {
      call: 'sunset(latitude: 0 deg, longitude: 0 deg, day: 80).hourAngle',
      gives: '90.833 deg',
      source: 'hand calculation: on the equator at an equinox the sun sets 90.833° past noon',
    },
  ],
  compute: (given) => eventTime('sunset', given),
});

export const sunsetAngle = defineFunction({
  name: 'sunsetAngle',
  group: 'sun',
  summary: 'Hour angle at which the sun’s centre meets the horizon, without refraction, as radiation models use it.',
  parameters: { latitude: latitudeParameter, day: dayParameter },
  result: 'angle in deg; 0 when the sun does not rise, 180 when it does not set',
  worst: 'low',
  validity: 'Any latitude; level horizon.',
  sources: [TEXTBOOK],
  examples: [
    {
      call: 'sunsetAngle(latitude: 43 deg, day: 75)',
      gives: '87.8 deg',
      tolerance: 5e-3,
      source: 'Duffie and Beckman example 1.6.3, from memory: 16 March at 43° N',
    },
    {
      call: 'sunsetAngle(latitude: 80 deg, day: 172)',
      gives: '180 deg',
      source: 'hand calculation: 80° N lies inside the polar circle at midsummer',
    },
  ],
  compute: ({ latitude, day }) => {
    const sun = declinationInput(day);
    return known(
      derive('sunset hour angle', hourAngleAt(numberIn(latitude, 'deg'), numberIn(sun, 'deg')), 'deg', {
        symbol: 'ω_s',
        formula: 'arccos(−tan φ·tan δ)',
        inputs: [latitude, sun],
        source: GEOMETRY,
      }),
    );
  },
});

export const solarTime = defineFunction({
  name: 'solarTime',
  group: 'sun',
  summary: 'Sun time at a clock time.',
  parameters: {
    clock: needs('time', 'h', 'clock time since midnight, without daylight saving', { minimum: 0, maximum: 24 }),
    longitude: longitudeParameter,
    day: dayParameter,
    offset: offsetParameter,
  },
  result: 'time in s since sun midnight; below 0 or above 24 h it belongs to the day before or after',
  worst: 'low',
  validity: 'Any year, within 35 s.',
  sources: [TEXTBOOK],
  examples: [
    {
      call: 'solarTime(clock: 10.5 h, longitude: -89.4 deg, day: 34, offset: -6 h)',
      gives: '619 min',
      source: 'Duffie and Beckman example 1.5.1, from memory: 10:30 in Madison on 3 February is 10:19 sun time',
    },
    {
      call: 'solarTime(clock: 12 h, longitude: 15 deg, day: 106, offset: 1 h)',
      gives: '12 h',
      tolerance: 1e-3,
      source: 'hand calculation: on the zone’s meridian in mid-April the equation of time is near 0',
    },
  ],
  compute: ({ clock, longitude, day, offset }) => {
    const date = numberIn(day, '');
    const equation = derive('equation of time', equationOfTimeOf(date) * 60, 's', {
      symbol: 'E',
      inputs: [day],
      source: solarSource('equation-of-time'),
    });
    const correction = solarCorrectionHours(numberIn(longitude, 'deg'), numberIn(offset, 'h'), equationOfTimeOf(date));
    return known(
      derive('sun time', (numberIn(clock, 'h') + correction) * 3600, 's', {
        symbol: 't_s',
        formula: 't + 4 min·(λ − 15°·z) + E',
        inputs: [clock, longitude, offset, equation],
        source: GEOMETRY,
      }),
    );
  },
});
