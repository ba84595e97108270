import { solarModel } from '../../reference/energy/index.js';

/** Solar geometry in plain numbers: angles in degrees unless a name says radians, hour angle 0 at solar noon and positive after it. */
export const RADIANS = Math.PI / 180;
export const sine = (degrees: number): number => Math.sin(degrees * RADIANS);
export const cosine = (degrees: number): number => Math.cos(degrees * RADIANS);
export const arcCosine = (value: number): number => Math.acos(Math.min(1, Math.max(-1, value))) / RADIANS;

/** Hours of sun time are 15° of hour angle each. */
export const DEGREES_PER_HOUR = 15;
const MINUTES_PER_DEGREE = 4;
const DAYS_PER_YEAR = 365;

export const DECLINATION_MODELS = ['cooper', 'spencer', 'almanac'] as const;
export type DeclinationModel = (typeof DECLINATION_MODELS)[number];

/** Day angle in radians, 0 on 1 January. */
const dayAngle = (day: number): number => (2 * Math.PI * (day - 1)) / DAYS_PER_YEAR;

/** The sun by the low-precision series of the Astronomical Almanac, in degrees. */
export interface Sun {
  readonly declination: number;
  readonly rightAscension: number;
  readonly meanLongitude: number;
}

/** The sun at an instant in days from 2000-01-01 12:00 UTC. */
export function sunAt(days: number): Sun {
  const linear = (model: string): number => {
    const [constant, rate] = solarModel(model) as [number, number];
    return constant + rate * days;
  };
  const anomaly = linear('sun-mean-anomaly');
  const meanLongitude = linear('sun-mean-longitude');
  const [first, second] = solarModel('sun-ecliptic-terms') as [number, number];
  const ecliptic = meanLongitude + first * sine(anomaly) + second * sine(2 * anomaly);
  const obliquity = linear('sun-obliquity');
  return {
    declination: Math.asin(sine(obliquity) * sine(ecliptic)) / RADIANS,
    rightAscension: Math.atan2(cosine(obliquity) * sine(ecliptic), cosine(ecliptic)) / RADIANS,
    meanLongitude,
  };
}

/** Degrees brought into −180 to 180. */
export const wrapped = (degrees: number): number => ((((degrees + 180) % 360) + 360) % 360) - 180;

/** The sun at noon UTC of a day of the year, in the middle of a leap-year cycle of this decade; `day` may have a fraction. */
const sunOfDay = (day: number): Sun => sunAt(solarModel('sun-year-start')[0]! + day - 1);

/** Equation of time in minutes by the Almanac series, for sunrise and sunset. */
export function almanacEquationOfTime(day: number): number {
  const sun = sunOfDay(day);
  return MINUTES_PER_DEGREE * wrapped(sun.meanLongitude - sun.rightAscension);
}

/** Declination in degrees; `day` may have a fraction. */
export function declinationOf(day: number, model: DeclinationModel = 'cooper'): number {
  if (model === 'almanac') return sunOfDay(day).declination;
  if (model === 'cooper') {
    const [amplitude, offset] = solarModel('declination-cooper') as [number, number];
    return amplitude * sine((360 * (offset + day)) / DAYS_PER_YEAR);
  }
  const [constant, c1, s1, c2, s2, c3, s3] = solarModel('declination-spencer') as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const b = dayAngle(day);
  const radians =
    constant +
    c1 * Math.cos(b) +
    s1 * Math.sin(b) +
    c2 * Math.cos(2 * b) +
    s2 * Math.sin(2 * b) +
    c3 * Math.cos(3 * b) +
    s3 * Math.sin(3 * b);
  return radians / RADIANS;
}

/** Equation of time in minutes: sun time less mean time. */
export function equationOfTimeOf(day: number): number {
  const [scale, constant, c1, s1, c2, s2] = solarModel('equation-of-time') as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const b = dayAngle(day);
  return scale * (constant + c1 * Math.cos(b) + s1 * Math.sin(b) + c2 * Math.cos(2 * b) + s2 * Math.sin(2 * b));
}

/** What is added to clock hours to get sun hours: 4 minutes for each degree east of the zone's meridian, plus the equation of time. */
export const solarCorrectionHours = (longitude: number, zoneHours: number, equationMinutes: number): number =>
  (MINUTES_PER_DEGREE * (longitude - DEGREES_PER_HOUR * zoneHours) + equationMinutes) / 60;

/** Radiation outside the air over the solar constant on a day. */
export const distanceFactor = (day: number): number =>
  1 + solarModel('distance')[0]! * Math.cos((2 * Math.PI * day) / DAYS_PER_YEAR);

/** Hour angle at which the sun's centre stands at `altitude`; 0 when it never rises above it, 180 when it never sinks below. */
export function hourAngleAt(latitude: number, declination: number, altitude = 0): number {
  const over = sine(altitude) - sine(latitude) * sine(declination);
  const under = cosine(latitude) * cosine(declination);
  // At the poles the sun keeps one altitude all day.
  if (under < 1e-12) return over < 0 ? 180 : 0;
  return arcCosine(over / under);
}

/** Cosine of the sun's zenith angle. */
export const cosineOfZenith = (latitude: number, declination: number, hourAngle: number): number =>
  sine(latitude) * sine(declination) + cosine(latitude) * cosine(declination) * cosine(hourAngle);

/** Direction of a surface: slope from the horizontal and azimuth from north, eastward. */
export interface Surface {
  readonly tilt: number;
  readonly azimuth: number;
}

/** Cosine of the angle between the sun and the normal of a surface. Source: Duffie and Beckman eq. 1.6.2, from memory. */
export function cosineOfIncidence(latitude: number, declination: number, hourAngle: number, surface: Surface): number {
  // The equation counts the azimuth from south, westward.
  const azimuth = surface.azimuth - 180;
  const { tilt } = surface;
  return (
    sine(declination) * sine(latitude) * cosine(tilt) -
    sine(declination) * cosine(latitude) * sine(tilt) * cosine(azimuth) +
    cosine(declination) * cosine(latitude) * cosine(tilt) * cosine(hourAngle) +
    cosine(declination) * sine(latitude) * sine(tilt) * cosine(azimuth) * cosine(hourAngle) +
    cosine(declination) * sine(tilt) * sine(azimuth) * sine(hourAngle)
  );
}

/** Sun's azimuth from north, eastward, from its place in the sky. */
export function azimuthOf(latitude: number, declination: number, hourAngle: number): number {
  const east = -cosine(declination) * sine(hourAngle);
  const north = sine(declination) * cosine(latitude) - cosine(declination) * sine(latitude) * cosine(hourAngle);
  return (Math.atan2(east, north) / RADIANS + 360) % 360;
}

/** Radiation outside the air on the horizontal between two hour angles on one day, in Wh/m². */
export function extraterrestrialBetween(latitude: number, day: number, from: number, to: number): number {
  const declination = declinationOf(day);
  const sunset = hourAngleAt(latitude, declination);
  const start = Math.max(-sunset, Math.min(sunset, from));
  const end = Math.max(-sunset, Math.min(sunset, to));
  const shape =
    cosine(latitude) * cosine(declination) * (sine(end) - sine(start)) +
    (end - start) * RADIANS * sine(latitude) * sine(declination);
  return Math.max(0, (12 / Math.PI) * solarModel('solar-constant')[0]! * distanceFactor(day) * shape);
}

export const extraterrestrialDay = (latitude: number, day: number): number =>
  extraterrestrialBetween(latitude, day, -180, 180);
