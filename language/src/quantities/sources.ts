import { type GivenArgument, callFunction } from '../calculate/index.js';
import { type BurnPoint, burnAt } from '../calculate/sources/fuel.js';
import {
  type Derivation,
  type Result,
  derive,
  fromTable,
  known,
  missing,
  numberIn,
  refused,
} from '../derivation/index.js';
import type { Node } from '../model/graph.js';
import type { SourceState } from '../model/network.js';
import type { Instance } from '../model/types.js';
import { DIMENSIONS, inUnit } from '../quantity/index.js';
import {
  type Fuel,
  type GeneratorPractice,
  FUELS,
  fuelFactor,
  generatorPractice,
} from '../reference/energy/sources.js';
import { calculation } from './bank.js';
import { inputPowerFactor, leftByLoads, loadsBehind } from './converters.js';
import { type InState, type QuantityContext, defineQuantity } from './define.js';
import { highEnd } from './ends.js';
import { continuousLegCurrent, legCurrents } from './flow.js';
import { meanShare, runningTogether } from './steady-load.js';
import { connect, fedBy, missingFrom, systemOf } from './supply.js';
import { collect, sumOf, whenKnown, worstOfStates } from './worst.js';

const instance = (thing: unknown): Instance => thing as Instance;

/** Share of rated power up to which the waveform stays clean: as stated, else by kind of set. */
export function cleanShare(thing: Instance, context: QuantityContext): Result {
  const stated = context.maybe(thing, 'cleanShare');
  if (stated) return known(stated);
  const waveform = context.maybe(thing, 'waveform')?.value;
  if (waveform === 'inverter')
    return known(
      derive('clean share', 1, '', {
        origin: 'default',
        notes: ['an output stage forms the wave: the whole rating (common practice, no source)'],
      }),
    );
  if (waveform !== 'conventional') return missing(`waveform or cleanShare of ${thing.name}`);
  const practice = generatorPractice('clean-share');
  return known(
    fromTable('clean share', practice.value, '', practice.source, {
      notes: ['conventional alternator under rectifier load'],
    }),
  );
}

/** Whether a consumer needs a clean wave: it says so, or names the distortion it accepts. Undefined when nothing is stated of a charger. */
export function needsCleanWave(consumer: Instance, context: QuantityContext): boolean | undefined {
  if (context.maybe(consumer, 'thdLimit')) return true;
  if (consumer.kind !== 'charger' && consumer.kind !== 'inverter') return false;
  const accepts = context.maybe(consumer, 'accepts')?.value;
  return accepts === undefined ? undefined : accepts === 'sine';
}

/** What the set gives on its fuel of a rating for another fuel; undefined when the rating is for the fuel it runs on. */
function fuelShare(thing: Instance, context: QuantityContext): Derivation | undefined {
  const isFuel = (word: unknown): word is Fuel =>
    typeof word === 'string' && (FUELS as readonly string[]).includes(word);
  const used = context.maybe(thing, 'fuel')?.value;
  const rated = context.maybe(thing, 'ratedFuel')?.value;
  if (!isFuel(used) || !isFuel(rated) || used === rated) return undefined;
  const { factor, source } = fuelFactor(used);
  return fromTable('fuel factor', Math.min(1, factor / fuelFactor(rated).factor), '', source, {
    symbol: 'k_f',
    notes: [`rated on ${rated}, runs on ${used}`],
  });
}

/** Site conditions and the set's own losses as arguments of the derating functions. */
function siteArguments(thing: Instance, context: QuantityContext): Record<string, GivenArgument | undefined> {
  const altitude = context.siteFact('altitude');
  const ambient = context.siteFact('ambient');
  return {
    altitude: altitude && highEnd(altitude),
    ambient: ambient && highEnd(ambient),
    per: context.maybe(thing, 'altitudeDerate'),
    temperatureLoss: context.maybe(thing, 'temperatureDerate'),
    fuelFactor: fuelShare(thing, context),
  };
}

/** Rated active power: as stated, else apparent power times the power factor where both are stated. */
export function ratedPower(thing: Instance, context: QuantityContext): Result {
  const stated = context.fact(thing, 'rated');
  const apparent = context.maybe(thing, 'apparent');
  const factor = context.maybe(thing, 'powerFactor');
  if (stated.kind === 'known' || !apparent || !factor) return stated;
  return known(
    derive('rated power', numberIn(apparent, 'VA') * numberIn(factor, ''), 'W', {
      symbol: 'P_r',
      formula: 'S_r·pf',
      inputs: [apparent, factor],
    }),
  );
}

export const usablePower = defineQuantity({
  name: 'usablePower',
  kinds: ['generator'],
  doc: 'Continuous power at the site, after altitude and temperature.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) =>
    whenKnown(ratedPower(instance(thing), context), (rated) =>
      callFunction(calculation('usablePower'), { rated, ...siteArguments(instance(thing), context) }),
    ),
});

export const cleanPower = defineQuantity({
  name: 'cleanPower',
  kinds: ['generator'],
  doc: 'Power up to which the waveform stays clean under rectifier load, at the site.',
  unit: 'W',
  compute: (thing, context) => {
    const all = collect([ratedPower(instance(thing), context), cleanShare(instance(thing), context)]);
    return all.ok
      ? callFunction(calculation('usablePower'), {
          rated: all.derivations[0],
          waveformShare: all.derivations[1],
          ...siteArguments(instance(thing), context),
        })
      : all.result;
  },
});

/** Consumers a source feeds in each state in which it runs, through transfer gear and pass-through inverters. */
function consumersIn(thing: Instance, context: QuantityContext) {
  return context.circuitStates
    .filter(({ state }) => state.acSources.includes(thing))
    .map(({ state, circuit }) => {
      const consumers = fedBy(thing, circuit, context).filter(
        ({ instance: each, terminal }) =>
          each.kind === 'load' ||
          (each.kind === 'charger' && terminal.name === 'ac') ||
          (each.kind === 'inverter' && terminal.name === 'input' && each.properties.has('currentLimit')),
      );
      return { state, nodes: consumers, consumers: [...new Set(consumers.map(({ instance: each }) => each))] };
    });
}

/** Which chargers a source feeds in any state. */
export const chargersFedBy = (thing: Instance, context: QuantityContext): Instance[] => [
  ...new Set(consumersIn(thing, context).flatMap(({ consumers }) => consumers.filter((each) => each.kind !== 'load'))),
];

/** What a charger takes from a source: its demand at its output limit, but no more than its input limit leaves beside the loads it passes. */
function chargerDemand(
  charger: Instance,
  source: Instance,
  unit: 'W' | 'VA',
  passed: readonly Derivation[],
  context: QuantityContext,
): Result {
  const unlimited = context.quantity(charger, unit === 'W' ? 'inputPower' : 'inputApparentPower');
  const limit = context.maybe(charger, 'inputLimit');
  const system = systemOf(source);
  if (!limit || !system) return unlimited;
  const connection = connect(charger, system, context);
  const factor = unit === 'W' ? inputPowerFactor(charger, context) : undefined;
  if (missingFrom(connection) || (factor && factor.kind !== 'known')) return unlimited;
  const share = factor ? numberIn(factor.derivation, '') : 1;
  // A leg limit counts on each leg; the supply is taken at nominal voltage, as sources are rated.
  const bound = derive(
    unit === 'W' ? 'input power' : 'apparent input power',
    numberIn(limit, 'A') * numberIn(connection.voltage, 'V') * connection.factor * share,
    unit,
    {
      symbol: unit === 'W' ? 'P' : 'S',
      formula: `I_limit·U${connection.factor === 1 ? '' : '·√3'}${factor ? '·pf' : ''}`,
      inputs: [limit, connection.voltage, ...(factor ? [factor.derivation] : [])],
      governing: 'its input limit',
    },
  );
  if (unlimited.kind === 'refused') return unlimited;
  const most =
    unlimited.kind === 'known' && numberIn(unlimited.derivation, unit) <= numberIn(bound, unit)
      ? unlimited.derivation
      : bound;
  return known(passed.length > 0 ? leftByLoads(most, bound, passed, unit) : most);
}

/** What a load takes, in W or VA. */
function loadDemand(load: Instance, unit: 'W' | 'VA', context: QuantityContext): Result {
  if (unit === 'W') return context.quantity(load, 'totalPower');
  const all = collect([context.quantity(load, 'totalPower'), context.fact(load, 'powerFactor')]);
  if (!all.ok) return all.result;
  const [power, factor] = all.derivations as [Derivation, Derivation];
  return known(
    derive(`apparent power of ${load.name}`, numberIn(power, 'W') / numberIn(factor, ''), 'VA', {
      symbol: `S_${load.name}`,
      formula: 'P/pf',
      inputs: [power, factor],
    }),
  );
}

/** What a source feeds in one state at one time of the day: the chargers, and the loads that may run together then. */
interface Feeding {
  readonly state: SourceState;
  readonly nodes: readonly Node[];
  readonly consumers: readonly Instance[];
  readonly at?: string;
}

// Power, apparent power and leg current of a source all ask for it.
const knownFeeding = new WeakMap<QuantityContext['circuitStates'], Map<Instance, readonly Feeding[]>>();

/** The states in which a source runs, each with the sets of loads that may run at the same time of the day. */
function feedingOf(thing: Instance, context: QuantityContext): readonly Feeding[] {
  let kept = knownFeeding.get(context.circuitStates);
  if (!kept) knownFeeding.set(context.circuitStates, (kept = new Map()));
  let feeding = kept.get(thing);
  if (!feeding) kept.set(thing, (feeding = findFeeding(thing, context)));
  return feeding;
}

function findFeeding(thing: Instance, context: QuantityContext): Feeding[] {
  return consumersIn(thing, context).flatMap(({ state, nodes, consumers }) =>
    runningTogether(consumers.filter(({ kind }) => kind === 'load')).map(({ loads, at }) => {
      if (at === undefined) return { state, nodes, consumers };
      const running = new Set(loads);
      const isOn = (each: Instance): boolean => each.kind !== 'load' || running.has(each);
      return {
        state,
        nodes: nodes.filter((node) => isOn(node.instance)),
        consumers: consumers.filter(isOn),
        at,
      };
    }),
  );
}

/** A result with the time of the day at which it holds. */
const atTime = (result: Result, at: string | undefined): Result =>
  at === undefined
    ? result
    : whenKnown(result, (derivation) =>
        known({ ...derivation, governing: [`at ${at}`, derivation.governing].filter(Boolean).join('; ') }),
      );

/** Active or apparent power of consumers that a source feeds at once; one input for each. */
function demandOf(
  name: string,
  symbol: string,
  unit: 'W' | 'VA',
  consumers: readonly Instance[],
  thing: Instance,
  context: QuantityContext,
): Result {
  const byLoad = new Map(
    consumers.filter(({ kind }) => kind === 'load').map((load) => [load, loadDemand(load, unit, context)] as const),
  );
  const parts = consumers.map((consumer): Result => {
    const own = byLoad.get(consumer);
    if (own) return own;
    const passed = [...loadsBehind(consumer, context)].flatMap((load) => {
      const result = byLoad.get(load);
      return result?.kind === 'known' ? [result.derivation] : [];
    });
    return chargerDemand(consumer, thing, unit, passed, context);
  });
  const all = collect(parts);
  if (!all.ok) return all.result;
  const named = all.derivations.map((part, index) => ({
    ...part,
    symbol: `${symbol}_${consumers[index]!.name}`,
    name: consumers[index]!.kind === 'load' ? part.name : `${part.name} of ${consumers[index]!.name}`,
  }));
  return known(sumOf(name, symbol, unit, named));
}

/** Active or apparent power of everything a source feeds at once, in each state in which it runs and at each time of the day that can govern. */
export function demandByState(
  name: string,
  symbol: string,
  unit: 'W' | 'VA',
  thing: Instance,
  context: QuantityContext,
): (InState & { readonly consumers: readonly Instance[] })[] {
  return feedingOf(thing, context).map(({ state, consumers, at }) => ({
    state,
    consumers,
    result: atTime(demandOf(name, symbol, unit, consumers, thing, context), at),
  }));
}

const demand =
  (name: string, symbol: string, unit: 'W' | 'VA') =>
  (thing: Instance, context: QuantityContext): Result => {
    const results = demandByState(name, symbol, unit, thing, context);
    return results.length === 0 ? missing(`what ${thing.name} feeds`) : worstOfStates(name, symbol, unit, results);
  };

export const powerDemand = defineQuantity({
  name: 'powerDemand',
  kinds: ['generator', 'grid', 'vehicle'],
  doc: 'Active power of everything it can feed at once: chargers at their limits and the loads that may run at the same time of the day, in the worst state.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => demand('power demand', 'P', 'W')(instance(thing), context),
});

export const apparentDemand = defineQuantity({
  name: 'apparentDemand',
  kinds: ['generator', 'grid', 'vehicle'],
  doc: 'Apparent power of everything it can feed at once, power factors counted, in the worst state.',
  unit: 'VA',
  bound: 'most',
  compute: (thing, context) => demand('apparent power demand', 'S', 'VA')(instance(thing), context),
});

export const legDemand = defineQuantity({
  name: 'legDemand',
  kinds: ['generator', 'grid', 'vehicle'],
  doc: 'Current on its most loaded leg at nominal voltage, everything it can feed at once, in the worst state.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const source = instance(thing);
    const results: InState[] = feedingOf(source, context).map(({ state, nodes, at }) => ({
      state,
      result: atTime(legCurrents(nodes, source, context, 'nominal').result, at),
    }));
    return results.length === 0 ? missing(`what ${thing.name} feeds`) : worstOfStates('leg current', 'I', 'A', results);
  },
});

export const continuousLegDemand = defineQuantity({
  name: 'continuousLegDemand',
  kinds: ['generator', 'grid', 'vehicle'],
  doc: 'The part of the current on its most loaded leg that lasts three hours or more, at nominal voltage, in the worst state.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const source = instance(thing);
    const results: InState[] = feedingOf(source, context).map(({ state, nodes, at }) => ({
      state,
      result: atTime(continuousLegCurrent(nodes, source, context, 'nominal'), at),
    }));
    return results.length === 0
      ? missing(`what ${thing.name} feeds`)
      : worstOfStates('continuous current', 'I_c', 'A', results);
  },
});

export const meanPower = defineQuantity({
  name: 'meanPower',
  kinds: ['generator'],
  doc: 'Active power it gives on average while it charges: chargers at their limits, loads by profile and duty, in the worst state.',
  unit: 'W',
  compute: (thing, context) => {
    // All loads, each by its share of the day, not only those that may run together.
    const results: InState[] = consumersIn(instance(thing), context).map(({ state, consumers }) => ({
      state,
      result: whenKnown(demandOf('power', 'P', 'W', consumers, instance(thing), context), (sum) =>
        known(
          sumOf(
            'mean power',
            'P_m',
            'W',
            sum.inputs.map((part, index) => {
              const consumer = consumers[index]!;
              if (consumer.kind !== 'load') return part;
              const share = meanShare(consumer, context);
              return derive(`mean power of ${consumer.name}`, numberIn(part, 'W') * numberIn(share, ''), 'W', {
                symbol: `P_${consumer.name}`,
                formula: 'P·s',
                inputs: [part, share],
              });
            }),
          ),
        ),
      ),
    }));
    return results.length === 0
      ? missing(`what ${thing.name} feeds`)
      : worstOfStates('mean power', 'P_m', 'W', results);
  },
});

/** The burn figures of a set as shares of its rating and L/h; undefined when it states none. */
export function burnPoints(thing: Instance, rated: Derivation): BurnPoint[] | undefined {
  const value = thing.properties.get('burn')?.value;
  if (value?.type !== 'table') return undefined;
  return value.rows.map(({ key, value: rate }) => ({
    load: key.dimension === DIMENSIONS.power ? key.value / numberIn(rated, 'W') : key.value,
    rate: inUnit(rate, 'L/h'),
  }));
}

export const fuelRateQuantity = defineQuantity({
  name: 'fuelRate',
  kinds: ['generator'],
  doc: 'Fuel it burns at the mean power it gives, by its burn figures, else by the table of its fuel.',
  unit: 'L/h',
  compute: (thing, context) => {
    const all = collect([ratedPower(instance(thing), context), context.quantity(thing, 'meanPower')]);
    if (!all.ok) return all.result;
    const [rated, power] = all.derivations as [Derivation, Derivation];
    const load = derive('load share', numberIn(power, 'W') / numberIn(rated, 'W'), '', {
      symbol: 'p',
      formula: 'P_m/P_r',
      inputs: [power, rated],
    });
    if (numberIn(load, '') > 1 + 1e-9) return refused(`${thing.name} is asked for more than its rating`);
    const points = burnPoints(instance(thing), rated);
    if (points) return burnAt(points, load);
    const fuel = context.maybe(thing, 'fuel');
    if (!fuel) return missing(`burn or fuel of ${thing.name}`);
    return callFunction(calculation('fuelRate'), { rated, load, fuel, waveform: context.maybe(thing, 'waveform') });
  },
});

export const tankTime = defineQuantity({
  name: 'tankTime',
  kinds: ['generator'],
  doc: 'How long one tank lasts at the mean power it gives.',
  unit: 's',
  isListedFor: (thing) => thing.properties.has('tank'),
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'tank'), context.quantity(thing, 'fuelRate')]);
    if (!all.ok) return all.result;
    const [tank, rate] = all.derivations as [Derivation, Derivation];
    if (numberIn(rate, 'L/h') <= 0) return refused(`${thing.name} burns nothing`);
    return known(
      derive('time on one tank', (numberIn(tank, 'L') / numberIn(rate, 'L/h')) * 3600, 's', {
        symbol: 't',
        formula: 'V/F',
        inputs: [tank, rate],
      }),
    );
  },
});

/** Share that an alternator keeps of its apparent power where the air is thin or hot: published practice of alternator makers. */
function alternatorShare(context: QuantityContext): Derivation {
  const altitude = context.siteFact('altitude');
  const ambient = context.siteFact('ambient');
  const of = (fact: GeneratorPractice): number => generatorPractice(fact).value;
  const above = (value: number, start: number): number => Math.max(0, value - start);
  const metres = altitude ? above(numberIn(highEnd(altitude), 'm'), of('alternator-altitude-start')) : 0;
  const kelvin = ambient ? above(numberIn(highEnd(ambient), 'degC'), of('alternator-temperature-start')) : 0;
  const share =
    Math.max(0, 1 - (of('alternator-altitude-loss') * metres) / of('alternator-altitude-step')) *
    Math.max(0, 1 - (of('alternator-temperature-loss') * kelvin) / of('alternator-temperature-step'));
  return fromTable('share the alternator keeps', share, '', generatorPractice('alternator-altitude-loss').source, {
    symbol: 'k_a',
    formula: '(1 − 3 %·(h − 1000 m)/500 m)·(1 − 3 %·(T − 40 °C)/5 K)',
    inputs: [...(altitude ? [highEnd(altitude)] : []), ...(ambient ? [highEnd(ambient)] : [])],
  });
}

export const usableApparent = defineQuantity({
  name: 'usableApparent',
  kinds: ['generator'],
  doc: 'Apparent power its alternator gives at the site: cooling is worse above 1000 m and above 40 °C.',
  unit: 'VA',
  bound: 'most',
  compute: (thing, context) =>
    whenKnown(context.quantity(thing, 'apparentRating'), (rating) => {
      const share = alternatorShare(context);
      return known(
        derive('apparent power at the site', numberIn(rating, 'VA') * numberIn(share, ''), 'VA', {
          symbol: 'S_site',
          formula: 'S_r·k_a',
          inputs: [rating, share],
        }),
      );
    }),
});

/** Apparent power of the set: as stated, else rated power over its rated power factor (0.8 three-phase, 1 single-phase, unless stated). */
export const apparentRating = defineQuantity({
  name: 'apparentRating',
  kinds: ['generator'],
  doc: 'Apparent power of the alternator: as stated, else rated power over its power factor (0.8 for three phases, 1 else, unless stated).',
  unit: 'VA',
  compute: (thing, context) => {
    const stated = context.maybe(thing, 'apparent');
    if (stated) return known({ ...stated, symbol: 'S_r' });
    const system = systemOf(instance(thing));
    return whenKnown(context.fact(thing, 'rated'), (rated) => {
      const factor =
        context.maybe(thing, 'powerFactor') ??
        (system &&
          derive('rated power factor', system.phases === 'three' ? 0.8 : 1, '', {
            origin: 'default',
            notes: ['not stated: 0.8 for three-phase sets, 1 for small single-phase sets (common practice, no source)'],
          }));
      if (!factor) return missing(`voltage of ${thing.name}`);
      return known(
        derive('apparent power rating', numberIn(rated, 'W') / numberIn(factor, ''), 'VA', {
          symbol: 'S_r',
          formula: 'P_r/pf',
          inputs: [rated, factor],
        }),
      );
    });
  },
});

/** Rated current of a source per leg. */
export const ratedCurrent = defineQuantity({
  name: 'ratedCurrent',
  kinds: ['generator'],
  doc: 'Rated current on each leg, from its apparent power and voltage.',
  unit: 'A',
  compute: (thing, context) => {
    const system = systemOf(instance(thing));
    if (!system) return missing(`voltage of ${thing.name}`);
    return whenKnown(context.quantity(thing, 'apparentRating'), (power) => {
      const voltage = derive('voltage between lines', system.lineToLine, 'V', { symbol: 'U', notes: [system.text] });
      const factor = system.phases === 'three' ? Math.sqrt(3) : 1;
      return known(
        derive('rated current', numberIn(power, 'VA') / (factor * system.lineToLine), 'A', {
          symbol: 'I_r',
          formula: factor === 1 ? 'S_r/U' : 'S_r/(√3·U)',
          inputs: [power, voltage],
        }),
      );
    });
  },
});

export const arrayCurrent = defineQuantity({
  name: 'arrayCurrent',
  kinds: ['solar'],
  doc: 'Largest current of the array: 125 % of its short-circuit current.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'shortCircuitCurrent'), context.fact(thing, 'parallel')]);
    return all.ok
      ? whenKnown(
          callFunction(calculation('moduleCurrent'), {
            shortCircuit: all.derivations[0],
            parallel: all.derivations[1],
          }),
          (current) => known({ ...current, name: `array current of ${thing.name}`, symbol: `I_${thing.name}` }),
        )
      : all.result;
  },
});

export const arrayVoltage = defineQuantity({
  name: 'arrayVoltage',
  kinds: ['solar'],
  doc: 'Voltage of the array at maximum power.',
  unit: 'V',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'maximumPowerVoltage'), context.fact(thing, 'series')]);
    if (!all.ok) return all.result;
    const [module, series] = all.derivations as [Derivation, Derivation];
    return known(
      derive('array voltage', numberIn(module, 'V') * numberIn(series, ''), 'V', {
        symbol: 'U',
        formula: 'U_mp·n_s',
        inputs: [module, series],
      }),
    );
  },
});

export const arrayPower = defineQuantity({
  name: 'arrayPower',
  kinds: ['solar'],
  doc: 'Power of the array at standard test conditions.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'power'), context.fact(thing, 'series'), context.fact(thing, 'parallel')]);
    if (!all.ok) return all.result;
    const [module, series, parallel] = all.derivations as [Derivation, Derivation, Derivation];
    return known(
      derive('array power', numberIn(module, 'W') * numberIn(series, '') * numberIn(parallel, ''), 'W', {
        symbol: 'P',
        formula: 'P_module·n_s·n_p',
        inputs: [module, series, parallel],
      }),
    );
  },
});

export const sourceQuantities = [
  usablePower,
  cleanPower,
  powerDemand,
  apparentDemand,
  legDemand,
  continuousLegDemand,
  apparentRating,
  usableApparent,
  ratedCurrent,
  meanPower,
  fuelRateQuantity,
  tankTime,
  arrayCurrent,
  arrayVoltage,
  arrayPower,
];
