import type { CalculationFunction } from '../registry.js';
import { ampacity } from './ampacity.js';
import { conductorFor } from './conductor-for.js';
import { ambientFactor, bundleFactor } from './correction-factors.js';
import { craftArea } from './craft-area.js';
import { earthConductor, electrodeConductor } from './earth-conductor.js';
import { bankResistance, faultCurrent } from './fault-current.js';
import { plugContinuous, plugPower } from './plug.js';
import { largestProtection, nextRating, protectionFor, requiredAmpacity, smallConductorLimit } from './protection.js';
import { resistance } from './resistance.js';
import { shortTimeArea, shortTimeCurrent } from './short-time.js';
import { areaOf, diameterOf } from './size.js';
import { smallestSize } from './smallest-size.js';
import { voltageDrop } from './voltage-drop.js';

/** The functions on conductors and their protection, in the order of the reference page. */
export const conductorFunctions: readonly CalculationFunction[] = [
  resistance,
  ampacity,
  ambientFactor,
  bundleFactor,
  voltageDrop,
  smallestSize,
  conductorFor,
  requiredAmpacity,
  protectionFor,
  nextRating,
  largestProtection,
  smallConductorLimit,
  earthConductor,
  electrodeConductor,
  shortTimeArea,
  shortTimeCurrent,
  faultCurrent,
  bankResistance,
  areaOf,
  diameterOf,
  craftArea,
  plugContinuous,
  plugPower,
];
