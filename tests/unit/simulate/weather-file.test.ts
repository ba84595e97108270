import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { hasDay, rowAt } from '../../../language/src/quantities/weather/hours.js';
import { readWeather } from '../../../language/src/simulate/weather-file.js';

const start = { date: '2027-06-01', timeOfDay: 6 * 3600 };
const read = (...rows: string[]): ReturnType<typeof readWeather> => readWeather(rows.join('\n'), start);
const reason = (...rows: string[]): string => {
  const found = read(...rows);
  return 'reason' in found ? found.reason : 'read';
};

describe('a weather file', () => {
  test('is read by the names of its columns, in any order, with times counted from the start', () => {
    const found = read(
      'temperature,time,irradiance',
      '11.5,2027-06-01T06:00,120',
      '12,2027-06-01 07:30,300.5',
      '9,2027-06-02,0',
    );
    if (!('weather' in found) || found.weather.kind !== 'points') expect.fail(JSON.stringify(found));
    expect([...found.weather.time]).toEqual([0, 5400, 64800]);
    expect([...found.weather.irradiance]).toEqual([120, 300.5, 0]);
    expect([...found.weather.temperature]).toEqual([11.5, 12, 9]);
  });

  test('may have lines of remarks, empty lines, other columns and the line ends of any system', () => {
    const found = readWeather(
      '\uFEFF# measured\r\ntime,wind,irradiance,temperature\r\n\r\n2027-06-01T06:00:30,3,1,2\r\n2027-06-01T07:00,3,1,2\r\n',
      start,
    );
    if (!('weather' in found) || found.weather.kind !== 'points') expect.fail(JSON.stringify(found));
    expect(found.weather.time[0]).toBe(30);
  });

  test('that lacks a column, rows or order is refused with the place', () => {
    expect(reason('time,irradiance', '2027-06-01,1', '2027-06-02,1')).toContain('`temperature`');
    expect(reason('')).toContain('`time`, `irradiance`, `temperature`');
    expect(reason('time,irradiance,temperature', '2027-06-01,1,1')).toContain('fewer than two');
    expect(reason('time,irradiance,temperature', '2027-06-02,1,1', '2027-06-01,1,1')).toContain('line 3');
    expect(reason('time,irradiance,temperature', '2027-06-01,1,1', '2027-06-01,1,1')).toContain('not after');
  });

  test('with values that cannot be is refused with the place', () => {
    const head = 'time,irradiance,temperature';
    expect(reason(head, 'yesterday,1,1', '2027-06-02,1,1')).toContain('`yesterday` is no time');
    expect(reason(head, '2027-06-01,-1,1', '2027-06-02,1,1')).toContain('irradiance');
    expect(reason(head, '2027-06-01,,1', '2027-06-02,1,1')).toContain('irradiance');
    expect(reason(head, '2027-06-01,2000,1', '2027-06-02,1,1')).toContain('irradiance');
    expect(reason(head, '2027-06-01,1,99', '2027-06-02,1,1')).toContain('temperature');
    expect(reason(head, '2027-13-41,1,9', '2027-06-02,1,1')).toContain('is no time');
  });
});

/** An EPW file of our own invention: some days, each hour with the values of `row`. */
const epw = (
  days: readonly string[],
  row = '10,8,50,90000,0,0,300,200,300,100,0,0,0,0,180,4',
  hours = 24,
): string[] => [
  'LOCATION,Nowhere,XX,NON,invented,0,45.0,15.0,1.0,300.0',
  ...[
    'DESIGN CONDITIONS,0',
    'TYPICAL/EXTREME PERIODS,0',
    'GROUND TEMPERATURES,0',
    'HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0',
  ],
  ...['COMMENTS 1,invented', 'COMMENTS 2,', 'DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31'],
  ...days.flatMap((day) => Array.from({ length: hours }, (_, at) => `1999,${day},${at + 1},60,?9,${row},5,5`)),
];

const TMY3_HEAD =
  'Date (MM/DD/YYYY),Time (HH:MM),ETR (W/m^2),ETRN (W/m^2),GHI (W/m^2),GHI source,GHI uncert (%),DNI (W/m^2),DNI source,DNI uncert (%),DHI (W/m^2),DHI source,DHI uncert (%),Dry-bulb (C),Dry-bulb source,Wspd (m/s),Wspd source';
/** A TMY3 file of our own invention, with fewer columns than the real ones have. */
const tmy3 = (rows: readonly string[]): string[] => [
  '727845,"NOWHERE",XX,-8.0,46.267,-119.117,136',
  TMY3_HEAD,
  ...rows,
];
const tmyDay = (
  date: string,
  more: (hour: number) => string = () => '300,1,8,200,1,9,100,1,9,10.5,A,4.1,A',
): string[] =>
  Array.from({ length: 24 }, (_, at) => `${date},${String(at + 1).padStart(2, '0')}:00,0,0,${more(at + 1)}`);

describe('a file of hours', () => {
  test('is known by what it holds, and read with the hour that each row ends', () => {
    const found = read(...epw(['1,1', '7,14']));
    if (!('weather' in found) || found.weather.kind !== 'hours') expect.fail(JSON.stringify(found));
    const { weather, station } = found;
    expect(station).toEqual({ name: 'Nowhere', latitude: 45, longitude: 15 });
    expect(weather.zoneHours).toBe(1);
    // 14 July is the 196th day of a leap year.
    expect([weather.rowOfDay[0], weather.rowOfDay[195], weather.rowOfDay[1]]).toEqual([0, 24, -1]);
    expect([
      weather.irradiance[5],
      weather.beam[5],
      weather.diffuse[5],
      weather.temperature[5],
      weather.wind![5],
    ]).toEqual([200, 300, 100, 10, 4]);
  });

  test('of a typical year in the third collection is read by the names of its columns', () => {
    const found = read(
      ...tmy3([...tmyDay('01/01/1988'), ...tmyDay('01/02/1977', (hour) => `${hour},1,8,0,1,9,0,1,9,-3,A,2,A`)]),
    );
    if (!('weather' in found) || found.weather.kind !== 'hours') expect.fail(JSON.stringify(found));
    const { weather, station } = found;
    expect(station).toEqual({ name: 'NOWHERE', latitude: 46.267, longitude: -119.117 });
    expect(weather.zoneHours).toBe(-8);
    expect([...weather.rowOfDay.slice(0, 3)]).toEqual([0, 24, -1]);
    expect([weather.irradiance[24], weather.irradiance[47]]).toEqual([1, 24]);
    expect([weather.beam[0], weather.diffuse[0], weather.temperature[24], weather.wind![24]]).toEqual([
      200, 100, -3, 2,
    ]);
  });

  test('serves the same day of any year, 29 February and another clock included', () => {
    const found = read(...epw(['2,28', '3,1'], undefined));
    if (!('weather' in found) || found.weather.kind !== 'hours') expect.fail(JSON.stringify(found));
    const { weather } = found;
    // Half past seven on 1 March of a year without 29 February, of one with it, and on 29 February itself.
    expect(rowAt(weather, 60, 2027, 7.5, 1)).toBe(24 + 7);
    expect(rowAt(weather, 61, 2028, 7.5, 1)).toBe(24 + 7);
    expect(rowAt(weather, 60, 2028, 7.5, 1)).toBe(7);
    // The clock of the play an hour ahead of that of the file: its first hour is the last of the day before.
    expect(rowAt(weather, 60, 2027, 7.5, 2)).toBe(24 + 6);
    expect(rowAt(weather, 60, 2027, 0.5, 2)).toBe(23);
    // And behind it; a day that the file does not have lends its edge.
    expect(rowAt(weather, 59, 2027, 23.5, 0)).toBe(24);
    expect(rowAt(weather, 60, 2027, 23.5, 0)).toBe(47);
    expect([57, 58, 59, 60, 61].map((day) => hasDay(weather, day))).toEqual([false, true, true, true, false]);
  });

  test.each([
    ['no place', epw(['1,1']).map((line, at) => (at === 0 ? line.replace('45.0', 'north') : line)), 'line 1: latitude'],
    ['no rows', epw([]), 'no rows'],
    [
      'a value that lacks',
      epw(['1,1'], '10,8,50,90000,0,0,300,200,9999,100,0,0,0,0,180,4'),
      'line 9, column 15: the irradiance across the beam is missing',
    ],
    [
      'a temperature that lacks',
      epw(['1,1'], '99.9,8,50,90000,0,0,300,200,300,100,0,0,0,0,180,4'),
      'line 9, column 7: the temperature is missing',
    ],
    [
      'a value that cannot be',
      epw(['1,1'], '10,8,50,90000,0,0,300,-5,300,100,0,0,0,0,180,4'),
      'line 9, column 14: the irradiance must be',
    ],
    [
      'a value that is no number',
      epw(['1,1'], '10,8,50,90000,0,0,300,0x10,300,100,0,0,0,0,180,4'),
      'line 9, column 14: the irradiance must be',
    ],
    ['a month that is none', epw(['13,1']), 'line 9, column 2: `13` is no month'],
    ['a day that is none', epw(['2,30']), 'line 9, column 3: `30` is no day of this month'],
    ['a day cut short', epw(['1,1'], undefined, 23), 'line 31: its last day has no 24 hours'],
    ['a day twice', epw(['1,1', '1,1']), 'line 33, column 4: its hour does not follow'],
    [
      'an hour twice',
      epw(['1,1']).flatMap((line, at) => (at === 12 ? [line, line] : [line])),
      'line 14, column 4: its hour does not follow',
    ],
    ['too many lines', [...epw(['1,1']), ...new Array<string>(9000).fill('')], 'more than the 8834 lines'],
    [
      'no column of the beam',
      tmy3(tmyDay('01/01/1988')).map((line) => line.replace('DNI (', 'XXX (')),
      'line 2: it names no column for the irradiance across the beam',
    ],
    ['a date that is none', tmy3(tmyDay('1988-01-01')), 'line 3, column 1: `1988-01-01` is no month'],
    [
      'a time that is none',
      tmy3(tmyDay('01/01/1988').map((line) => line.replace('03:00', '03:30'))),
      'line 5, column 2: `03:30` is no hour',
    ],
    [
      'a missing code',
      tmy3(tmyDay('01/01/1988', () => '-9900,?,0,200,1,9,100,1,9,10.5,A,4.1,A')),
      'line 3, column 5: the irradiance is missing',
    ],
  ])('with %s is refused at its place', (_what, lines, expected) => {
    expect(reason(...lines)).toContain(expected);
  });

  test('whose wind lacks is read without it', () => {
    const found = read(...epw(['1,1'], '10,8,50,90000,0,0,300,200,300,100,0,0,0,0,180,999'));
    expect('weather' in found && found.weather.wind).toBeUndefined();
  });
});

describe('columns of values', () => {
  test('may hold beam and diffuse light, and wind', () => {
    const found = read(
      'time,irradiance,temperature,beam,diffuse,wind',
      '2027-06-01T06:00,1,2,3,4,5',
      '2027-06-01T07:00,1,2,3,4,6',
    );
    if (!('weather' in found) || found.weather.kind !== 'points') expect.fail(JSON.stringify(found));
    expect([...found.weather.beam!, ...found.weather.diffuse!, ...found.weather.wind!]).toEqual([3, 3, 4, 4, 5, 6]);
    expect(reason('time,irradiance,temperature,beam', '2027-06-01,1,1,1', '2027-06-02,1,1,1')).toContain(
      '`beam` and `diffuse`',
    );
    expect(reason('time,irradiance,temperature,wind', '2027-06-01,1,1,1', '2027-06-02,1,1,-1')).toContain(
      'line 3, column 4: the wind speed',
    );
  });

  test('without end are refused', () => {
    expect(reason(`time,irradiance,temperature${'\n'.repeat(1_200_001)}`)).toContain('more than 1200000 lines');
  });
});

test('no text makes reading fail or hang', () => {
  fc.assert(
    fc.property(
      fc.constantFrom(
        epw(['1,1', '1,2']).join('\n'),
        tmy3(tmyDay('01/01/1988')).join('\n'),
        'time,irradiance,temperature\n2027-06-01,1,1\n2027-06-02,1,1',
      ),
      fc.nat(2000),
      fc.string({ maxLength: 30, unit: 'binary' }),
      fc.nat(60),
      (text, at, put, taken) => {
        const found = readWeather(text.slice(0, at) + put + text.slice(at + taken), start);
        if ('reason' in found) expect(found.reason).not.toMatch(/undefined|NaN|Infinity/);
        else expect(found.weather.irradiance.every((each) => each >= 0 && each <= 2000)).toBe(true);
      },
    ),
  );
});
