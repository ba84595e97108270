import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { rotationTo, standing, type Mount, type Standing } from '../../../language/src/calculate/sun/mount.js';
import { onPlane, type Sky } from '../../../language/src/calculate/sun/plane.js';
import { arcCosine, cosine, sine } from '../../../language/src/calculate/sun/geometry.js';
import { DayWind } from '../../../language/src/quantities/weather/day-wind.js';
import { DaySun } from '../../../language/src/quantities/weather/day-sun.js';
import type { HourWeather, SunPlan } from '../../../language/src/quantities/weather/plans.js';
import { readWeather } from '../../../language/src/simulate/weather-file.js';
import planes from './perez-planes.json' with { type: 'json' };

/** W/m² outside the air across the beam; within 3.4 % the same all year, which moves the skies below by less than their tolerance. */
const OUTSIDE = 1367;

/** Direction of the sun by zenith angle and azimuth from north eastward. */
const sunAt = (zenith: number, azimuth: number): readonly [number, number, number] => [
  sine(zenith) * sine(azimuth),
  sine(zenith) * cosine(azimuth),
  cosine(zenith),
];

function standsAt(mount: Mount, zenith: number, azimuth: number): Standing {
  const into: Standing = { cosineOfIncidence: NaN, cosineOfTilt: NaN };
  standing(mount)(...sunAt(zenith, azimuth), into);
  return into;
}

const PLANES: Readonly<Record<string, { tilt: number; azimuth: number }>> = {
  S30: { tilt: 30, azimuth: 180 },
  E30: { tilt: 30, azimuth: 90 },
  W30: { tilt: 30, azimuth: 270 },
  S90: { tilt: 90, azimuth: 180 },
  E90: { tilt: 90, azimuth: 90 },
  W90: { tilt: 90, azimuth: 270 },
  N90: { tilt: 90, azimuth: 0 },
};

describe(`planes of ${planes.source}`, () => {
  // The library smooths the edges of the classes and the horizon: within 18 W/m² or 4 %.
  test.each(planes.rows)('$when', ({ inputs, published }) => {
    const azimuth = 180 + inputs.azimuth_from_south_west_pos_deg;
    for (const [name, [isotropic, perez]] of Object.entries(published) as [string, [number, number]][]) {
      const { tilt, azimuth: facing } = PLANES[name]!;
      const stands = standsAt({ moves: 'not', tilt, azimuth: facing }, inputs.zenith_deg, azimuth);
      const found = (sky: Sky): number =>
        onPlane(sky, {
          beam: inputs.DNI,
          diffuse: inputs.DHI,
          total: inputs.GHI,
          outside: OUTSIDE,
          albedo: 0,
          cosineOfZenith: cosine(inputs.zenith_deg),
          ...stands,
        });
      expect(Math.abs(found('isotropic') - isotropic)).toBeLessThan(Math.max(18, 0.04 * isotropic));
      expect(Math.abs(found('perez') - perez)).toBeLessThan(Math.max(18, 0.04 * perez));
    }
  });
});

describe('mounts that follow the sun', () => {
  const horizontal = (azimuth: number, more: object = {}): Extract<Mount, { moves: 'oneAxis' }> => ({
    moves: 'oneAxis',
    tilt: 0,
    azimuth,
    limit: 90,
    ...more,
  });

  test('about an axis from east to west stand as in example 1.7.1 of Duffie and Beckman', () => {
    // From memory: latitude 40°, declination 21°, hour angle 30°: incidence 27.8°, zenith 31.8°, azimuth 62.3° west of south, slope 16.1°.
    const { cosineOfIncidence, cosineOfTilt } = standsAt(horizontal(90), 31.82, 180 + 62.29);
    expect(arcCosine(cosineOfIncidence)).toBeCloseTo(27.8, 0);
    expect(Math.abs(arcCosine(cosineOfIncidence) - 27.8)).toBeLessThan(0.1);
    expect(Math.abs(arcCosine(cosineOfTilt) - 16.1)).toBeLessThan(0.1);
  });

  test('stand to the published sun of the NREL position algorithm as they should', () => {
    // Zenith 50.11162°, azimuth 194.34024°: incidence on a slope of 30° that faces 10° east of south: published 25.18700°.
    const [zenith, azimuth] = [50.11162, 194.34024];
    const fixed = standsAt({ moves: 'not', tilt: 30, azimuth: 170 }, zenith, azimuth);
    expect(Math.abs(arcCosine(fixed.cosineOfIncidence) - 25.187)).toBeLessThan(0.005);
    // Rotation and incidence of a horizontal axis from north to south, worked out beside this program.
    const [east, north, up] = sunAt(zenith, azimuth);
    expect(Math.abs(rotationTo({ east, north, up }, horizontal(180)) - 16.5068)).toBeLessThan(0.005);
    expect(Math.abs(arcCosine(standsAt(horizontal(180), zenith, azimuth).cosineOfIncidence) - 48.0208)).toBeLessThan(
      0.005,
    );
    expect(standsAt({ moves: 'twoAxes' }, zenith, azimuth)).toEqual({ cosineOfIncidence: 1, cosineOfTilt: up });
  });

  test('turn back so that rows do not shade each other', () => {
    // Rows that cover 0.4 of the ground, worked out beside this program from Lorenzo and others: −79.849° becomes −15.992°, 58.433° stays.
    const turned = (zenith: number, azimuth: number, cover?: number): number => {
      const [east, north, up] = sunAt(zenith, azimuth);
      return rotationTo({ east, north, up }, horizontal(180, cover === undefined ? {} : { cover }));
    };
    expect(turned(80, 100)).toBeCloseTo(-79.849, 2);
    expect(turned(80, 100, 0.4)).toBeCloseTo(-15.992, 2);
    expect(turned(60, 250, 0.4)).toBeCloseTo(58.433, 2);
  });

  test('are held at the furthest turn, and never get less beam than the same modules that do not turn', () => {
    for (let zenith = 5; zenith < 90; zenith += 10)
      for (let azimuth = 95; azimuth < 270; azimuth += 20) {
        const [east, north, up] = sunAt(zenith, azimuth);
        expect(Math.abs(rotationTo({ east, north, up }, horizontal(180, { limit: 45 })))).toBeLessThanOrEqual(
          45 + 1e-9,
        );
        const follows = standsAt({ moves: 'oneAxis', tilt: 20, azimuth: 180, limit: 60 }, zenith, azimuth);
        const stays = standsAt({ moves: 'not', tilt: 20, azimuth: 180 }, zenith, azimuth);
        expect(follows.cosineOfIncidence).toBeGreaterThanOrEqual(stays.cosineOfIncidence - 1e-12);
      }
  });
});

describe('three days of a public typical year of Denver (EPW, converted from TMY3)', () => {
  const text = readFileSync(new URL('denver-three-days.epw', import.meta.url), 'utf8');
  const found = readWeather(text, { date: '2027-01-01', timeOfDay: 0 });
  if (!('weather' in found) || found.weather.kind !== 'hours') throw new Error(JSON.stringify(found));
  const weather: HourWeather = found.weather;
  const sun: SunPlan = {
    mode: 'file',
    latitude: found.station!.latitude,
    longitude: found.station!.longitude,
    zoneHours: -7,
    air: 25,
    albedo: 0.2,
    clearness: [],
    sky: 'isotropic',
    weather,
  };

  // Sums of the columns of the file, and of planes by an isotropic sky with the sun at the middle of each hour, worked out beside this program: within 3 %.
  const DAYS = [
    { day: 1, beam: 3371, diffuse: 1072, total: 2256, air: -5.525, wind: 3.2625, south30: 3400, south90: 3463 },
    { day: 100, beam: 7802, diffuse: 1830, total: 6693, air: 5.025, wind: 8.8708, south30: 7319, south90: 4281 },
    { day: 195, beam: 12109, diffuse: 830, total: 8726, air: 24.2583, wind: 4.1042, south30: 8202, south90: 2893 },
  ];

  test.each(DAYS)('sum up on day $day', ({ day, beam, diffuse, total, air, wind }) => {
    const row = weather.rowOfDay[day > 59 ? day : day - 1]!;
    const sum = (values: Float64Array): number => values.slice(row, row + 24).reduce((all, each) => all + each, 0);
    expect([sum(weather.beam), sum(weather.diffuse), sum(weather.irradiance)]).toEqual([beam, diffuse, total]);
    expect(sum(weather.temperature) / 24).toBeCloseTo(air, 3);
    expect(sum(weather.wind!) / 24).toBeCloseTo(wind, 3);
  });

  test.each(DAYS)('bring their wind to a turbine on day $day, whatever ends their lines', ({ day, wind }) => {
    const windy = readWeather(text.replace(/\r?\n/g, '\r\n'), { date: '2027-01-01', timeOfDay: 0 });
    if (!('weather' in windy)) throw new Error(windy.reason);
    const vane = {
      speeds: Float64Array.of(0, 100),
      watts: Float64Array.of(0, 100),
      regulation: 'stall',
      most: 1000,
    } as const;
    const turbine = { name: 'T', curve: vane, hubFactor: 1, density: 1.225, meanByMonth: new Float64Array(12) };
    const plan = {
      mode: 'file',
      speedByMonth: [],
      shape: 2,
      persistence: 0,
      swing: 0,
      yearSpread: 0,
      zoneHours: -7,
    } as const;
    const filled = new DayWind({ ...plan, weather: windy.weather }, [turbine]);
    filled.fill(day, 2027, 0);
    expect(filled.watts[0]!.reduce((all, each) => all + each, 0) / 24).toBeCloseTo(wind, 3);
  });

  const onDay = (day: number, mount: Mount, resolution: number, sky: Sky): number => {
    const array = { name: 'A', watts: 1000, amperes: 10, powerCoefficient: 0, warming: 0, mounts: [mount] };
    const filled = new DaySun({ ...sun, sky }, [array], resolution);
    filled.fill(day, 0, 0, 2027);
    return (filled.watts[0]!.reduce((all, watts) => all + watts, 0) * filled.slot) / 3600;
  };

  test.each(DAYS)('bring to planes on day $day', ({ day, total, south30, south90 }) => {
    const south = (tilt: number): Mount => ({ moves: 'not', tilt, azimuth: 180 });
    for (const resolution of [3600, 60]) {
      expect(Math.abs(onDay(day, south(30), resolution, 'isotropic') / south30 - 1)).toBeLessThan(0.03);
      expect(Math.abs(onDay(day, south(90), resolution, 'isotropic') / south90 - 1)).toBeLessThan(0.03);
      // The file's own total is not quite what beam and sky make of it.
      expect(Math.abs(onDay(day, south(0), resolution, 'isotropic') / total - 1)).toBeLessThan(0.04);
    }
    // Brighter around the sun: more on a plane that faces it than an isotropic sky gives, by less than a fifth.
    const [plain, perez] = [onDay(day, south(30), 60, 'isotropic'), onDay(day, south(30), 60, 'perez')];
    expect(perez / plain).toBeGreaterThan(0.99);
    expect(perez / plain).toBeLessThan(1.2);
    // The more a mount can turn, the more it gets.
    const oneAxis = onDay(day, { moves: 'oneAxis', tilt: 0, azimuth: 180, limit: 60 }, 60, 'perez');
    const twoAxes = onDay(day, { moves: 'twoAxes' }, 60, 'perez');
    expect(oneAxis).toBeGreaterThan(onDay(day, south(0), 60, 'perez'));
    expect(twoAxes).toBeGreaterThan(oneAxis);
    expect(twoAxes).toBeGreaterThan(perez);
  });

  test('give modules that are set by the season the tilt of the month', () => {
    const mounts = Array.from({ length: 12 }, (_, month): Mount => ({
      moves: 'not',
      tilt: month < 3 || month > 8 ? 60 : 15,
      azimuth: 180,
    }));
    const array = { name: 'A', watts: 1000, amperes: 10, powerCoefficient: 0, warming: 0, mounts };
    const filled = new DaySun(sun, [array], 3600);
    for (const [day, tilt] of [
      [1, 60],
      [100, 15],
      [195, 15],
    ] as const) {
      filled.fill(day, 0, 0, 2027);
      const sum = filled.watts[0]!.reduce((all, watts) => all + watts, 0);
      expect(sum).toBeCloseTo(onDay(day, { moves: 'not', tilt, azimuth: 180 }, 3600, 'isotropic'), 6);
    }
  });
});
