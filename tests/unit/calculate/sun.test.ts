import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { governingText } from '../../../language/src/glossary/reason-text.js';
import { instantOf } from '../../../language/src/calculate/sun/index.js';
import { call, derivationOf, numberOf, of } from '../../reference/energy/call.js';

const latitude = fc.double({ min: -89, max: 89, noNaN: true });
const temperate = fc.double({ min: -60, max: 60, noNaN: true });
const day = fc.integer({ min: 1, max: 365 });

describe('instants', () => {
  test('ISO 8601 texts with an offset are read, all else is not', () => {
    expect(instantOf('2000-01-01T00:00:00Z')).toBe(0);
    expect(instantOf('2000-01-01T00:00Z')).toBe(0);
    expect(instantOf('2000-01-01T05:30:00+05:30')).toBe(0);
    expect(instantOf('1999-12-31T17:00:00-0700')).toBe(0);
    expect(instantOf('2000-01-01T00:00:00.5Z')).toBe(0.5);
    for (const text of [
      '2027-01-15',
      '2027-01-15T12:30:00',
      '2027-02-30T12:00:00Z',
      '2027-13-01T12:00:00Z',
      '2027-01-15T25:00:00Z',
      '2027-01-15T12:61:00Z',
      'noon',
      '',
    ])
      expect(instantOf(text)).toBeUndefined();
  });

  test('a time without an offset is refused with an example', () => {
    const result = call('sunPosition', { latitude: of(40, 'deg'), longitude: of(0, 'deg'), time: '2027-01-15T12:30' });
    expect(result).toMatchObject({ kind: 'refused', argument: 'time' });
    if (result.kind === 'refused') expect(result.reason).toContain('2027-01-15T12:30:00-07:00');
  });

  test('seconds since 2000 mean the same as the text', () => {
    const place = { latitude: of(39.74, 'deg'), longitude: of(-105.18, 'deg') };
    const text = '2003-10-17T19:30:30Z';
    const byText = numberOf(call('sunPosition', { ...place, time: text }), 'deg');
    const bySeconds = numberOf(call('sunPosition', { ...place, time: of(instantOf(text)!, 's') }), 'deg');
    expect(bySeconds).toBe(byText);
  });

  test('years outside 1950 to 2050 are refused', () => {
    for (const time of ['1949-12-31T00:00:00Z', '2051-01-01T00:00:00Z'])
      expect(call('sunPosition', { latitude: of(0, 'deg'), longitude: of(0, 'deg'), time }).kind).toBe('refused');
  });
});

describe('the sun’s place', () => {
  const at = (north: number, east: number, time: string) =>
    call('sunPosition', { latitude: of(north, 'deg'), longitude: of(east, 'deg'), time });

  test('elevation and zenith make a right angle; azimuth runs once round', () => {
    fc.assert(
      fc.property(
        latitude,
        fc.double({ min: -180, max: 180, noNaN: true }),
        fc.date({ min: new Date('1950-01-02'), max: new Date('2050-12-30'), noInvalidDate: true }),
        (north, east, date) => {
          const result = at(north, east, date.toISOString());
          expect(numberOf(result, 'deg') + numberOf(result, 'deg', 'zenith')).toBeCloseTo(90, 9);
          const azimuth = numberOf(result, 'deg', 'azimuth');
          expect(azimuth).toBeGreaterThanOrEqual(0);
          expect(azimuth).toBeLessThan(360);
          expect(Math.abs(numberOf(result, 'deg', 'declination'))).toBeLessThan(23.46);
        },
      ),
    );
  });

  test('mornings are east and afternoons west', () => {
    expect(numberOf(at(45, 0, '2027-06-21T06:00:00Z'), 'deg', 'azimuth')).toBeLessThan(180);
    expect(numberOf(at(45, 0, '2027-06-21T18:00:00Z'), 'deg', 'azimuth')).toBeGreaterThan(180);
    // South of the tropics the noon sun stands in the north.
    const noon = numberOf(at(-45, 0, '2027-06-21T12:00:00Z'), 'deg', 'azimuth');
    expect(Math.min(noon, 360 - noon)).toBeLessThan(5);
  });

  test('the sun is overhead on the tropic at the June solstice of 2027 (21 June 14:11 UTC, from memory)', () => {
    const result = at(23.43, -32.4, '2027-06-21T14:11:00Z');
    expect(numberOf(result, 'deg', 'declination')).toBeCloseTo(23.436, 2);
    expect(numberOf(result, 'deg')).toBeGreaterThan(89);
  });

  test('refraction lifts the sun by half a degree at the horizon and by nothing overhead (common practice, no source)', () => {
    fc.assert(
      fc.property(
        fc.date({ min: new Date('2026-01-01'), max: new Date('2027-01-01'), noInvalidDate: true }),
        (date) => {
          const result = at(40, 0, date.toISOString());
          const elevation = numberOf(result, 'deg');
          const lift = numberOf(result, 'deg', 'apparentElevation') - elevation;
          if (elevation < -1) expect(lift).toBe(0);
          else expect(lift).toBeLessThan(0.75);
          if (elevation > 10) expect(lift).toBeLessThan(0.1);
        },
      ),
    );
  });

  test('at sunrise and sunset the sun’s upper limb meets the horizon, within a quarter of a degree', () => {
    for (const [name, clock] of [
      ['sunrise', '2027-03-10'],
      ['sunset', '2027-09-05'],
    ] as const) {
      const date = new Date(`${clock}T00:00:00Z`);
      const number = (date.getTime() - Date.UTC(2027, 0, 1)) / 86400000 + 1;
      const place = { latitude: of(50, 'deg'), longitude: of(10, 'deg') };
      const seconds = numberOf(call(name, { ...place, day: of(number) }), 's');
      const position = at(50, 10, new Date(date.getTime() + seconds * 1000).toISOString());
      expect(Math.abs(numberOf(position, 'deg') + 0.833)).toBeLessThan(0.25);
    }
  });

  test('polar days and nights are said in a sentence', () => {
    const place = { latitude: of(80, 'deg'), longitude: of(0, 'deg') };
    const winter = call('sunrise', { ...place, day: of(355) });
    const summer = call('sunset', { ...place, day: of(172) });
    expect(winter).toMatchObject({ kind: 'refused', reason: 'the sun does not rise on this day' });
    expect(summer).toMatchObject({ kind: 'refused', reason: 'the sun does not set on this day' });
  });

  test('a clock further east shows a later time for the same sunrise', () => {
    const rise = (hours: number) =>
      numberOf(
        call('sunrise', { latitude: of(40, 'deg'), longitude: of(0, 'deg'), day: of(100), offset: of(hours, 'h') }),
        'h',
      );
    expect(rise(2) - rise(0)).toBeCloseTo(2, 6);
  });

  test('the three declinations agree within 1.1° on any day', () => {
    for (let number = 1; number <= 365; number += 1) {
      const [cooper, spencer, almanac] = ['cooper', 'spencer', 'almanac'].map((model) =>
        numberOf(call('declination', { day: of(number), model }), 'deg'),
      ) as [number, number, number];
      expect(Math.abs(cooper - almanac)).toBeLessThan(1.1);
      expect(Math.abs(spencer - almanac)).toBeLessThan(0.6);
    }
  });

  test('the almanac declination stays within 0.25° of the sun at noon UTC from 2020 to 2035', () => {
    for (let year = 2020; year <= 2035; year += 1)
      for (let number = 1; number <= 365; number += 13) {
        const noon = new Date(Date.UTC(year, 0, number, 12)).toISOString();
        const almanac = numberOf(call('declination', { day: of(number), model: 'almanac' }), 'deg');
        expect(Math.abs(almanac - numberOf(at(0, 0, noon), 'deg', 'declination'))).toBeLessThan(0.25);
      }
  });

  test('sun time runs with the clock', () => {
    const sun = (hours: number) =>
      numberOf(
        call('solarTime', { clock: of(hours, 'h'), longitude: of(-89.4, 'deg'), day: of(34), offset: of(-6, 'h') }),
        'h',
      );
    expect(sun(12) - sun(10)).toBeCloseTo(2, 9);
  });
});

describe('radiation', () => {
  test('a day outside the air is the sum of its hours', () => {
    fc.assert(
      fc.property(latitude, day, (north, number) => {
        const given = { latitude: of(north, 'deg'), day: of(number) };
        const whole = numberOf(call('extraterrestrial', given), 'Wh/m2');
        let sum = 0;
        for (let hour = 0; hour < 24; hour += 1)
          sum += numberOf(call('extraterrestrial', { ...given, solarTime: of(hour + 0.5, 'h') }), 'Wh/m2');
        expect(sum).toBeCloseTo(whole, 5);
      }),
    );
  });

  test('north and south mirror each other half a year apart in declination: at an equinox both get the same', () => {
    const at = (north: number) =>
      numberOf(call('extraterrestrial', { latitude: of(north, 'deg'), day: of(81) }), 'Wh/m2');
    expect(at(40)).toBeCloseTo(at(-40), 6);
  });

  test('the diffuse share falls from overcast to clear and stays between 0 and 1', () => {
    for (const model of ['erbs', 'erbsDaily']) {
      const at = (clearness: number) =>
        numberOf(call('diffuseFraction', { clearness: of(clearness), model, sunsetAngle: of(95, 'deg') }), '');
      fc.assert(
        fc.property(fc.double({ min: 0, max: 1, noNaN: true }), (clearness) => {
          expect(at(clearness)).toBeGreaterThanOrEqual(0.1);
          expect(at(clearness)).toBeLessThanOrEqual(1);
        }),
      );
      expect(at(0.2)).toBeGreaterThan(at(0.5));
      expect(at(0.5)).toBeGreaterThan(at(0.75));
    }
  });

  test('the daily and monthly models say what they miss', () => {
    expect(call('diffuseFraction', { clearness: of(0.5), model: 'erbsDaily' })).toEqual({
      kind: 'missing',
      missing: ['sunsetAngle'],
    });
    const monthly = { clearness: of(0.2), model: 'erbsMonthly', sunsetAngle: of(90, 'deg') };
    expect(call('diffuseFraction', monthly)).toMatchObject({ kind: 'refused', argument: 'clearness' });
  });

  test('a flat surface sees the sun at its zenith angle', () => {
    fc.assert(
      fc.property(latitude, day, fc.double({ min: 0, max: 24, noNaN: true }), (north, number, hours) => {
        const given = { latitude: of(north, 'deg'), day: of(number), solarTime: of(hours, 'h'), tilt: of(0, 'deg') };
        const result = call('incidence', given);
        expect(numberOf(result, 'deg')).toBeCloseTo(numberOf(result, 'deg', 'zenith'), 5);
      }),
    );
  });

  test('a surface turned to the sun meets it square on', () => {
    fc.assert(
      fc.property(temperate, day, fc.double({ min: 8, max: 16, noNaN: true }), (north, number, hours) => {
        const given = { latitude: of(north, 'deg'), day: of(number), solarTime: of(hours, 'h') };
        const sun = call('incidence', { ...given, tilt: of(0, 'deg') });
        const facing = {
          tilt: of(numberOf(sun, 'deg', 'zenith'), 'deg'),
          azimuth: of(numberOf(sun, 'deg', 'azimuth'), 'deg'),
        };
        expect(numberOf(call('incidence', { ...given, ...facing }), 'deg')).toBeLessThan(0.001);
      }),
    );
  });

  const onTilt = (given: Record<string, ReturnType<typeof of> | string>) =>
    call('tilted', {
      horizontal: of(4, 'kWh/m2'),
      latitude: of(42, 'deg'),
      day: of(105),
      tilt: of(30, 'deg'),
      ...given,
    });

  test('beam ratio of a day agrees with the closed form for a surface that faces the equator (Klein 1977, from memory)', () => {
    const radians = Math.PI / 180;
    for (const [north, number, tilt] of [
      [42, 17, 42],
      [42, 198, 42],
      [35, 105, 20],
      [60, 80, 60],
    ] as const) {
      const declination = numberOf(call('declination', { day: of(number) }), 'rad');
      const sunset = numberOf(call('sunsetAngle', { latitude: of(north, 'deg'), day: of(number) }), 'rad');
      const lean = (north - tilt) * radians;
      const setting = Math.min(sunset, Math.acos(-Math.tan(lean) * Math.tan(declination)));
      const closed =
        (Math.cos(lean) * Math.cos(declination) * Math.sin(setting) +
          setting * Math.sin(lean) * Math.sin(declination)) /
        (Math.cos(north * radians) * Math.cos(declination) * Math.sin(sunset) +
          sunset * Math.sin(north * radians) * Math.sin(declination));
      const result = onTilt({
        horizontal: of(1, 'kWh/m2'),
        latitude: of(north, 'deg'),
        day: of(number),
        tilt: of(tilt, 'deg'),
        diffuse: of(0.4),
      });
      expect(numberOf(result, '', 'beamRatio')).toBeCloseTo(closed, 4);
    }
  });

  test('the shares of beam, sky and ground make the whole', () => {
    const result = onTilt({});
    const whole = ['beam', 'sky', 'ground'].reduce((so, part) => so + numberOf(result, 'Wh/m2', part), 0);
    expect(numberOf(result, 'Wh/m2')).toBeCloseTo(whole, 9);
  });

  test('surfaces that face east and west get the same in a day', () => {
    const east = numberOf(onTilt({ azimuth: of(90, 'deg') }), 'Wh/m2');
    const west = numberOf(onTilt({ azimuth: of(270, 'deg') }), 'Wh/m2');
    expect(east).toBeCloseTo(west, 6);
    expect(east).toBeLessThan(numberOf(onTilt({ azimuth: of(180, 'deg') }), 'Wh/m2'));
  });

  test('more than the sun gives, polar night and an hour of night are refused', () => {
    expect(onTilt({ horizontal: of(20, 'kWh/m2') })).toMatchObject({ kind: 'refused', argument: 'horizontal' });
    expect(onTilt({ latitude: of(80, 'deg'), day: of(355) })).toMatchObject({ kind: 'refused', argument: 'day' });
    expect(onTilt({ horizontal: of(1, 'Wh/m2'), solarTime: of(1, 'h') })).toMatchObject({
      kind: 'refused',
      argument: 'solarTime',
    });
    expect(onTilt({ model: 'hdkr' })).toMatchObject({ kind: 'refused', argument: 'model' });
  });

  test('a dull month is refused by the monthly correlation with the way out', () => {
    const dull = onTilt({ horizontal: of(1, 'kWh/m2') });
    expect(dull).toMatchObject({ kind: 'refused', argument: 'horizontal' });
    if (dull.kind === 'refused') expect(dull.reason).toContain('correlation: erbsDaily');
    expect(onTilt({ horizontal: of(1, 'kWh/m2'), correlation: 'erbsDaily' }).kind).toBe('known');
  });
});

describe('modules', () => {
  test('a cell in the dark has the temperature of the air', () => {
    const given = { ambient: of(12, 'degC'), irradiance: of(0, 'W/m2'), noct: of(45, 'degC') };
    expect(numberOf(call('cellTemperature', given), 'degC')).toBe(12);
  });

  test('a coefficient in volts for each kelvin means the same as in percent', () => {
    const at = (coefficient: ReturnType<typeof of>) =>
      numberOf(
        call('coldVoltage', { voltage: of(40, 'V'), series: of(10), coefficient, temperature: of(-20, 'degC') }),
        'V',
      );
    expect(at(of(-0.3, '%/K'))).toBeCloseTo(at(of(-120, 'mV/K')), 9);
  });

  test('at 25 °C nothing is added, and colder is never lower', () => {
    const at = (temperature: number, coefficient?: ReturnType<typeof of>) =>
      numberOf(
        call('coldVoltage', {
          voltage: of(40, 'V'),
          series: of(3),
          temperature: of(temperature, 'degC'),
          ...(coefficient ? { coefficient } : {}),
        }),
        'V',
      );
    expect(at(25)).toBe(120);
    expect(at(25, of(-0.3, '%/K'))).toBe(120);
    fc.assert(
      fc.property(
        fc.double({ min: -40, max: 60, noNaN: true }),
        fc.double({ min: -40, max: 60, noNaN: true }),
        (a, b) => {
          const [cold, warm] = [Math.min(a, b), Math.max(a, b)];
          expect(at(cold)).toBeGreaterThanOrEqual(at(warm));
          expect(at(cold, of(-0.3, '%/K'))).toBeGreaterThanOrEqual(at(warm, of(-0.3, '%/K')));
        },
      ),
    );
  });

  test('below −40 °C the table has no answer and asks for the coefficient', () => {
    const result = call('coldVoltage', { voltage: of(40, 'V'), series: of(3), temperature: of(-45, 'degC') });
    expect(result).toMatchObject({ kind: 'refused', argument: 'temperature' });
    if (result.kind === 'refused') expect(result.reason).toContain('coefficient');
  });

  test('the derivation says which of coefficient and table was used', () => {
    const given = { voltage: of(40, 'V'), series: of(3), temperature: of(-10, 'degC') };
    expect(governingText(derivationOf(call('coldVoltage', given)))).toContain('690.7(A)');
    expect(governingText(derivationOf(call('coldVoltage', { ...given, coefficient: of(-0.3, '%/K') })))).toContain(
      'own',
    );
  });
});
