import { maySupplyAlternating, mayBurnFuel } from '../../equipment/index.js';
import { type Derivation, type Result, derive, known, missing, numberIn, becauseOf } from '../../derivation/index.js';
import { query } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { type InState, type QuantityContext, defineQuantity, instance } from '../define.js';
import { callFunction } from '../../calculate/index.js';
import { calculation } from '../calculation.js';
import { continuousLegCurrent, legCurrents } from '../flow/flow.js';
import { isLoadings, legLoadings, restOf } from '../flow/loading.js';
import { lostAtOnce } from './conductors-at-once.js';
import { fedBy } from './supply.js';
import { collect, sumOf, whenKnown, worstOfStates } from '../worst.js';
import { isLoad, takesToCharge } from '../../model/roles.js';
import { apparentInput, inputPowerOn } from './chargers.js';
import { inputPowerFactor } from '../plant/chargers.js';
import { supplyAround } from '../plant/feeders.js';
import { inputSettingOn } from '../plant/input-setting.js';
import { leftByLoads, loadsBehind } from './passed-loads.js';
import { leftOfSupply } from './supply-left.js';
import { apparentOf, meanShare, powerOf, runningTogether } from '../demand/steady-share.js';
import { conductorLoss } from '../network/feeder-losses.js';

/** Consumers a source feeds in each state in which it runs, through transfer gear and pass-through inverters. */
function consumersIn(thing: Instance, context: QuantityContext) {
  return context.circuitStates
    .filter(({ state }) => state.acSources.includes(thing))
    .map(({ state, circuit }) => {
      const consumers = fedBy(thing, circuit, context).filter((node) => isLoad(node.instance) || takesToCharge(node));
      return { state, circuit, nodes: consumers, consumers: [...new Set(consumers.map(({ instance: each }) => each))] };
    });
}

/** Which chargers a source feeds in any state. */
export const chargersFedBy = (thing: Instance, context: QuantityContext): Instance[] => [
  ...new Set(consumersIn(thing, context).flatMap(({ consumers }) => consumers.filter((each) => !isLoad(each)))),
];

/** What a charger takes from a source within its own bounds, but no more than its input limit leaves beside the loads it passes on. */
function chargerDemand(
  charger: Instance,
  source: Instance,
  unit: 'W' | 'VA',
  /** VA of each load that it passes on. */
  passed: readonly Derivation[],
  context: QuantityContext,
): Result {
  const power = inputPowerOn(charger, source, context);
  const most = unit === 'W' || power.kind === 'refused' ? power : apparentInput(charger, power, context);
  const limit = inputSettingOn(charger, source, context);
  if (!limit || passed.length === 0 || most.kind !== 'known') return most;
  const around = supplyAround(charger, source, context);
  const factor = inputPowerFactor(charger, context);
  if ('missing' in around || factor.kind !== 'known') return most;
  // A leg limit counts on each leg; the supply is taken at nominal voltage, as sources are rated.
  const apparent = derive(
    'apparent input power',
    numberIn(limit, 'A') * numberIn(around.supplyVolts, 'V') * numberIn(around.lines, ''),
    'VA',
    {
      symbol: 'S',
      formula: 'I_limit·U·k',
      inputs: [limit, around.supplyVolts, around.lines],
      governing: [{ kind: 'bound', bound: 'inputSetting', subject: charger.name }],
    },
  );
  if (unit === 'VA') return known(leftByLoads(charger, most.derivation, apparent, passed, 'VA'));
  // Amperes are shared as apparent power; what charging makes of its part follows its own power factor.
  const asked = derive('apparent input power', numberIn(most.derivation, 'W') / numberIn(factor.derivation, ''), 'VA', {
    symbol: 'S',
    formula: 'P/pf',
    inputs: [most.derivation, factor.derivation],
  });
  const part = leftByLoads(charger, asked, apparent, passed, 'VA');
  if (part === asked) return most;
  return known(
    derive(most.derivation.name, numberIn(part, 'VA') * numberIn(factor.derivation, ''), 'W', {
      symbol: 'P',
      formula: 'S·pf',
      inputs: [part, factor.derivation],
      ...becauseOf(part),
    }),
  );
}

/** What a load takes, in W or VA. */
export function demandOfLoad(load: Instance, unit: 'W' | 'VA', context: QuantityContext): Result {
  const power = context.quantity(load, 'totalPower');
  return unit === 'W' ? power : whenKnown(power, (watts) => apparentOf(load, watts, context));
}

/** What a source feeds in one state at one time of the day: the chargers, and the loads that may run together then. */
interface Feeding {
  readonly state: SourceState;
  readonly circuit: CircuitState;
  readonly nodes: readonly Node[];
  readonly consumers: readonly Instance[];
  /** s from midnight. */
  readonly at?: number;
}

// Power, apparent power and leg current of a source all ask for it.
const FEEDING = query<Instance, readonly Feeding[]>('what a source feeds, by state and time of the day');

/** The states in which a source runs, each with the sets of loads that may run at the same time of the day. */
const feedingOf = (thing: Instance, context: QuantityContext): readonly Feeding[] =>
  context.kept(FEEDING, thing, () => findFeeding(thing, context));

function findFeeding(thing: Instance, context: QuantityContext): Feeding[] {
  return consumersIn(thing, context).flatMap(({ state, circuit, nodes, consumers }) =>
    runningTogether(consumers.filter(isLoad)).map(({ loads, at }) => {
      if (at === undefined) return { state, circuit, nodes, consumers };
      const running = new Set(loads);
      const isOn = (each: Instance): boolean => !isLoad(each) || running.has(each);
      return {
        state,
        circuit,
        nodes: nodes.filter((node) => isOn(node.instance)),
        consumers: consumers.filter(isOn),
        at,
      };
    }),
  );
}

/** A result with the time of the day at which it holds. */
const atTime = (result: Result, at: number | undefined): Result =>
  at === undefined
    ? result
    : whenKnown(result, (derivation) =>
        known({ ...derivation, ...becauseOf(derivation, { kind: 'timeOfDay', seconds: at }) }),
      );

/** Active or apparent power of consumers that a source feeds at once: one input for each, and one for what conductors lose. */
function demandOf(
  name: string,
  symbol: string,
  unit: 'W' | 'VA',
  consumers: readonly Instance[],
  thing: Instance,
  circuit: CircuitState,
  context: QuantityContext,
): Result {
  const byLoad = new Map(consumers.filter(isLoad).map((load) => [load, demandOfLoad(load, unit, context)] as const));
  const parts = consumers.map((consumer): Result => {
    const own = byLoad.get(consumer);
    if (own) return own;
    const passed = [...loadsBehind(consumer, context)].flatMap((load) => {
      const result = byLoad.has(load) ? demandOfLoad(load, 'VA', context) : undefined;
      return result?.kind === 'known' ? [result.derivation] : [];
    });
    return chargerDemand(consumer, thing, unit, passed, context);
  });
  const all = collect(parts);
  if (!all.ok) return all.result;
  const named = all.derivations.map((part, index) => ({
    ...part,
    symbol: `${symbol}_${consumers[index]!.name}`,
    name: isLoad(consumers[index]!) ? part.name : `${part.name} of ${consumers[index]!.name}`,
    subject: consumers[index]!.name,
  }));
  const chargers = new Map(
    consumers.flatMap((each, at) => (isLoad(each) ? [] : [[each, all.derivations[at]!] as const])),
  );
  const lost = lostAtOnce(unit, consumers.filter(isLoad), chargers, thing, circuit, context);
  return known(sumOf(name, symbol, unit, [...named, ...lost]));
}

/** Active or apparent power of everything a source feeds at once, in each state in which it runs and at each time of the day that can govern. */
export function demandByState(
  name: string,
  symbol: string,
  unit: 'W' | 'VA',
  thing: Instance,
  context: QuantityContext,
): (InState & { readonly consumers: readonly Instance[] })[] {
  return feedingOf(thing, context).map(({ state, circuit, consumers, at }) => ({
    state,
    consumers,
    result: atTime(demandOf(name, symbol, unit, consumers, thing, circuit, context), at),
  }));
}

const demand =
  (name: string, symbol: string, unit: 'W' | 'VA') =>
  (thing: Instance, context: QuantityContext): Result => {
    const results = demandByState(name, symbol, unit, thing, context);
    return results.length === 0 ? missing(`what ${thing.name} feeds`) : worstOfStates(name, symbol, unit, results);
  };

const powerDemand = defineQuantity({
  name: 'powerDemand',
  of: [maySupplyAlternating],
  doc: 'Active power of everything it can feed at once: chargers at their limits and the loads that may run at the same time of the day, with what the conductors to them lose, in the worst state.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => demand('power demand', 'P', 'W')(instance(thing), context),
});

const apparentDemand = defineQuantity({
  name: 'apparentDemand',
  of: [maySupplyAlternating],
  doc: 'Apparent power of everything it can feed at once, power factors and what conductors lose counted, in the worst state.',
  unit: 'VA',
  bound: 'most',
  compute: (thing, context) => demand('apparent power demand', 'S', 'VA')(instance(thing), context),
});

const legDemand = defineQuantity({
  name: 'legDemand',
  of: [maySupplyAlternating],
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

const continuousLegDemand = defineQuantity({
  name: 'continuousLegDemand',
  of: [maySupplyAlternating],
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

/**
 * What the device of a source has to be rated for: on each leg 125 % of what lasts three hours or more plus the rest (NEC 215.3), at nominal
 * voltage, of the leg and state that need most.
 */
export function neededRating(source: Instance, context: QuantityContext): Result {
  const results: InState[] = [];
  for (const { state, nodes, at } of feedingOf(source, context)) {
    const loadings = legLoadings(nodes, source, state, context, 'nominal');
    if (!isLoadings(loadings)) return loadings;
    for (const loading of loadings)
      results.push({
        state,
        result: atTime(
          callFunction(calculation('requiredAmpacity'), {
            continuous: loading.continuous,
            noncontinuous: restOf(loading),
          }),
          at,
        ),
      });
  }
  return results.length === 0
    ? missing(`what ${source.name} feeds`)
    : worstOfStates('rating needed', 'I_n', 'A', results);
}

/** W that the loads of a source take on average, most in any state; what charges beside them takes what is left. */
const loadsAlone = (source: Instance, context: QuantityContext): number =>
  Math.max(
    0,
    ...consumersIn(source, context).map(({ consumers }) =>
      consumers.filter(isLoad).reduce((sum, load) => {
        const power = powerOf(load, meanShare, context);
        return power.kind === 'known' ? sum + numberIn(power.derivation, 'W') : sum;
      }, 0),
    ),
  );

/** What a charger asks for, or what its source has left for it beside the loads where that is less. */
const leastOf = (asked: Derivation, left: Derivation | undefined): Derivation =>
  left && numberIn(left, 'W') < numberIn(asked, 'W') ? left : asked;

const meanPower = defineQuantity({
  name: 'meanPower',
  of: [mayBurnFuel],
  doc: 'Active power it gives on average while it charges: chargers at their limits or with what the source has left for them, loads by profile and duty, with what the conductors to them lose, in the worst state.',
  unit: 'W',
  compute: (thing, context) => {
    // All loads, each by its share of the day, not only those that may run together.
    const results: InState[] = consumersIn(instance(thing), context).map(({ state, circuit, consumers }) => ({
      state,
      result: whenKnown(demandOf('power', 'P', 'W', consumers, instance(thing), circuit, context), (sum) => {
        const parts = consumers.map((consumer, index) => {
          const part = sum.inputs[index]!;
          if (!isLoad(consumer)) return leastOf(part, leftOfSupply(consumer, instance(thing), circuit, context));
          const share = meanShare(consumer, context);
          return derive(`mean power of ${consumer.name}`, numberIn(part, 'W') * numberIn(share, ''), 'W', {
            symbol: `P_${consumer.name}`,
            formula: 'P_n·s',
            inputs: [{ ...part, symbol: 'P_n' }, share],
          });
        });
        const chargers = new Map(
          consumers.flatMap((each, at) => (isLoad(each) ? [] : [[each, numberIn(parts[at]!, 'W')] as const])),
        );
        const lost = conductorLoss(instance(thing), circuit, meanShare, chargers, context);
        return known(sumOf('mean power', 'P_m', 'W', [...parts, ...(lost ? [lost] : [])]));
      }),
    }));
    if (results.length === 0) return missing(`what ${thing.name} feeds`);
    return whenKnown(worstOfStates('mean power', 'P_m', 'W', results), (power) => {
      const usable = context.quantity(thing, 'usablePower');
      if (usable.kind !== 'known') return known(power);
      const most = numberIn(usable.derivation, 'W');
      if (most >= numberIn(power, 'W') || loadsAlone(instance(thing), context) > most) return known(power);
      // Its chargers take what it has left: it gives no more than it can.
      return known(
        derive('mean power', numberIn(usable.derivation, 'W'), 'W', {
          symbol: 'P_m',
          formula: 'min(P, P_usable)',
          inputs: [{ ...power, symbol: 'P' }, usable.derivation],
          ...becauseOf(power),
          notes: ['all that it can give: its chargers demand more'],
        }),
      );
    });
  },
});

export const demandQuantities = [powerDemand, apparentDemand, legDemand, continuousLegDemand, meanPower];
