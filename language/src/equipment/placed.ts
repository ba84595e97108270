import { ALTERNATOR } from './alternator.js';
import { BATTERY } from './battery.js';
import { BREAKER } from './breaker.js';
import { BUS } from './bus.js';
import { CHARGE_CONTROLLER } from './charge-controller.js';
import { CHARGER } from './charger.js';
import { CONVERTER } from './converter.js';
import { FUSE } from './fuse.js';
import { GENERATOR } from './generator.js';
import { GRID } from './grid.js';
import { HYDRO } from './hydro.js';
import { INVERTER } from './inverter.js';
import { LOAD } from './load.js';
import { RECEPTACLE } from './receptacle.js';
import { SHUNT } from './shunt.js';
import { SOLAR } from './solar.js';
import { SWITCH } from './switch.js';
import { TRANSFER } from './transfer.js';
import { VEHICLE } from './vehicle.js';
import { WIND } from './wind.js';

/**
 * Kinds that can be placed in a design. The only list of them: whatever else knows kinds is made of it, so that a test that puts another kind
 * here sees it counted everywhere.
 */
export const INSTANCES = [
  GENERATOR,
  GRID,
  SOLAR,
  WIND,
  HYDRO,
  ALTERNATOR,
  VEHICLE,
  CHARGER,
  INVERTER,
  CHARGE_CONTROLLER,
  CONVERTER,
  BATTERY,
  BUS,
  FUSE,
  BREAKER,
  SWITCH,
  TRANSFER,
  RECEPTACLE,
  SHUNT,
  LOAD,
] as const;
