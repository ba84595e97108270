import type { CalculationFunction } from '../registry.js';
import { declination, equationOfTime } from './declination.js';
import { cellTemperature, coldVoltage } from './module-temperature.js';
import { diffuseFraction, extraterrestrial, incidence, tilted } from './radiation.js';
import { sunPosition } from './sun-position.js';
import { solarTime, sunrise, sunset, sunsetAngle } from './sunrise.js';

export { instantOf } from './sun-position.js';

/** Functions on the sun and modules, in the order of the reference page. */
export const sunFunctions: readonly CalculationFunction[] = [
  declination,
  equationOfTime,
  solarTime,
  sunrise,
  sunset,
  sunsetAngle,
  sunPosition,
  extraterrestrial,
  diffuseFraction,
  incidence,
  tilted,
  cellTemperature,
  coldVoltage,
];
