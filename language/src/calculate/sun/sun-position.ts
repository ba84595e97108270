import { type Derivation, type Result, derive, known, numberIn, refused, withFacts } from '../../derivation/index.js';
import { solarModel, solarSource } from '../../reference/energy/index.js';
import { defineFunction, needsText } from '../registry.js';
import { DEGREES_PER_HOUR, RADIANS, azimuthOf, cosineOfZenith, sunAt, wrapped } from './geometry.js';
import { latitudeParameter, longitudeParameter } from './parameters.js';

const SECONDS_PER_DAY = 86400;
const EPOCH = Date.UTC(2000, 0, 1) / 1000;
const ISO_INSTANT =
  /^(\d{4})-(\d{2})-(\d{2})[T ](\d{2}):(\d{2})(?::(\d{2}(?:\.\d+)?))?\s*(?:Z|([+-])(\d{2}):?(\d{2}))$/i;

/** Seconds from 2000-01-01T00:00 UTC of an ISO 8601 date and time with its offset; undefined when it is none. */
export function instantOf(text: string): number | undefined {
  const match = ISO_INSTANT.exec(text.trim());
  if (!match) return undefined;
  const [year, month, day, hour, minute] = match.slice(1, 6).map(Number) as [number, number, number, number, number];
  const second = Number(match[6] ?? 0);
  const offset =
    match[7] === undefined ? 0 : (Number(match[8]) * 60 + Number(match[9])) * (match[7] === '-' ? -60 : 60);
  const midnight = Date.UTC(year, month - 1, day);
  const exists = new Date(midnight).getUTCMonth() === month - 1 && new Date(midnight).getUTCDate() === day;
  const ofDay = hour * 3600 + minute * 60 + second;
  if (!exists || minute > 59 || second >= 60 || ofDay > SECONDS_PER_DAY || Number(match[9] ?? 0) > 59) return undefined;
  return midnight / 1000 - EPOCH + ofDay - offset;
}

/** The years for which the series holds its accuracy. */
const FIRST_YEAR = 1950;
const LAST_YEAR = 2050;
const secondsAt = (year: number): number => Date.UTC(year, 0, 1) / 1000 - EPOCH;

/** Declination, in degrees, and hour angle of the sun at an instant, by the low-precision series of the Astronomical Almanac. */
function equatorial(seconds: number, longitude: number): { declination: number; hourAngle: number } {
  const days = seconds / SECONDS_PER_DAY - 0.5;
  const { declination, rightAscension } = sunAt(days);
  const hoursUtc = (((seconds % SECONDS_PER_DAY) + SECONDS_PER_DAY) % SECONDS_PER_DAY) / 3600;
  const [sidereal, siderealRate] = solarModel('sidereal-time') as [number, number];
  const siderealDegrees = (sidereal + siderealRate * days + hoursUtc) * DEGREES_PER_HOUR + longitude;
  const hourAngle = wrapped(siderealDegrees - rightAscension);
  return { declination, hourAngle };
}

/** Lift of the sun by the air in degrees; 0 once it is well below the horizon. */
function refraction(elevation: number): number {
  if (elevation < -1) return 0;
  const [scale, a, b] = solarModel('refraction') as [number, number, number];
  return scale / 60 / Math.tan((elevation + a / (elevation + b)) * RADIANS);
}

function secondsOf(time: Derivation): { seconds: number } | { refusal: Result } {
  if (typeof time.value !== 'string') return { seconds: numberIn(time, 's') };
  const seconds = instantOf(time.value);
  if (seconds !== undefined) return { seconds };
  return {
    refusal: refused(
      `\`time\` of sunPosition needs a date and time with its offset, such as "2027-01-15T12:30:00Z" or "2027-01-15T12:30:00-07:00"; "${time.value}" is none`,
      'time',
    ),
  };
}

export const sunPosition = defineFunction({
  name: 'sunPosition',
  group: 'sun',
  summary: 'Where the sun stands at an instant.',
  parameters: {
    latitude: latitudeParameter,
    longitude: longitudeParameter,
    time: needsText(
      'date and time as ISO 8601 text with its offset ("2027-01-15T12:30:00-07:00", Z for UTC), or a duration since 2000-01-01T00:00 UTC',
      'time',
    ),
  },
  result:
    'elevation in deg of the sun’s centre without refraction; `.elevation`, `.apparentElevation` with refraction, `.azimuth` from north eastward, `.zenith`, `.declination`, `.hourAngle`',
  worst: 'low',
  validity: '1950 to 2050, within 0.02°; refraction for 1010 hPa and 10 °C.',
  sources: ['Astronomical Almanac, low-precision formulas for the sun; Michalsky 1988 [from memory]'],
  examples: [
    {
      call: 'sunPosition(latitude: 39.742476 deg, longitude: -105.1786 deg, time: "2003-10-17T12:30:30-07:00").azimuth',
      gives: '194.340241 deg',
      tolerance: 1e-4,
      source: 'NREL/TP-560-34302 rev. 2008, Appendix A.5',
    },
    {
      call: 'sunPosition(latitude: 39.742476 deg, longitude: -105.1786 deg, time: "2003-10-17T19:30:30Z").zenith',
      gives: '50.128 deg',
      tolerance: 4e-4,
      source: 'NREL/TP-560-34302 rev. 2008, Appendix A.5, zenith without refraction 50.127954°',
    },
  ],
  compute: ({ latitude, longitude, time }) => {
    const instant = secondsOf(time);
    if ('refusal' in instant) return instant.refusal;
    const { seconds } = instant;
    if (seconds < secondsAt(FIRST_YEAR) || seconds >= secondsAt(LAST_YEAR + 1))
      return refused(`sunPosition holds from ${FIRST_YEAR} to ${LAST_YEAR}`, 'time');
    const north = numberIn(latitude, 'deg');
    const sun = equatorial(seconds, numberIn(longitude, 'deg'));
    const source = solarSource('sun-mean-longitude');
    const declination = derive('declination', sun.declination, 'deg', { symbol: 'δ', inputs: [time], source });
    const hourAngle = derive('hour angle', sun.hourAngle, 'deg', {
      symbol: 'ω',
      inputs: [time, longitude],
      source: solarSource('sidereal-time'),
    });
    const inputs = [latitude, declination, hourAngle];
    const height =
      Math.asin(Math.min(1, Math.max(-1, cosineOfZenith(north, sun.declination, sun.hourAngle)))) / RADIANS;
    const elevation = derive('elevation', height, 'deg', {
      symbol: 'h',
      formula: 'arcsin(sin φ·sin δ + cos φ·cos δ·cos ω)',
      inputs,
      source,
    });
    const zenith = derive('zenith angle', 90 - height, 'deg', {
      symbol: 'θ_z',
      formula: '90° − h',
      inputs: [elevation],
    });
    const azimuth = derive('azimuth', azimuthOf(north, sun.declination, sun.hourAngle), 'deg', {
      symbol: 'γ',
      formula: 'atan2(−cos δ·sin ω, sin δ·cos φ − cos δ·sin φ·cos ω), from north eastward',
      inputs,
      source,
    });
    const apparentElevation = derive('apparent elevation', height + refraction(height), 'deg', {
      formula: 'h + 1.02′/tan(h + 10.3/(h + 5.11))',
      inputs: [elevation],
      source: solarSource('refraction'),
    });
    return known(
      withFacts(elevation, { parts: { elevation, apparentElevation, azimuth, zenith, declination, hourAngle } }),
    );
  },
});
