import { Body, Equator, Horizon, Observer } from 'astronomy-engine';
import { describe, expect, test } from 'vitest';
import { call, numberOf, of } from './call.js';
import reference from './sun-positions.json' with { type: 'json' };

const RADIANS = Math.PI / 180;

describe('the sun against an independent astronomy library (astronomy-engine 2.1.19)', () => {
  test.each(reference.positions)('position at $latitude, $longitude on $time within 0.02°', (row) => {
    const result = call('sunPosition', {
      latitude: of(row.latitude, 'deg'),
      longitude: of(row.longitude, 'deg'),
      time: row.time,
    });
    expect(Math.abs(numberOf(result, 'deg') - row.elevation)).toBeLessThan(0.02);
    // Degrees of azimuth shrink towards the zenith: what counts is the angle on the sky.
    const turned = ((numberOf(result, 'deg', 'azimuth') - row.azimuth + 540) % 360) - 180;
    expect(Math.abs(turned) * Math.cos(row.elevation * RADIANS)).toBeLessThan(0.02);
  });

  test.each(reference.risings)('sunrise and sunset at $latitude, $longitude on $date within two minutes', (row) => {
    const given = {
      latitude: of(row.latitude, 'deg'),
      longitude: of(row.longitude, 'deg'),
      day: of(row.day),
      offset: of(row.offset, 'h'),
    };
    expect(Math.abs(numberOf(call('sunrise', given), 's') - row.sunrise)).toBeLessThan(120);
    expect(Math.abs(numberOf(call('sunset', given), 's') - row.sunset)).toBeLessThan(120);
  });
});

describe('the sun against the same library, asked now', () => {
  /** A sequence of numbers from 0 to 1 that is the same in every run. Source: the Weyl sequence of the golden ratio. */
  const spread = (index: number, start: number): number => (start + index * 0.6180339887498949) % 1;
  const places = Array.from({ length: 400 }, (_, index) => ({
    latitude: Math.asin(2 * spread(index, 0.1) - 1) / RADIANS,
    longitude: 360 * spread(index * 7, 0.3) - 180,
    seconds: Math.floor((Date.UTC(2051, 0, 1) - Date.UTC(1950, 0, 1)) * spread(index * 13, 0.7)) / 1000,
  }));

  test('400 places and instants from 1950 to 2050 agree within 0.02° on the sky', () => {
    let worst = 0;
    for (const { latitude, longitude, seconds } of places) {
      const date = new Date(Date.UTC(1950, 0, 1) + Math.floor(seconds) * 1000);
      const observer = new Observer(latitude, longitude, 0);
      const equator = Equator(Body.Sun, date, observer, true, true);
      const horizon = Horizon(date, observer, equator.ra, equator.dec);
      const ours = call('sunPosition', {
        latitude: of(latitude, 'deg'),
        longitude: of(longitude, 'deg'),
        time: date.toISOString().replace(/\.000Z$/, 'Z'),
      });
      const turned = ((numberOf(ours, 'deg', 'azimuth') - horizon.azimuth + 540) % 360) - 180;
      const across = turned * Math.cos(horizon.altitude * RADIANS);
      worst = Math.max(worst, Math.hypot(numberOf(ours, 'deg') - horizon.altitude, across));
    }
    expect(worst).toBeLessThan(0.02);
    // A copy of the library would not differ at all.
    expect(worst).toBeGreaterThan(1e-5);
  });

  test('the recorded rows are what the library gives', () => {
    for (const row of reference.positions) {
      const date = new Date(row.time);
      const observer = new Observer(row.latitude, row.longitude, 0);
      const equator = Equator(Body.Sun, date, observer, true, true);
      expect(Horizon(date, observer, equator.ra, equator.dec).altitude).toBeCloseTo(row.elevation, 3);
    }
  });
});
