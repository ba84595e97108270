/**
 * A charge in a steady state of the sources, followed along the state of charge: the same banks, chargers and bus that a play has, with the
 * loads at their mean. All banks of the bus stand at the same state of charge.
 */
import { hasFloat, isAtTail } from '../../equipment/charge-stages.js';
import { INPUT_POWER_LIMIT } from '../../equipment/charging.js';
import { chargeShare, restVolts } from '../../equipment/bank-curve.js';
import { chargeSent } from '../../equipment/sent-limits.js';
import { numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { Bus } from '../../solve/bus.js';
import { groupOf, isLinked } from './bank-group.js';
import { chargingAround } from '../supply/charging-around.js';
import { isUncertain, workingChargers } from '../supply/joined.js';
import { type BankNumbers, bankNumbers } from '../plant/banks.js';
import { cellCorners } from '../plant/cell-limits.js';
import { chargerNumber } from '../plant/chargers.js';
import { Facts } from '../plant/facts.js';
import { setResistances } from '../plant/polarisation.js';
import { MODULES_KEEP } from '../plant/modules.js';
import { type RegulatorNumbers, modulesOf, regulatorNumbers } from '../plant/regulators.js';
import { busesOf } from '../plant/wiring.js';

/** Steps of equal state of charge into which a charge is parted. Halving them changes the time by less than a thousandth. */
const STEPS = 240;
/** Below this share of the capacity an hour a charge counts as at an end. */
const STANDSTILL = 1e-5;

/** Facts that lack to follow a charge. */
export interface NotFollowed {
  readonly missing: readonly string[];
}

export interface March {
  /** s; infinite where the charge never comes so far. */
  readonly time: number;
  /** s in which nothing but current and power bounds hold it, and in which its voltage or the banks themselves do. */
  readonly steady: number;
  readonly tapering: number;
  /** A into the banks at the start. */
  readonly first: number;
  /** C put in. */
  readonly charge: number;
  /** State of charge that it reaches. */
  readonly reached: number;
}

interface Setting {
  readonly banks: readonly BankNumbers[];
  readonly regulators: readonly RegulatorNumbers[];
  readonly bus: Bus;
  /** W drawn by the loads. */
  readonly drawn: number;
}

/** W or A that a charger is held to in a state, besides what it states itself. */
function heldTo(
  charger: Instance,
  numbers: RegulatorNumbers,
  circuit: CircuitState,
  context: DesignContext,
  facts: Facts,
): { readonly watts: number; readonly amperes: number } {
  const around = chargingAround(charger, circuit, context);
  if (!around.ok) {
    facts.number(around.result, 'W');
    return { watts: NaN, amperes: NaN };
  }
  const { supplyVolts, supplyPower } = around.around;
  let watts = numbers.powerLimit;
  if (supplyVolts) {
    const { value, lacking } = chargerNumber(INPUT_POWER_LIMIT, charger, context, around.around);
    for (const fact of lacking) facts.lack(fact);
    watts = Math.min(watts, value * numbers.efficiency);
  }
  if (supplyPower) watts = Math.min(watts, numberIn(supplyPower, 'W') * numbers.efficiency);
  let amperes = numbers.currentLimit;
  const modules = modulesOf(charger, context);
  for (const [at, each] of modules.entries()) {
    const power = facts.number(context.quantity(each, 'arrayPower'), 'W') * MODULES_KEEP * numbers.efficiency;
    watts = Math.min(watts, power + (at > 0 ? watts : 0));
    if (!numbers.takesCurrent) continue;
    const own =
      MODULES_KEEP *
      facts.number(context.fact(each, 'shortCircuitCurrent'), 'A') *
      facts.number(context.fact(each, 'parallel'), '');
    amperes = Math.min(numbers.currentLimit, own + (at > 0 ? amperes : 0));
  }
  return { watts, amperes };
}

/** Banks, chargers and bus of a charge in one state, with the cells of each bank at °C. */
function settingOf(
  bank: Instance,
  drawn: number,
  celsiusOf: (bank: Instance) => number,
  state: SourceState,
  circuit: CircuitState,
  context: DesignContext,
  facts: Facts,
): Setting | undefined {
  const buses = busesOf(context, facts);
  const group = groupOf(bank, context);
  const banks = group.flatMap((each) => bankNumbers(each, celsiusOf(each), context, buses, facts) ?? []);
  // Chargers follow the cells of the bank that the design names first, as in a play.
  const celsius = celsiusOf(context.system.instances.find((each) => group.includes(each))!);
  const working = workingChargers(bank, state, circuit, context).flatMap((charger) => {
    if (isUncertain(charger)) return [];
    const numbers = regulatorNumbers(charger, celsius, isLinked(charger, bank, context), context, buses, facts);
    return numbers ? [{ charger, numbers, held: heldTo(charger, numbers, circuit, context, facts) }] : [];
  });
  if (facts.missing.size > 0 || facts.refused.size > 0 || banks.length < group.length) return undefined;
  const bus = new Bus(
    banks.map((_, at) => at),
    working.map((_, at) => at),
  );
  bus.least.fill(0);
  const volts = restVolts(banks[0]!.curve, 0.5);
  working.forEach(({ charger, numbers, held }, at) => {
    bus.isOn[at] = 1;
    bus.isLinked[at] = isLinked(charger, bank, context) ? 1 : 0;
    bus.limit[at] = held.amperes;
    // What its leads lose, at nominal voltage, as in a play.
    const amperes = held.watts / volts;
    bus.power[at] = held.watts === Infinity ? Infinity : Math.max(0, held.watts - numbers.droop * amperes * amperes);
    bus.set[at] = numbers.absorb;
    bus.droop[at] = numbers.droop;
  });
  bus.drawn = drawn;
  return { banks, regulators: working.map(({ numbers }) => numbers), bus, drawn };
}

/** Sets banks and chargers as they are at a state of charge; answers C/s stored and A into the banks. */
function settle({ banks, regulators, bus }: Setting, soc: number): { rate: number; amperes: number; isHeld: boolean } {
  banks.forEach((each, at) => {
    bus.rest[at] = restVolts(each.curve, soc);
    setResistances(bus, at, each, soc);
    bus.asked[at] = chargeSent(each, soc);
    bus.most[at] = each.acceptance === Infinity ? Infinity : (1 - soc) * each.capacity * each.acceptance;
  });
  bus.solve();
  const tail = banks.reduce((sum, each) => sum + each.tail, 0);
  let isFloating = false;
  regulators.forEach((each, at) => {
    if (!bus.holds[at] || !hasFloat(each)) return;
    const amperes = each.seesBankCurrent ? bus.current.reduce((sum, one) => sum + one, 0) : bus.given[at]!;
    if (!isAtTail(each, amperes, tail)) return;
    // Absorption has ended: from here on it floats.
    bus.set[at] = each.float;
    isFloating = true;
  });
  if (isFloating) bus.solve();
  let [rate, amperes] = [0, 0];
  banks.forEach((each, at) => {
    const into = bus.current[at]!;
    amperes += into;
    rate += (into > 0 ? into * chargeShare(each, soc) : into) - each.selfDischarge * soc * each.capacity;
  });
  const isHeld = bus.holds.some((one) => one === 1) || banks.some((_, at) => bus.isAtMost(at));
  return { rate, amperes, isHeld };
}

function march(setting: Setting, from: number, to: number): March {
  const capacity = setting.banks.reduce((sum, each) => sum + each.capacity, 0);
  const step = (to - from) / STEPS;
  let [steady, tapering, charge, reached, first] = [0, 0, 0, from, 0];
  for (let at = 0; at < STEPS; at += 1) {
    const { rate, amperes, isHeld } = settle(setting, from + (at + 0.5) * step);
    if (at === 0) first = amperes;
    if (!(rate > (STANDSTILL * capacity) / 3600)) return { time: Infinity, steady, tapering, charge, reached, first };
    const seconds = (capacity * step) / rate;
    if (isHeld) tapering += seconds;
    else steady += seconds;
    charge += amperes * seconds;
    reached = from + (at + 1) * step;
  }
  return { time: steady + tapering, steady, tapering, charge, reached, first };
}

/** A into the banks of a bus at half charge, with the loads drawing W: least over the temperatures of their cells, at all of which they take charge; or what lacks for it. */
export function chargeNow(
  bank: Instance,
  drawn: number,
  state: SourceState,
  circuit: CircuitState,
  context: DesignContext,
): { readonly amperes: number } | { readonly missing: readonly string[] } {
  const lacking = new Set<string>();
  let least: number | undefined;
  for (const celsiusOf of cellCorners(groupOf(bank, context), context)) {
    const facts = new Facts('high');
    const setting = settingOf(bank, drawn, celsiusOf, state, circuit, context, facts);
    for (const fact of facts.missing) lacking.add(fact);
    if (!setting) continue;
    setting.bus.least.fill(-Infinity);
    const { amperes } = settle(setting, 0.5);
    if (least === undefined || amperes < least) least = amperes;
  }
  return least === undefined ? { missing: [...lacking] } : { amperes: least };
}

/** The slowest charge of the banks of a bus over the temperatures of their cells, at all of which they take charge, with the loads drawing W; or what lacks for it. */
export function chargeMarch(
  bank: Instance,
  from: number,
  to: number,
  drawn: number,
  state: SourceState,
  circuit: CircuitState,
  context: DesignContext,
): (March & { readonly celsius: number }) | NotFollowed {
  const lacking = new Set<string>();
  let slowest: (March & { readonly celsius: number }) | undefined;
  for (const celsiusOf of cellCorners(groupOf(bank, context), context)) {
    const facts = new Facts('high');
    const setting = settingOf(bank, drawn, celsiusOf, state, circuit, context, facts);
    for (const fact of facts.missing) lacking.add(fact);
    if (!setting) continue;
    const found = march(setting, from, to);
    if (!slowest || found.time > slowest.time) slowest = { ...found, celsius: celsiusOf(bank) };
  }
  return slowest ?? { missing: [...lacking] };
}
