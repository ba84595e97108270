import type { Charger, PropertyName } from '../../equipment/index.js';
import type { ChargeStages } from '../../equipment/charge-stages.js';
import { CURRENT_LIMIT, POWER_LIMIT } from '../../equipment/charging.js';
import { numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { chargingOf, isBank, isOwnCharger, inputBusOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { timeModel } from '../../reference/energy/index.js';
import { allModulesBehind, modulesBehind } from '../supply/joined.js';
import { MONTH_NAMES } from '../supply/months.js';
import { driveByMonth, driveOf, drivePower, windDriveOf } from './drive.js';
import { type Around, chargeEfficiency, chargerNumber, heldVolts, inputPowerFactor, setPointsOf } from './chargers.js';
import type { Facts } from './facts.js';
import type { Buses } from './wiring.js';

/** Ohm taken where a charger measures at the bank, or no lead is known: so little that it changes nothing. */
const NO_DROOP = 1e-5;
/** Share of what its sources give that a converter takes of them, so that they hold their voltage. */
const HELD_UP = 0.99;
/** V that no bus reaches: held by what is not regulated. */
const UNREGULATED = 1e6;

/** Anything that pushes current into a direct-current bus, as plain numbers in coherent SI. */
export interface RegulatorNumbers extends ChargeStages {
  readonly name: string;
  /** Where it takes its power. */
  readonly supply: Charger['supply']['kind'];
  readonly bus: number;
  /** A and W at its direct-current side; infinite where only the other bounds. */
  readonly currentLimit: number;
  readonly powerLimit: number;
  /** W by month, the first January, where what drives it differs from month to month; `powerLimit` is then the least of them, or that of the month that counts. Empty for others. */
  readonly powerByMonth: Float64Array;
  /** W of the load that takes what nobody else does of what drives it; 0 where there is none. */
  readonly diversion: number;
  /** Ohm between where it measures and the bus, more than 0. */
  readonly droop: number;
  /** Output over input. */
  readonly efficiency: number;
  /** s from when it has its supply to when it counts as at full output. */
  readonly delay: number;
  readonly powerFactor: number;
  /** Current source (switching controller or array joined to the bus): takes the array's current instead of its power. */
  readonly takesCurrent: boolean;
  /** Bus it draws from; −1 when it draws from none. */
  readonly fromBus: number;
  /** Ohm out and back of the cable between that bus and it; 0 where it draws from none. */
  readonly inlet: number;
  /** What it does while its link is lost; else it goes by its own settings. */
  readonly stopsWithoutLink: boolean;
  readonly holdsWithoutLink: boolean;
  /** Whether absorption ends by the current of the bank (known over the link) instead of its own. */
  readonly seesBankCurrent: boolean;
}

/** Whether a thing feeds a bank on a bus of its own: a converter that feeds loads alone charges nothing. */
function feedsBank(instance: Instance, terminal: string, buses: Buses): boolean {
  const bus = buses.of(instance, terminal);
  return bus >= 0 && buses.things(bus).some(isBank);
}

/** The modules whose power a charger gives on: itself, where it is an array wired to the bus. */
export function modulesOf(charger: Instance, context: DesignContext): readonly Instance[] {
  return chargingOf(charger)?.isUnregulated ? [charger] : modulesBehind(charger, context);
}

/** The same with all cords plugged in. */
export const modulesJoined = (charger: Instance, context: DesignContext): readonly Instance[] =>
  chargingOf(charger)?.isUnregulated ? [charger] : allModulesBehind(charger, context);

/** A charger as numbers, with the cells of its bank at °C; undefined where it charges nothing. Facts that lack are noted. */
export function regulatorNumbers(
  charger: Instance,
  celsius: number | undefined,
  isLinked: boolean,
  context: DesignContext,
  buses: Buses,
  facts: Facts,
): RegulatorNumbers | undefined {
  const charging = chargingOf(charger);
  if (!charging) return undefined;
  const { supply, at } = charging;
  const bus = buses.of(charger, at);
  if (bus < 0) return undefined;
  if (inputBusOf(charger) !== undefined && !feedsBank(charger, at, buses)) return undefined;
  if (supply.kind === 'array' && modulesBehind(charger, context).length === 0) return undefined;
  const takesCurrent = charging.isUnregulated === true || context.maybe(charger, 'tracking')?.value === 'pwm';
  const ramp = context.maybe(charger, 'ramp');
  if (ramp) facts.assume(`${charger.name} gives nothing for the first half of its ramp, then all it can`);
  const isConverting = supply.kind !== 'own';
  const input = inputBusOf(charger);
  const hasModules = modulesOf(charger, context).length > 0;
  const limits = limitsOf(charger, hasModules, context, buses, facts);
  noteWindBefore(charger, buses, facts);
  return {
    name: charger.name,
    supply: supply.kind,
    bus,
    ...limits,
    powerByMonth: Float64Array.from(isSeasonal(charger, buses) ? MONTH_NAMES : [], (_, at) =>
      // What the wind brings follows the hours of a play, within these limits.
      windDriveOf(charger)
        ? limits.powerLimit
        : limitsOf(charger, hasModules, context, buses, facts, at + 1).powerLimit,
    ),
    diversion: diversionOf(charger, context),
    ...stagesOf(charger, celsius, context, facts),
    droop: Math.max(NO_DROOP, context.maybe(charger, 'remoteSense')?.value === true ? 0 : buses.leads(charger, at)),
    efficiency: isConverting ? facts.number(chargeEfficiency(charger, context), '') : 1,
    delay: ramp ? numberIn(ramp, 's') / 2 : 0,
    powerFactor: supply.kind === 'alternating' ? facts.number(inputPowerFactor(charger, context), '') : 1,
    takesCurrent,
    fromBus: input === undefined ? -1 : buses.of(charger, input),
    inlet: input === undefined ? 0 : buses.leads(charger, input),
    stopsWithoutLink: context.maybe(charger, 'lostLink')?.value === 'stop',
    holdsWithoutLink: context.maybe(charger, 'lostLink')?.value === 'hold',
    seesBankCurrent: isLinked,
  };
}

/**
 * W that the sources of a bus without a bank can give a converter on it: a socket or alternator that is asked for more sags, and the
 * converter gives less. Undefined where a bank holds the bus, or the sources are not bounded.
 */
export function busSupply(
  converter: Instance,
  context: DesignContext,
  buses: Buses,
  month?: number,
): number | undefined {
  const input = inputBusOf(converter);
  if (input === undefined) return undefined;
  const bus = buses.of(converter, input);
  if (bus < 0) return undefined;
  const things = buses.things(bus);
  if (things.some(isBank)) return undefined;
  const sources = things.filter(isOwnCharger);
  let most = 0;
  const watts = sources.map((each) => {
    const volts = setPointsOf(each, context)[0]?.point;
    if (!volts) return Infinity;
    const amperes = chargerNumber(CURRENT_LIMIT, each, context, {}).value;
    const own = chargerNumber(POWER_LIMIT, each, context, drivenIn(each, month, context)).value;
    const held = numberIn(volts, 'V') - amperes * buses.leads(each, chargingOf(each)!.at);
    const given = Math.min(own, amperes * Math.max(0, held));
    most += given === Infinity ? 0 : given / Math.max(held, numberIn(volts, 'V') / 2);
    return given;
  });
  const sum = watts.reduce((so, each) => so + each, 0);
  if (sources.length === 0 || sum === Infinity) return undefined;
  // The rest is lost in the cable before the converter.
  return Math.max(0, sum - buses.leads(converter, input) * most * most) * HELD_UP;
}

/** What drives a source in a month, for the formulas of its output; where no month is meant the most of the wind, and nothing of all else. */
function drivenIn(source: Instance, month: number | undefined, context: DesignContext): Around {
  const atAnyTime = windDriveOf(source) ? drivePower(source, 'most', context) : undefined;
  const found = month === undefined ? atAnyTime : driveByMonth(source, 'middle', context)?.[month - 1];
  return found?.kind === 'known' ? { drive: found.derivation } : {};
}

/** Whether what a charger can give differs from month to month: it is driven, or takes its power from what is. */
function isSeasonal(charger: Instance, buses: Buses): boolean {
  if (driveOf(charger)) return true;
  const input = inputBusOf(charger);
  const bus = input === undefined ? -1 : buses.of(charger, input);
  return bus >= 0 && buses.things(bus).some(driveOf);
}

/** A converter that takes its power from a turbine, with no bank between, is played with the mean of the month. */
function noteWindBefore(charger: Instance, buses: Buses, facts: Facts): void {
  const input = inputBusOf(charger);
  const bus = input === undefined ? -1 : buses.of(charger, input);
  const turbine = bus >= 0 && !buses.things(bus).some(isBank) ? buses.things(bus).find(windDriveOf) : undefined;
  if (turbine)
    facts.assume(
      `${charger.name} is simulated with the mean of what ${turbine.name} gives in a month: no bank lies between`,
    );
}

/** W of the load that takes what is left of what drives a source. */
function diversionOf(source: Instance, context: DesignContext): number {
  const held = driveOf(source)?.held;
  const power = held && context.maybe(source, held.power);
  if (!held || !power) return 0;
  const by = context.maybe(source, held.by)?.value;
  return by === undefined || by === held.diverting ? numberIn(power, 'W') : 0;
}

/** A and W at its direct-current side that its own facts let it give. What its supply bounds comes with the supply. */
function limitsOf(
  charger: Instance,
  hasModules: boolean,
  context: DesignContext,
  buses: Buses,
  facts: Facts,
  month?: number,
): Pick<RegulatorNumbers, 'currentLimit' | 'powerLimit'> {
  const currentLimit = chargerNumber(CURRENT_LIMIT, charger, context, {}).value;
  const { value: powerLimit, lacking } = chargerNumber(
    POWER_LIMIT,
    charger,
    context,
    drivenIn(charger, month, context),
  );
  for (const fact of lacking) facts.lack(fact);
  // What lacks is told as it is where somebody asks for its output. Modules bound it by themselves.
  if (currentLimit === Infinity && powerLimit === Infinity && !hasModules)
    facts.number(context.quantity(charger, 'outputCurrent'), 'A');
  const supply = busSupply(charger, context, buses, month);
  if (supply === undefined) return { currentLimit, powerLimit };
  const efficiency = facts.number(chargeEfficiency(charger, context), '');
  return { currentLimit, powerLimit: Math.min(powerLimit, supply * efficiency) };
}

/** The stages of a regulator with the cells of its bank at °C; as they are set where there is no bank. */
function stagesOf(charger: Instance, celsius: number | undefined, context: DesignContext, facts: Facts): ChargeStages {
  if (chargingOf(charger)?.isUnregulated) return held(UNREGULATED);
  const points = new Map(
    setPointsOf(charger, context).map(({ name, point }) => {
      const volts = facts.of(point, 'V');
      return [name, celsius === undefined ? volts : heldVolts(charger, volts, celsius, context)];
    }),
  );
  const [first] = points.values();
  if (first === undefined) {
    facts.lack(`${chargingOf(charger)?.setPoints[0] ?? 'absorb'} of ${charger.name}`);
    return held(NaN);
  }
  const float = points.get('float');
  const absorb = points.get('absorb') ?? float ?? first;
  // What has one set point alone holds it.
  if (!chargingOf(charger)!.setPoints.includes('float')) return held(absorb);
  if (float === undefined) facts.assume(`${charger.name} holds its absorption voltage: no float is stated`);
  const last = Math.min(absorb, float ?? absorb);
  const number = (name: PropertyName, unit: string): number | undefined => {
    const stated = context.maybe(charger, name);
    return stated && facts.of(stated, unit);
  };
  const tailCurrent = number('tailCurrent', 'A') ?? NaN;
  if (last < absorb && Number.isNaN(tailCurrent))
    facts.assume(`${charger.name} ends absorption at the usual tail current of its banks: no tailCurrent is stated`);
  return {
    absorb,
    float: last,
    absorbTime: number('absorbTime', 's') ?? Infinity,
    tailCurrent,
    tailTime: number('tailTime', 's') ?? timeModel('tail-hold').value,
    rebulk: number('rebulk', 'V') ?? (float ?? absorb) * timeModel('absorb-again-share').value,
    rebulkTime: timeModel('absorb-again-hold').value,
    ...equalisingOf(charger, points.get('equalise'), number, facts),
  };
}

/** How a charger equalises by itself. The volts are those held at the temperature of its bank. */
function equalisingOf(
  charger: Instance,
  volts: number | undefined,
  number: (name: PropertyName, unit: string) => number | undefined,
  facts: Facts,
): Pick<ChargeStages, 'equalise' | 'equaliseTime' | 'equaliseInterval'> {
  const interval = number('equaliseInterval', 's');
  if (interval === undefined) return NO_EQUALISING;
  const time = number('equaliseTime', 's') ?? facts.lack(`equaliseTime of ${charger.name}`);
  facts.assume(`the time to the next equalising of ${charger.name} counts from the start`);
  return {
    equalise: volts ?? facts.lack(`equalise of ${charger.name}`),
    equaliseTime: time,
    equaliseInterval: interval,
  };
}

const NO_EQUALISING = { equalise: NaN, equaliseTime: 0, equaliseInterval: Infinity } as const;

/** The stages of what holds one voltage: no current ends it. */
const held = (volts: number): ChargeStages => ({
  absorb: volts,
  float: volts,
  absorbTime: Infinity,
  tailCurrent: -Infinity,
  tailTime: 0,
  rebulk: 0,
  rebulkTime: 0,
  ...NO_EQUALISING,
});
