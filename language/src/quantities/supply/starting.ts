import { type Derivation, type Result, derive, becauseOf, known, missing, numberIn } from '../../derivation/index.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { type InState, type QuantityContext, defineQuantity, instance } from '../define.js';
import { highEnd } from '../ends.js';
import { demandByState, demandOfLoad } from './source-demand.js';
import { lostAtOnce } from './conductors-at-once.js';
import { fedBy } from './supply.js';
import { collect, sumOf, whenKnown, worstOfStates } from '../worst.js';
import { mayBurnFuel, mayInvert, mayUse } from '../../equipment/index.js';
import { isInverter, isLoad } from '../../model/roles.js';
import { runningTogether } from '../demand/steady-share.js';

/** What one piece of a load takes more than when running, while it starts: P·(k − 1), or with its power factor in VA. Undefined for loads that state no start. */
export function startIncrement(load: Instance, unit: 'W' | 'VA', context: QuantityContext): Result | undefined {
  const factor = context.maybe(load, 'startFactor');
  if (!factor || numberIn(factor, '') <= 1) return undefined;
  return whenKnown(context.fact(load, 'power'), (power) =>
    whenKnown(unit === 'VA' ? context.fact(load, 'powerFactor') : known(factor), (powerFactor) => {
      const share = unit === 'VA' ? numberIn(powerFactor, '') : 1;
      return known(
        derive(`start of ${load.name}`, (numberIn(highEnd(power), 'W') * (numberIn(factor, '') - 1)) / share, unit, {
          symbol: `Δ_${load.name}`,
          formula: unit === 'VA' ? 'P·(k − 1)/pf' : 'P·(k − 1)',
          inputs: [highEnd(power), factor, ...(unit === 'VA' ? [powerFactor] : [])],
        }),
      );
    }),
  );
}

/** Apparent power of one piece of a load at standstill: P·k/pf. */
export const startApparent = defineQuantity({
  name: 'startApparent',
  of: [mayUse],
  doc: 'Apparent power of one piece while it starts.',
  unit: 'VA',
  bound: 'most',
  isListedFor: (thing) => thing.properties.has('startFactor'),
  compute: (thing, context) => {
    const all = collect([
      context.fact(thing, 'power'),
      context.fact(thing, 'startFactor'),
      context.fact(thing, 'powerFactor'),
    ]);
    if (!all.ok) return all.result;
    const [power, factor, powerFactor] = all.derivations as [Derivation, Derivation, Derivation];
    return known(
      derive(
        `starting power of ${thing.name}`,
        (numberIn(highEnd(power), 'W') * numberIn(factor, '')) / numberIn(powerFactor, ''),
        'VA',
        { symbol: 'S_start', formula: 'P·k/pf', inputs: [highEnd(power), factor, powerFactor] },
      ),
    );
  },
});

/** The largest of the starts of some loads on top of a running sum. */
function withStart(
  running: Derivation,
  loads: readonly Instance[],
  unit: 'W' | 'VA',
  context: QuantityContext,
): Result {
  const starting = loads.flatMap((load) => {
    const result = startIncrement(load, unit, context);
    return result ? [{ load, result }] : [];
  });
  const starts = collect(starting.map(({ result }) => result));
  if (!starts.ok) return starts.result;
  const [first] = starts.derivations;
  if (!first) return known(running);
  const largest = starts.derivations.reduce(
    (so, next) => (numberIn(next, unit) > numberIn(so, unit) ? next : so),
    first,
  );
  const { load } = starting[starts.derivations.indexOf(largest)]!;
  return known(
    derive('power while a motor starts', numberIn(running, unit) + numberIn(largest, unit), unit, {
      symbol: unit === 'W' ? 'P_start' : 'S_start',
      formula: unit === 'W' ? 'P + Δ' : 'S + Δ',
      inputs: [running, largest],
      governing: [{ kind: 'start', load: load.name }],
    }),
  );
}

export const generatorStart = defineQuantity({
  name: 'startDemand',
  of: [mayBurnFuel],
  doc: 'Active power while the motor with the largest start comes on and everything else it feeds runs, in the worst state.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => {
    const results = demandByState('power', 'P', 'W', instance(thing), context).map(({ state, consumers, result }) => ({
      state,
      result: whenKnown(result, (sum) => withStart(sum, consumers.filter(isLoad), 'W', context)),
    }));
    return results.length === 0
      ? missing(`what ${thing.name} feeds`)
      : worstOfStates('power while a motor starts', 'P_start', 'W', results);
  },
});

/** The loads an inverter carries from the bank in one state, and the inverters that share them. */
export interface Carried {
  readonly state: SourceState;
  readonly circuit: CircuitState;
  readonly loads: readonly Instance[];
  readonly inverters: readonly Instance[];
}

/** What an inverter carries from the bank, in each state in which nothing but inverters feeds its output. */
export function carriedBy(inverter: Instance, context: QuantityContext): Carried[] {
  return context.circuitStates.flatMap(({ state, circuit }) => {
    if (!circuit.inverting.has(inverter)) return [];
    const nodes = fedBy(inverter, circuit, context).filter((node) => isLoad(node.instance));
    const loads = new Set(nodes.map((node) => node.instance));
    const inverters = new Set(nodes.flatMap(({ key }) => [...(circuit.supply.get(key) ?? [])]));
    inverters.add(inverter);
    const alone = [...inverters].every(isInverter);
    return loads.size > 0 && alone ? [{ state, circuit, loads: [...loads], inverters: [...inverters] }] : [];
  });
}

/** What loads take together, one input for each, and one for what the conductors to them lose behind each inverter. */
function running(
  loads: readonly Instance[],
  unit: 'W' | 'VA',
  { circuit, inverters }: Carried,
  context: QuantityContext,
): Result {
  const all = collect(loads.map((load) => demandOfLoad(load, unit, context)));
  if (!all.ok) return all.result;
  const lost = inverters.flatMap((inverter) => lostAtOnce(unit, loads, new Map(), inverter, circuit, context));
  return known(sumOf('power of the loads', unit === 'W' ? 'P' : 'S', unit, [...all.derivations, ...lost]));
}

/** The largest over the day and the states of what an inverter carries, alone or with the largest start. */
const carried =
  (name: string, symbol: string, unit: 'W' | 'VA', starting: boolean) =>
  (inverter: Instance, context: QuantityContext): Result => {
    const results: InState[] = carriedBy(inverter, context).flatMap((feeding) =>
      runningTogether(feeding.loads).map(({ loads: together, at }) => ({
        state: feeding.state,
        result: whenKnown(running(together, unit, feeding, context), (sum) =>
          whenKnown(starting ? withStart(sum, together, unit, context) : known(sum), (most) =>
            known(at === undefined ? most : { ...most, ...becauseOf(most, { kind: 'timeOfDay', seconds: at }) }),
          ),
        ),
      })),
    );
    return results.length === 0 ? missing(`what ${inverter.name} carries`) : worstOfStates(name, symbol, unit, results);
  };

export const loadDemand = defineQuantity({
  name: 'loadDemand',
  of: [mayInvert],
  doc: 'Active power of the loads it carries from the bank that can run at the same time of the day, in the worst state.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => carried('power of the loads', 'P', 'W', false)(instance(thing), context),
});

export const loadApparent = defineQuantity({
  name: 'loadApparent',
  of: [mayInvert],
  doc: 'Apparent power of the loads it carries from the bank that can run at the same time of the day, in the worst state.',
  unit: 'VA',
  bound: 'most',
  compute: (thing, context) => carried('apparent power of the loads', 'S', 'VA', false)(instance(thing), context),
});

export const inverterStart = defineQuantity({
  name: 'startDemand',
  of: [mayInvert],
  doc: 'Active power while the motor with the largest start comes on and the other loads it carries run, in the worst state.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => carried('power while a motor starts', 'P_start', 'W', true)(instance(thing), context),
});

export const startingQuantities = [startApparent, generatorStart, loadDemand, loadApparent, inverterStart];
