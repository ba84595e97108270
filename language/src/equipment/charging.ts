/** How a charger behaves, whatever its kind: what bounds its output, and the voltage it holds. */
import { bound, constant, leaf, type Leaf, Least, type Named, type Term } from './formula/index.js';

/** The facts of a charger, by the part they play; each kind says which of its properties plays which (`ChargerBounds`). */
export const CHARGER_FACTS = {
  setting: leaf('setting', 'current', 'I_set'),
  rating: leaf('rating', 'current', 'I_max'),
  power: leaf('power', 'power', 'P_max'),
  inputSetting: leaf('inputSetting', 'current', 'I_in,set'),
  inputRating: leaf('inputRating', 'current', 'I_in,max'),
  efficiency: leaf('efficiency', 'ratio', 'η'),
  powerFactor: leaf('powerFactor', 'ratio', 'pf'),
  temperatureCompensation: leaf('temperatureCompensation', 'voltagePerTemperature', 'k_T'),
} as const;

/** What stands around a charger while it charges. */
export const CHARGER_AROUND = {
  /** Voltage at its direct-current terminals. */
  volts: leaf('volts', 'voltage', 'U'),
  /** Voltage of its supply as it is connected, and 1, or √3 for three phases. */
  supplyVolts: leaf('supplyVolts', 'voltage', 'U_in'),
  lines: leaf('lines', 'ratio', 'k'),
  /** Apparent power (VA) of the loads that it passes its supply on to: its input limit is one of amperes. */
  passed: leaf('passed', 'power', 'S_passed'),
  /** Alternating power that its supply has left for it. */
  supplyPower: leaf('supplyPower', 'power', 'P_supply'),
  /** Power of what drives it: water. */
  drive: leaf('drive', 'power', 'P_drive'),
  /** Power of the modules behind it, and the current of those that it only switches through. */
  modulePower: leaf('modulePower', 'power', 'P_modules'),
  moduleCurrent: leaf('moduleCurrent', 'current', 'I_modules'),
  /** A set point, the temperature of the cells. */
  point: leaf('point', 'voltage', 'U_point'),
  cells: leaf('cells', 'temperature', 'T'),
} as const;

/** Cell temperature at which set points hold: common practice, no source; some makers say 20 °C. */
export const COMPENSATION_REFERENCE = constant(25, 'temperature', '25 °C');

const { setting, rating, power, inputSetting, inputRating, efficiency, powerFactor, temperatureCompensation } =
  CHARGER_FACTS;
const { volts, supplyVolts, lines, passed, supplyPower, drive, modulePower, moduleCurrent, point, cells } =
  CHARGER_AROUND;

/** Apparent power of a current at the input. */
const apparentOf = (amperes: Leaf): Term => amperes.times(lines).times(supplyVolts);
/** Active power that charging makes of an apparent power. */
const activeOf = (apparent: Term): Term => apparent.times(powerFactor);
/** Output current that an input power makes. */
const fromInput = (watts: Term): Term => watts.times(efficiency).over(volts);

/** Its bounds that are the same at every voltage: a current, and a power. */
export const CURRENT_LIMIT: Least = new Least('current limit', 'I_max', 'A', [
  bound('setting', setting),
  bound('rating', rating),
]);
export const POWER_LIMIT: Least = new Least('power limit', 'P_max', 'W', [
  bound('power', power),
  bound('drive', drive),
]);

/**
 * Current that a charger can give: the least of its bounds, in this order. The only place that knows them. Its input limit is one of all it
 * takes in, with what it passes on; its supply's and its modules' bounds are those of the moment.
 */
export const OUTPUT_CURRENT: Least = new Least('output current', 'I_out', 'A', [
  ...CURRENT_LIMIT.bounds,
  ...POWER_LIMIT.bounds.map(({ kind, when, term }) => bound(kind, when, term.over(volts))),
  bound('inputSetting', inputSetting, fromInput(activeOf(apparentOf(inputSetting).minus(passed)))),
  bound('inputRating', inputRating, fromInput(activeOf(apparentOf(inputRating)))),
  bound('supply', supplyPower, fromInput(supplyPower)),
  bound('modules', modulePower, fromInput(modulePower)),
  bound('modules', moduleCurrent),
]);

/** Alternating power that its own input bounds let a charger take. */
export const INPUT_POWER_LIMIT: Least = new Least('input power', 'P_in', 'W', [
  bound('inputSetting', inputSetting, activeOf(apparentOf(inputSetting).minus(passed))),
  bound('inputRating', inputRating, activeOf(apparentOf(inputRating))),
]);

/** A set point as it is held at the temperature of the cells. */
export const HELD_VOLTAGE: Named = point
  .plus(temperatureCompensation.times(cells.minus(COMPENSATION_REFERENCE)))
  .named('set point at the temperature of the cells', 'U_set', 'V');
