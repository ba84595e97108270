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
