import { type Derivation, type Source, derive, numberIn } from '../../derivation/index.js';
import { solarSource } from '../../reference/energy/index.js';
import { may, needs } from '../registry.js';
import { type DeclinationModel, declinationOf } from './geometry.js';

export const dayParameter = needs('ratio', '', 'day of the year: 1 is 1 January', { minimum: 1, maximum: 366 });
export const latitudeParameter = needs('angle', 'deg', 'latitude, north positive', { minimum: -90, maximum: 90 });
export const longitudeParameter = needs('angle', 'deg', 'longitude, east positive', { minimum: -180, maximum: 180 });
export const solarTimeParameter = needs('time', 'h', 'sun time: 12 h when the sun is highest', {
  minimum: 0,
  maximum: 24,
});
export const maySolarTime = may('time', 'h', 'sun time in the middle of one hour, in place of the whole day', {
  minimum: 0,
  maximum: 24,
});

export const GEOMETRY: Source = {
  standard: 'Duffie and Beckman, Solar Engineering of Thermal Processes',
  table: 'chapter 1',
  provenance: 'from memory',
};
export const TEXTBOOK = 'Duffie and Beckman, Solar Engineering of Thermal Processes [from memory]';

/** What each model of the declination is, in a formula line. */
export const DECLINATION_FORMULA: Readonly<Record<DeclinationModel, string>> = {
  cooper: '23.45°·sin(360°·(284 + n)/365)',
  spencer: 'Spencer’s series in the day angle',
  almanac: 'Astronomical Almanac, low-precision series at noon UTC',
};

/** Declination of a day as an input of another result. */
export const declinationInput = (day: Derivation, model: DeclinationModel = 'cooper'): Derivation =>
  derive('declination', declinationOf(numberIn(day, ''), model), 'deg', {
    symbol: 'δ',
    formula: DECLINATION_FORMULA[model],
    inputs: [day],
    source: solarSource(`declination-${model}`),
  });
