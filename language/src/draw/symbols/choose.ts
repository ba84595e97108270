import type { Practice } from '../../model/types.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Instance } from '../../model/types.js';
import {
  chargingOf,
  isArrayCharger,
  isBank,
  isBreaker,
  isBusCharger,
  isConnection,
  isFuse,
  isInverter,
  isJoint,
  isLoad,
  isShunt,
  isSwitchgear,
  isTransferGear,
  sourceOf,
} from '../../model/roles.js';
import type { SymbolManner } from './symbol.js';
import type { SymbolName } from './shapes.js';

/** The manner in which a design of a practice is drawn. */
export const mannerOf = (practice: Practice): SymbolManner => (practice === 'iec' ? 'iec' : 'ieee');

const BY_ORIGIN = {
  fuel: 'set',
  utility: 'utility',
  vehicle: 'vehicle',
  sun: 'array',
  wind: 'wind',
  water: 'water',
  engine: 'alternator',
} as const satisfies Record<string, SymbolName>;

/** What a thing is drawn as, by what it can do. `isEnd` where nothing follows behind it. */
export function symbolOf(instance: Instance, isEnd: boolean): SymbolName {
  const { properties } = instance;
  const source = sourceOf(instance);
  // A machine that converts as well is drawn as a converter: it has more than one side.
  if (isInverter(instance)) return chargingOf(instance) ? 'inverterCharger' : 'inverter';
  if (source) return source.from === 'utility' && properties.has('outlet') ? 'shore' : BY_ORIGIN[source.from];
  if (isBank(instance)) return 'bank';
  if (isArrayCharger(instance)) return 'controller';
  if (isBusCharger(instance)) return 'converter';
  if (chargingOf(instance)) return 'charger';
  if (isJoint(instance)) return 'bus';
  if (isFuse(instance)) return 'fuse';
  if (isBreaker(instance)) return flagIn(properties, 'groundFault') === true ? 'residualBreaker' : 'breaker';
  if (isTransferGear(instance)) return 'transfer';
  if (isSwitchgear(instance)) return flagIn(properties, 'loadBreak') === true ? 'loadBreakSwitch' : 'switch';
  if (isShunt(instance)) return 'shunt';
  if (isConnection(instance)) return isEnd ? 'outlet' : 'plug';
  if (isLoad(instance)) {
    if (properties.has('motorPower') || properties.has('startFactor')) return 'motor';
    return flagIn(properties, 'lighting') === true ? 'lamp' : 'load';
  }
  return 'load';
}
