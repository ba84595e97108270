import { describe, expect, test } from 'vitest';
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
    if (!('weather' in found)) expect.fail(found.reason);
    expect([...found.weather.time]).toEqual([0, 5400, 64800]);
    expect([...found.weather.irradiance]).toEqual([120, 300.5, 0]);
    expect([...found.weather.temperature]).toEqual([11.5, 12, 9]);
  });

  test('may have lines of remarks, empty lines, other columns and the line ends of any system', () => {
    const found = readWeather(
      '\uFEFF# measured\r\ntime,wind,irradiance,temperature\r\n\r\n2027-06-01T06:00:30,3,1,2\r\n2027-06-01T07:00,3,1,2\r\n',
      start,
    );
    if (!('weather' in found)) expect.fail(found.reason);
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
