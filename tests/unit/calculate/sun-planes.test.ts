import { describe, expect, test } from 'vitest';
import { cosine, hourAngleAt } from '../../../language/src/calculate/sun/geometry.js';
import { airMass, onPlane } from '../../../language/src/calculate/sun/plane.js';

/** A sky of some cloud, and a surface that stands at 45° with the sun 20° from its middle. */
const MIDDAY = {
  beam: 500,
  diffuse: 200,
  total: 450,
  outside: 1367,
  albedo: 0.2,
  cosineOfZenith: cosine(60),
  cosineOfIncidence: cosine(20),
  cosineOfTilt: cosine(45),
};
/** The sun just above the horizon. */
const EVENING = {
  ...MIDDAY,
  beam: 120,
  diffuse: 60,
  total: 67,
  cosineOfZenith: cosine(86.5),
  cosineOfIncidence: cosine(40),
};

describe('light on a surface', () => {
  // Worked out beside this program from the formulas of Perez et al. 1990, with its coefficients, and of Hay and Davies 1980.
  test('by the sky of Perez', () => {
    expect(onPlane('perez', MIDDAY)).toBeCloseTo(744.71, 2);
    expect(onPlane('perez', EVENING)).toBeCloseTo(280.502, 2);
  });

  test('by the sky of Hay and Davies', () => {
    expect(onPlane('hayDavies', MIDDAY)).toBeCloseTo(728.78, 2);
  });

  test('is beam and ground alone where the sky gives none', () => {
    const ground = (450 * 0.2 * (1 - cosine(45))) / 2;
    expect(onPlane('perez', { ...MIDDAY, diffuse: 0 })).toBeCloseTo(500 * cosine(20) + ground, 9);
  });

  test('is what lies on the flat for a surface that lies flat, whatever the sky', () => {
    const flat = { ...MIDDAY, cosineOfIncidence: MIDDAY.cosineOfZenith, cosineOfTilt: 1 };
    for (const sky of ['isotropic', 'hayDavies', 'perez'] as const)
      expect(onPlane(sky, flat)).toBeCloseTo(500 * cosine(60) + 200, 9);
  });

  test('counts as sky while the sun stands below 3°', () => {
    const at = (zenith: number): number => onPlane('isotropic', { ...EVENING, cosineOfZenith: cosine(zenith) });
    const sky = (67 * (1 + cosine(45))) / 2 + (67 * 0.2 * (1 - cosine(45))) / 2;
    expect(at(87.1)).toBeCloseTo(sky, 9);
    expect(at(86.9)).toBeGreaterThan(sky + 50);
  });
});

test('the way of the beam through the air is that of Kasten and Young (1989): 1 from the zenith, some 38 from the horizon', () => {
  expect(airMass(1)).toBeCloseTo(0.9997, 4);
  expect(airMass(cosine(60))).toBeCloseTo(1.9943, 4);
  expect(airMass(0)).toBeCloseTo(37.92, 2);
});

test('at the poles the sun is up for half a year and down for the other', () => {
  expect([hourAngleAt(90, 10), hourAngleAt(90, -10)]).toEqual([180, 0]);
});
