/** What chargers give and take: readings of the formulas of `equipment/charging.ts` in the states of a design. */
import { mayChargeFromAlternating, mayChargeWithin } from '../../equipment/index.js';
import { callFunction } from '../../calculate/index.js';
import {
  type Derivation,
  type Result,
  derive,
  deriveFact,
  deriveQuantity,
  known,
  missing,
  numberIn,
  becauseOf,
  boundOf,
} from '../../derivation/index.js';
import type { CircuitState } from '../../model/network.js';
import { chargingOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { quantity, range } from '../../quantity/index.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { banksAt } from './joined.js';
import {
  type Around,
  chargeEfficiency,
  chargerOutput,
  heldVoltage,
  inputPowerFactor,
  setPointsOf,
} from '../plant/chargers.js';
import { supplyAround } from '../plant/feeders.js';
import { inputSettingOn } from '../plant/input-setting.js';
import { type Leg, connect, lowestSupply, missingFrom, systemOf } from './supply.js';
import { collect, whenKnown, worstOfStates } from '../worst.js';
import { calculation } from '../calculation.js';

/** The feeders that can stand at the input of a charger, each once; its own output led back to it is none. */
export function feedersOf(charger: Instance, context: QuantityContext): Instance[] {
  const supply = chargingOf(charger)?.supply;
  if (supply?.kind !== 'alternating') return [];
  const key = `${charger.name}.${supply.at}`;
  return [...new Set(context.circuitStates.flatMap(({ circuit }) => [...(circuit.supply.get(key) ?? [])]))].filter(
    (feeder) => feeder !== charger,
  );
}

/** The feeder of a charger in a state; sources go before inverters. */
export function feederIn(charger: Instance, circuit: CircuitState): Instance | undefined {
  const supply = chargingOf(charger)?.supply;
  if (supply?.kind !== 'alternating') return undefined;
  const feeders = [...(circuit.supply.get(`${charger.name}.${supply.at}`) ?? [])].filter((each) => each !== charger);
  return feeders.find((each) => circuit.state.acSources.includes(each)) ?? feeders[0];
}

/** A supply voltage with the tolerance of its source, at either end. */
function withTolerance(voltage: Derivation, feeder: Instance, context: QuantityContext): Derivation {
  const tolerance = context.maybe(feeder, 'tolerance');
  if (!tolerance) return voltage;
  const [nominal, share] = [numberIn(voltage, 'V'), numberIn(tolerance, '')];
  const ends = range(quantity(nominal * (1 - share), 'V'), quantity(nominal * (1 + share), 'V'));
  return deriveQuantity('supply voltage', ends, {
    symbol: 'U_in',
    formula: 'U·(1 ± tolerance)',
    inputs: [voltage, tolerance],
  });
}

/** Voltages at the direct-current terminals of a charger, from an empty bank to the end of a charge; undefined where neither is known. */
function outputVolts(charger: Instance, context: QuantityContext): Derivation | undefined {
  const most = chargeVoltage(charger, context);
  if (most.kind !== 'known') return undefined;
  const [bank] = banksAt(charger, context);
  const lowest = bank ? context.quantity(bank, 'lowestVoltage') : undefined;
  if (lowest?.kind !== 'known') return most.derivation;
  const [low, high] = [numberIn(lowest.derivation, 'V'), numberIn(most.derivation, 'V')];
  return deriveQuantity('voltage at its terminals', range(quantity(Math.min(low, high), 'V'), quantity(high, 'V')), {
    symbol: 'U',
    inputs: [lowest.derivation, most.derivation],
  });
}

/** The most a charger gives on a feeder, over the voltages given, with its supply at nominal voltage or at the top of its tolerance. */
function mostOutput(
  charger: Instance,
  feeder: Instance | undefined,
  context: QuantityContext,
  volts: Derivation | undefined,
  supply: 'nominal' | 'highest',
): Result {
  const connection = feeder && supplyAround(charger, feeder, context);
  const around: Around = {
    ...(volts ? { volts } : {}),
    ...(feeder && connection && !('missing' in connection)
      ? {
          lines: connection.lines,
          ...(connection.inputSetting ? { inputSetting: connection.inputSetting } : {}),
          supplyVolts:
            supply === 'nominal' ? connection.supplyVolts : withTolerance(connection.supplyVolts, feeder, context),
        }
      : {}),
  };
  return chargerOutput(charger, context, around, 'most');
}

/** The largest of what a charger gives on each of its feeders; without any what it gives by its output alone. */
function mostOfFeeders(
  charger: Instance,
  context: QuantityContext,
  volts: Derivation | undefined,
  supply: 'nominal' | 'highest',
): Result {
  const feeders = feedersOf(charger, context);
  const all = collect(
    feeders.length === 0
      ? [mostOutput(charger, undefined, context, volts, supply)]
      : feeders.map((feeder) => mostOutput(charger, feeder, context, volts, supply)),
  );
  if (!all.ok) return all.result;
  return known(all.derivations.reduce((so, next) => (numberIn(next, 'A') > numberIn(so, 'A') ? next : so)));
}

/** Output current of a charging device as set: the least of its limits where they let it give most. */
const outputCurrent = defineQuantity({
  name: 'outputCurrent',
  of: [mayChargeWithin],
  doc: 'Most current it gives at its DC side: the least of its limits of output and input, as set and by data sheet, at the lowest voltage of its bank and the highest of its supply.',
  unit: 'A',
  bound: 'most',
  isListedFor: (thing) => chargingOf(thing as Instance) !== undefined,
  compute: (thing, context) => {
    const charger = instance(thing);
    const property = chargingOf(charger)?.bounds.setting;
    if (!property && !chargingOf(charger)) return missing(`currentLimit of ${thing.name}`);
    return whenKnown(mostOfFeeders(charger, context, outputVolts(charger, context), 'highest'), (current) => {
      const isAsRated = boundOf(current) === 'rating' && !(property && context.maybe(charger, property));
      return known({
        ...current,
        name: `output current of ${thing.name}`,
        symbol: `I_${thing.name}`,
        subject: thing.name,
        notes: [...current.notes, ...(isAsRated ? ['no limit is set; the most it can give'] : [])],
      });
    });
  },
});

/** Highest voltage a charger works at: its highest set point with the cells at their coldest, else the highest voltage of its bank. */
export function chargeVoltage(thing: Instance, context: QuantityContext): Result {
  const [bank] = banksAt(thing, context);
  const points = setPointsOf(thing, context);
  if (points.length > 0) {
    const cells = bank && context.maybe(bank, 'cellTemperature');
    const held = points.map(({ point }) => heldVoltage(thing, point, cells, context, 'most'));
    const top = held.reduce((so, next) => (numberIn(next, 'V') > numberIn(so, 'V') ? next : so));
    return known({ ...top, symbol: 'U_max' });
  }
  return bank
    ? context.quantity(bank, 'highestVoltage')
    : missing(`${chargingOf(thing)?.setPoints[0] ?? 'absorb'} of ${thing.name}`);
}

/** Charging power at the highest charge voltage, on a feeder. */
function outputPowerOn(charger: Instance, feeder: Instance | undefined | 'any', context: QuantityContext): Result {
  return whenKnown(chargeVoltage(charger, context), (voltage) =>
    whenKnown(
      feeder === 'any'
        ? mostOfFeeders(charger, context, voltage, 'nominal')
        : mostOutput(charger, feeder, context, voltage, 'nominal'),
      (current) =>
        known(
          derive('charging power', numberIn(current, 'A') * numberIn(voltage, 'V'), 'W', {
            symbol: 'P_dc',
            formula: 'I·U_max',
            inputs: [{ ...current, symbol: 'I' }, voltage],
            ...becauseOf(current),
          }),
        ),
    ),
  );
}

const outputPower = defineQuantity({
  name: 'outputPower',
  of: [mayChargeFromAlternating],
  doc: 'Charging power at the highest charge voltage, within all its limits.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => outputPowerOn(instance(thing), 'any', context),
});

/** Active power a charger draws from a feeder at its limits and the highest charge voltage. */
export function inputPowerOn(charger: Instance, feeder: Instance | 'any', context: QuantityContext): Result {
  const all = collect([outputPowerOn(charger, feeder, context), chargeEfficiency(charger, context)]);
  if (!all.ok) return all.result;
  const [output, efficiency] = all.derivations as [Derivation, Derivation];
  return whenKnown(callFunction(calculation('inputPower'), { output, efficiency }), (power) =>
    known({
      ...power,
      ...becauseOf(output),
    }),
  );
}

const inputPower = defineQuantity({
  name: 'inputPower',
  of: [mayChargeFromAlternating],
  doc: 'Active power a charger draws at its limits and the highest charge voltage.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => inputPowerOn(instance(thing), 'any', context),
});

/** Apparent power of an input power. */
export function apparentInput(charger: Instance, input: Result, context: QuantityContext): Result {
  const all = collect([input, inputPowerFactor(charger, context)]);
  if (!all.ok) return all.result;
  const [power, factor] = all.derivations as [Derivation, Derivation];
  return known(
    derive('apparent input power', numberIn(power, 'W') / numberIn(factor, ''), 'VA', {
      symbol: 'S',
      formula: 'P/pf',
      inputs: [power, factor],
      ...becauseOf(power),
    }),
  );
}

const inputApparentPower = defineQuantity({
  name: 'inputApparentPower',
  of: [mayChargeFromAlternating],
  doc: 'Apparent power a charger draws, power factor and efficiency counted.',
  unit: 'VA',
  bound: 'most',
  compute: (thing, context) => apparentInput(instance(thing), context.quantity(thing, 'inputPower'), context),
});

/** Input current of a charger on a supply: at the lowest supply voltage, or at nominal voltage as sources are rated. */
export function chargerInputOn(
  thing: Instance,
  source: Instance,
  context: QuantityContext,
  at: 'lowest' | 'nominal' = 'lowest',
): { result: Result; legs: readonly Leg[] } {
  const system = systemOf(source);
  if (!system) return { result: missing(`voltage of ${source.name}`), legs: [] };
  const connection = connect(thing, system, context);
  if (missingFrom(connection)) return { result: missing(connection.missing), legs: [] };
  const all = collect([
    outputPowerOn(thing, source, context),
    chargeEfficiency(thing, context),
    inputPowerFactor(thing, context),
  ]);
  if (!all.ok) return { result: all.result, legs: connection.legs };
  const [output, efficiency, powerFactor] = all.derivations as [Derivation, Derivation, Derivation];
  const voltage = at === 'nominal' ? connection.voltage : lowestSupply(connection, source, thing, context);
  const result = callFunction(calculation('inputCurrent'), {
    output,
    voltage,
    efficiency,
    powerFactor,
    system: deriveFact('system', connection.factor === 1 ? 'single' : 'three', { origin: 'stated' }),
  });
  // Its input never takes more than its own bounds, however low the supply falls.
  const { inputRating } = chargingOf(thing)!.bounds;
  const bounds = (
    [
      ['inputSetting', inputSettingOn(thing, source, context)],
      ['inputRating', inputRating && context.maybe(thing, inputRating)],
    ] as const
  ).flatMap(([kind, bound]) => (bound ? [{ bound, kind }] : []));
  const limited = whenKnown(result, (current) => {
    const lowest = bounds.reduce<(typeof bounds)[number] | undefined>(
      (so, next) => (numberIn(next.bound, 'A') < numberIn(so?.bound ?? current, 'A') * (so ? 1 : 1 + 1e-9) ? next : so),
      undefined,
    );
    return known(
      lowest
        ? {
            ...lowest.bound,
            name: 'input current',
            symbol: 'I_in',
            inputs: [current],
            governing: [{ kind: 'bound', bound: lowest.kind, subject: thing.name } as const],
          }
        : { ...current, notes: [...current.notes, `on ${connection.legs.join(' and ')}`] },
    );
  });
  return { result: limited, legs: connection.legs };
}

/** The sources that can stand at a charger's input, each with the state in which it does. */
function suppliesOf(thing: Instance, context: QuantityContext) {
  const supply = chargingOf(thing)?.supply;
  if (supply?.kind !== 'alternating') return [];
  return context.circuitStates.flatMap(({ state, circuit }) =>
    [...(circuit.supply.get(`${thing.name}.${supply.at}`) ?? [])].map((source) => ({ state, source })),
  );
}

const inputCurrent = defineQuantity({
  name: 'inputCurrent',
  of: [mayChargeFromAlternating],
  doc: 'Input current of a charger at the highest charge voltage and the lowest supply voltage, in the worst source state.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const supplies = suppliesOf(instance(thing), context);
    if (supplies.length === 0) return missing(`a supply of ${thing.name}`);
    return worstOfStates(
      'input current',
      'I_in',
      'A',
      supplies.map(({ state, source }) => ({ state, result: chargerInputOn(instance(thing), source, context).result })),
    );
  },
});

export const chargerQuantities = [outputCurrent, outputPower, inputPower, inputApparentPower, inputCurrent];
