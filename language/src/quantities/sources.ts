import { type GivenArgument, callFunction } from '../calculate/index.js';
import { type Derivation, type Result, derive, fromTable, known, missing, numberIn } from '../derivation/index.js';
import type { Instance } from '../model/types.js';
import { generatorPractice } from '../reference/energy/sources.js';
import { calculation } from './bank.js';
import { chargerInputOn, highEnd, inputPowerFactor, loadCurrentOn } from './converters.js';
import { type InState, type QuantityContext, defineQuantity } from './define.js';
import { connect, missingFrom, systemOf } from './supply.js';
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

/** Site conditions as arguments of the derating functions. */
function siteArguments(thing: Instance, context: QuantityContext): Record<string, GivenArgument | undefined> {
  const altitude = context.siteFact('altitude');
  const ambient = context.siteFact('ambient');
  return {
    ...(altitude ? { altitude: highEnd(altitude) } : {}),
    ...(ambient ? { ambient: highEnd(ambient) } : {}),
    ...(context.maybe(thing, 'altitudeDerate') ? { per: context.maybe(thing, 'altitudeDerate') } : {}),
  };
}

export const usablePower = defineQuantity({
  name: 'usablePower',
  kinds: ['generator'],
  doc: 'Continuous power at the site, after altitude and temperature.',
  unit: 'W',
  compute: (thing, context) =>
    whenKnown(context.fact(thing, 'rated'), (rated) =>
      callFunction(calculation('usablePower'), { rated, ...siteArguments(instance(thing), context) }),
    ),
});

export const cleanPower = defineQuantity({
  name: 'cleanPower',
  kinds: ['generator'],
  doc: 'Power up to which the waveform stays clean under rectifier load, at the site.',
  unit: 'W',
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'rated'), cleanShare(instance(thing), context)]);
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
      const fed = [...circuit.supply]
        .filter(([, feeders]) => feeders.has(thing))
        .flatMap(([key]) => context.graph.nodes.get(key) ?? []);
      const consumers = fed.filter(
        ({ instance: each, terminal }) =>
          each.kind === 'load' ||
          (each.kind === 'charger' && terminal.name === 'ac') ||
          (each.kind === 'inverter' && terminal.name === 'input' && each.properties.has('currentLimit')),
      );
      return { state, consumers: [...new Set(consumers.map(({ instance: each }) => each))] };
    });
}

/** Which chargers a source feeds in any state. */
export const chargersFedBy = (thing: Instance, context: QuantityContext): Instance[] => [
  ...new Set(consumersIn(thing, context).flatMap(({ consumers }) => consumers.filter((each) => each.kind !== 'load'))),
];

/** What a charger takes from a source: its demand at its output limit, but no more than its input limit lets through. */
function chargerDemand(charger: Instance, source: Instance, unit: 'W' | 'VA', context: QuantityContext): Result {
  const unlimited = context.quantity(charger, unit === 'W' ? 'inputPower' : 'inputApparentPower');
  const limit = context.maybe(charger, 'inputLimit');
  const system = systemOf(source);
  if (!limit || !system) return unlimited;
  const connection = connect(charger, system, context);
  const factor = unit === 'W' ? inputPowerFactor(charger, context) : undefined;
  if (missingFrom(connection) || (factor && factor.kind !== 'known')) return unlimited;
  const share = factor ? numberIn(factor.derivation, '') : 1;
  const most = numberIn(limit, 'A') * numberIn(connection.voltage, 'V') * connection.factor * share;
  if (unlimited.kind === 'known' && numberIn(unlimited.derivation, unit) <= most) return unlimited;
  return known(
    derive(unit === 'W' ? 'input power' : 'apparent input power', most, unit, {
      symbol: unit === 'W' ? 'P' : 'S',
      formula: `I_limit·U${connection.factor === 1 ? '' : '·√3'}${factor ? '·pf' : ''}`,
      inputs: [limit, connection.voltage, ...(factor ? [factor.derivation] : [])],
      governing: 'its input limit',
    }),
  );
}

const demand =
  (name: string, symbol: string, unit: 'W' | 'VA') =>
  (thing: Instance, context: QuantityContext): Result => {
    const results: InState[] = consumersIn(thing, context).map(({ state, consumers }) => {
      const parts = consumers.map((consumer): Result => {
        if (consumer.kind !== 'load') return chargerDemand(consumer, thing, unit, context);
        if (unit === 'W') return context.quantity(consumer, 'totalPower');
        const all = collect([context.quantity(consumer, 'totalPower'), context.fact(consumer, 'powerFactor')]);
        if (!all.ok) return all.result;
        const [power, factor] = all.derivations as [Derivation, Derivation];
        return known(
          derive(`apparent power of ${consumer.name}`, numberIn(power, 'W') / numberIn(factor, ''), 'VA', {
            symbol: `S_${consumer.name}`,
            formula: 'P/pf',
            inputs: [power, factor],
          }),
        );
      });
      const all = collect(parts);
      if (!all.ok) return { state, result: all.result };
      const named = all.derivations.map((part, index) => ({
        ...part,
        symbol: `${symbol}_${consumers[index]!.name}`,
        name: consumers[index]!.kind === 'load' ? part.name : `${part.name} of ${consumers[index]!.name}`,
      }));
      return { state, result: known(sumOf(name, symbol, unit, named)) };
    });
    return results.length === 0 ? missing(`what ${thing.name} feeds`) : worstOfStates(name, symbol, unit, results);
  };

export const powerDemand = defineQuantity({
  name: 'powerDemand',
  kinds: ['generator', 'grid', 'vehicle'],
  doc: 'Active power of everything it feeds at once: chargers at their limits and all loads, in the worst state.',
  unit: 'W',
  compute: (thing, context) => demand('power demand', 'P', 'W')(instance(thing), context),
});

export const apparentDemand = defineQuantity({
  name: 'apparentDemand',
  kinds: ['generator', 'grid', 'vehicle'],
  doc: 'Apparent power of everything it feeds at once, power factors counted, in the worst state.',
  unit: 'VA',
  compute: (thing, context) => demand('apparent power demand', 'S', 'VA')(instance(thing), context),
});

/** Current on the most loaded leg of a source, in the worst state. */
export const legDemand = defineQuantity({
  name: 'legDemand',
  kinds: ['generator', 'grid', 'vehicle'],
  doc: 'Current on its most loaded leg, everything it feeds at once.',
  unit: 'A',
  compute: (thing, context) => {
    const results: InState[] = consumersIn(instance(thing), context).map(({ state, consumers }) => {
      const perLeg = new Map<string, Derivation[]>();
      const facts: Result[] = [];
      for (const consumer of consumers) {
        const { result, legs } =
          consumer.kind === 'load'
            ? loadCurrentOn(consumer, instance(thing), context)
            : chargerInputOn(consumer, instance(thing), context);
        facts.push(result);
        if (result.kind === 'known')
          for (const leg of legs)
            perLeg.set(leg, [...(perLeg.get(leg) ?? []), { ...result.derivation, symbol: `I_${consumer.name}` }]);
      }
      const all = collect(facts);
      if (!all.ok) return { state, result: all.result };
      const sums = [...perLeg]
        .sort(([a], [b]) => (a < b ? -1 : 1))
        .map(([leg, parts]) => sumOf('leg current', 'I', 'A', parts, perLeg.size > 1 ? `leg ${leg}` : undefined));
      const largest = sums.reduce<Derivation | undefined>(
        (so, next) => (!so || numberIn(next, 'A') > numberIn(so, 'A') ? next : so),
        undefined,
      );
      return { state, result: known(largest ?? sumOf('leg current', 'I', 'A', [])) };
    });
    return results.length === 0 ? missing(`what ${thing.name} feeds`) : worstOfStates('leg current', 'I', 'A', results);
  },
});

/** Rated current of a source per leg. */
export const ratedCurrent = defineQuantity({
  name: 'ratedCurrent',
  kinds: ['generator'],
  doc: 'Rated current on each leg, from its rated power and voltage.',
  unit: 'A',
  compute: (thing, context) => {
    const system = systemOf(instance(thing));
    if (!system) return missing(`voltage of ${thing.name}`);
    const apparent = context.maybe(thing, 'apparent');
    const rating = apparent ? known(apparent) : context.fact(thing, 'rated');
    return whenKnown(rating, (power) => {
      const voltage = derive('voltage between lines', system.lineToLine, 'V', { symbol: 'U', notes: [system.text] });
      const factor = system.phases === 'three' ? Math.sqrt(3) : 1;
      return known(
        derive('rated current', numberIn(power, 'W') / (factor * system.lineToLine), 'A', {
          symbol: 'I_r',
          formula: factor === 1 ? 'S/U' : 'S/(√3·U)',
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
  ratedCurrent,
  arrayCurrent,
  arrayVoltage,
  arrayPower,
];
