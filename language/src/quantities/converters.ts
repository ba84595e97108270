import type { PropertyName } from '../equipment/index.js';
import { callFunction } from '../calculate/index.js';
import { type Derivation, type Result, derive, fromTable, known, missing, numberIn } from '../derivation/index.js';
import type { Graph } from '../model/graph.js';
import type { Instance } from '../model/types.js';
import { CHARGER_CLASS_SOURCE, chargerClass } from '../reference/energy/sources.js';
import { banksAt, calculation } from './bank.js';
import { type QuantityContext, defineQuantity, instance } from './define.js';
import { highEnd, lowEnd } from './ends.js';
import { connect, legCurrentOf, lowestSupply, missingFrom, systemOf } from './supply.js';
import { collect, whenKnown, worstOfStates } from './worst.js';
import { flagIn } from '../model/stated-facts.js';

/** Output current of a charging device as set: its limit, else the most it can give. */
export const outputCurrent = defineQuantity({
  name: 'outputCurrent',
  kinds: ['charger', 'inverter', 'chargeController', 'converter', 'wind', 'alternator', 'vehicle'],
  doc: 'Charging current at the DC side: the limit as set, else the most it can give.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const set = context.maybe(thing, 'currentLimit');
    if (thing.kind === 'inverter')
      return set
        ? known({ ...highEnd(set), name: `output current of ${thing.name}`, symbol: `I_${thing.name}` })
        : missing(`currentLimit of ${thing.name}`);
    const most =
      context.maybe(thing, 'maximumCurrent') ?? (thing.kind === 'vehicle' ? context.maybe(thing, 'rating') : undefined);
    const chosen = set ?? most;
    if (!chosen) return missing(`currentLimit or maximumCurrent of ${thing.name}`);
    const limited = set && most && numberIn(highEnd(most), 'A') < numberIn(highEnd(set), 'A') ? most : chosen;
    const note = set ? [] : ['no limit is set; the most it can give'];
    return known({
      ...highEnd(limited),
      name: `output current of ${thing.name}`,
      symbol: `I_${thing.name}`,
      notes: [...limited.notes, ...note],
    });
  },
});

/** Highest voltage a charger works at: its highest set point, else the highest voltage of its bank. */
export function chargeVoltage(thing: Instance, context: QuantityContext): Result {
  const points = (['absorb', 'equalise', 'float'] as const).flatMap((name) => context.maybe(thing, name) ?? []);
  if (points.length > 0) {
    const top = points.reduce((so, next) => (numberIn(next, 'V') > numberIn(so, 'V') ? next : so));
    return known({ ...highEnd(top), symbol: 'U_max' });
  }
  const [bank] = banksAt(thing, context);
  return bank ? context.quantity(bank, 'highestVoltage') : missing(`absorb of ${thing.name}`);
}

export const outputPower = defineQuantity({
  name: 'outputPower',
  kinds: ['charger', 'inverter'],
  doc: 'Charging power at the limit as set and the highest charge voltage.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.quantity(thing, 'outputCurrent'), chargeVoltage(instance(thing), context)]);
    if (!all.ok) return all.result;
    const [current, voltage] = all.derivations as [Derivation, Derivation];
    const power = derive('charging power', numberIn(current, 'A') * numberIn(voltage, 'V'), 'W', {
      symbol: 'P_dc',
      formula: 'I·U_max',
      inputs: [current, voltage],
    });
    const most = context.maybe(thing, 'maximumPower');
    if (most && numberIn(most, 'W') < numberIn(power, 'W'))
      return known({
        ...most,
        name: 'charging power',
        symbol: 'P_dc',
        inputs: [power],
        governing: 'its power limit',
        notes: most.notes,
      });
    return known(power);
  },
});

export const chargeEfficiency = (thing: Instance, context: QuantityContext): Result => {
  const stated = context.maybe(thing, thing.kind === 'inverter' ? 'chargeEfficiency' : 'efficiency');
  return stated
    ? known(lowEnd(stated))
    : missing(`${thing.kind === 'inverter' ? 'chargeEfficiency' : 'efficiency'} of ${thing.name}`);
};

/** Input power factor as stated, else that of its class where it says whether it corrects its power factor. */
export const inputPowerFactor = (thing: Instance, context: QuantityContext): Result => {
  const stated = context.maybe(thing, 'powerFactor');
  if (stated) return known(lowEnd(stated));
  const corrected = context.maybe(thing, 'powerFactorCorrection')?.value;
  const row = typeof corrected === 'boolean' ? chargerClass(corrected ? 'corrected' : 'uncorrected') : undefined;
  if (!row) return missing(`powerFactor of ${thing.name}`);
  return known(
    fromTable('power factor', row.powerFactor, '', CHARGER_CLASS_SOURCE, {
      symbol: 'pf',
      notes: [`not stated: usual for a charger ${row.title}`],
    }),
  );
};

export const inputPower = defineQuantity({
  name: 'inputPower',
  kinds: ['charger', 'inverter'],
  doc: 'Active power a charger draws at its limit and the highest charge voltage.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.quantity(thing, 'outputPower'), chargeEfficiency(instance(thing), context)]);
    return all.ok
      ? callFunction(calculation('inputPower'), { output: all.derivations[0], efficiency: all.derivations[1] })
      : all.result;
  },
});

export const inputApparentPower = defineQuantity({
  name: 'inputApparentPower',
  kinds: ['charger', 'inverter'],
  doc: 'Apparent power a charger draws, power factor and efficiency counted.',
  unit: 'VA',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.quantity(thing, 'inputPower'), inputPowerFactor(instance(thing), context)]);
    if (!all.ok) return all.result;
    const [power, factor] = all.derivations as [Derivation, Derivation];
    return known(
      derive('apparent input power', numberIn(power, 'W') / numberIn(factor, ''), 'VA', {
        symbol: 'S',
        formula: 'P/pf',
        inputs: [power, factor],
      }),
    );
  },
});

/** Input current of a charger on a supply: at the lowest supply voltage, or at nominal voltage as sources are rated. */
export function chargerInputOn(
  thing: Instance,
  source: Instance,
  context: QuantityContext,
  at: 'lowest' | 'nominal' = 'lowest',
): { result: Result; legs: readonly ('L1' | 'L2' | 'L3')[] } {
  const system = systemOf(source);
  if (!system) return { result: missing(`voltage of ${source.name}`), legs: [] };
  const connection = connect(thing, system, context);
  if (missingFrom(connection)) return { result: missing(connection.missing), legs: [] };
  const all = collect([
    context.quantity(thing, 'outputPower'),
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
    system: deriveFactWord('system', connection.factor === 1 ? 'single' : 'three'),
  });
  const bounds = (
    [
      ['inputLimit', 'its input limit'],
      ['maximumInputCurrent', 'its highest input current by data sheet'],
    ] as const
  ).flatMap(([name, governing]) => {
    const bound = context.maybe(thing, name);
    return bound ? [{ bound, governing }] : [];
  });
  const limited = whenKnown(result, (current) => {
    const lowest = bounds.reduce<(typeof bounds)[number] | undefined>(
      (so, next) => (numberIn(next.bound, 'A') < numberIn(so?.bound ?? current, 'A') ? next : so),
      undefined,
    );
    return known(
      lowest
        ? { ...lowest.bound, name: 'input current', symbol: 'I_in', inputs: [current], governing: lowest.governing }
        : { ...current, notes: [...current.notes, `on ${connection.legs.join(' and ')}`] },
    );
  });
  return { result: limited, legs: connection.legs };
}

/**
 * The loads that an inverter passes its supply on to. Its input limit bounds what it takes in all; charging gets what they leave.
 */
export function loadsBehind(inverter: Instance, context: QuantityContext): ReadonlySet<Instance> {
  const behind = new Set<Instance>();
  const seen = new Set<string>();
  const queue = [context.graph.nodes.get(`${inverter.name}.ac`)];
  if (!isPassThrough(inverter)) return behind;
  for (let start = queue.pop(); start; start = queue.pop()) {
    for (const node of context.graph.reach(start).values()) {
      if (seen.has(node.key)) continue;
      seen.add(node.key);
      if (node.instance.kind === 'load') behind.add(node.instance);
      const goesOn =
        (node.instance.kind === 'transfer' && node.terminal.name !== 'out' && 'out') ||
        (node.instance.kind === 'inverter' && node.terminal.name === 'input' && isPassThrough(node.instance) && 'ac');
      if (goesOn) queue.push(context.graph.nodes.get(`${node.instance.name}.${goesOn}`));
    }
  }
  return behind;
}

const isPassThrough = (inverter: Instance): boolean => flagIn(inverter.properties, 'passThrough') === true;

/** What charging may take of a bound (in `unit`) when loads are passed through: the bound less what they take, never below zero. */
export function leftByLoads(
  demand: Derivation,
  bound: Derivation,
  passed: readonly Derivation[],
  unit: 'A' | 'W' | 'VA',
): Derivation {
  const left = Math.max(0, numberIn(bound, unit) - passed.reduce((sum, part) => sum + numberIn(part, unit), 0));
  if (numberIn(demand, unit) <= left) return demand;
  return derive(demand.name, left, unit, {
    ...(demand.symbol ? { symbol: demand.symbol } : {}),
    formula: 'max(0, limit − loads passed through)',
    inputs: [bound, ...passed],
    governing: 'its input limit, less the loads it passes through',
  });
}

const deriveFactWord = (name: string, value: string): Derivation => ({
  name,
  value,
  unit: '1',
  origin: 'stated',
  inputs: [],
  notes: [],
  parts: {},
});

/** The sources that can stand at a charger's input, each with the state in which it does. */
function suppliesOf(thing: Instance, terminal: string, context: QuantityContext) {
  return context.circuitStates.flatMap(({ state, circuit }) =>
    [...(circuit.supply.get(`${thing.name}.${terminal}`) ?? [])].map((source) => ({ state, source })),
  );
}

export const inputCurrent = defineQuantity({
  name: 'inputCurrent',
  kinds: ['charger', 'inverter'],
  doc: 'Input current of a charger at the highest charge voltage and the lowest supply voltage, in the worst source state.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const supplies = suppliesOf(instance(thing), thing.kind === 'inverter' ? 'input' : 'ac', context);
    if (supplies.length === 0) return missing(`a supply of ${thing.name}`);
    return worstOfStates(
      'input current',
      'I_in',
      'A',
      supplies.map(({ state, source }) => ({ state, result: chargerInputOn(instance(thing), source, context).result })),
    );
  },
});

/** Lowest DC voltage at which an inverter still gives its rated power. */
export const lowestInverterVoltage = (thing: Instance, context: QuantityContext): Result => {
  const cutOff = context.maybe(thing, 'cutOff');
  if (cutOff) return known({ ...lowEnd(cutOff), symbol: 'U_min' });
  const window = context.maybe(thing, 'dcVoltage');
  if (window && typeof window.value === 'object')
    return known({ ...lowEnd(window), symbol: 'U_min', name: 'lowest voltage of its window' });
  const [bank] = banksAt(thing, context);
  return bank ? context.quantity(bank, 'lowestVoltage') : missing(`cutOff of ${thing.name}`);
};

const fromBank =
  (power: PropertyName, name: string, symbol: string) =>
  (thing: Instance, context: QuantityContext): Result => {
    const rated = context.fact(thing, power);
    const all = collect([rated, lowestInverterVoltage(thing, context), context.fact(thing, 'efficiency')]);
    if (!all.ok) return all.result;
    const [watts, voltage, efficiency] = all.derivations as [Derivation, Derivation, Derivation];
    return whenKnown(
      callFunction(calculation('inverterCurrent'), { power: watts, voltage, efficiency: lowEnd(efficiency) }),
      (current) => known({ ...current, name, symbol, governing: 'lowest voltage at which it runs' }),
    );
  };

export const dcCurrent = defineQuantity({
  name: 'dcCurrent',
  kinds: ['inverter'],
  doc: 'Current drawn from the bank at rated power and the lowest voltage at which it runs: P/(η·U_min).',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) =>
    fromBank('rated', `DC current of ${thing.name}`, `I_${thing.name}`)(instance(thing), context),
});

export const surgeCurrent = defineQuantity({
  name: 'surgeCurrent',
  kinds: ['inverter'],
  doc: 'Current drawn from the bank at surge power and the lowest voltage at which it runs.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) =>
    fromBank('surge', `surge current of ${thing.name}`, `I_${thing.name}`)(instance(thing), context),
});

export const loadPower = defineQuantity({
  name: 'totalPower',
  kinds: ['load'],
  doc: 'Power of all pieces together when running.',
  unit: 'W',
  bound: 'most',
  compute: (thing, context) => {
    const all = collect([context.fact(thing, 'power'), context.fact(thing, 'count')]);
    if (!all.ok) return all.result;
    const [power, count] = all.derivations as [Derivation, Derivation];
    const one = highEnd(power);
    if (numberIn(count, '') === 1) return known({ ...one, name: `power of ${thing.name}`, symbol: `P_${thing.name}` });
    return known(
      derive(`power of ${thing.name}`, numberIn(one, 'W') * numberIn(count, ''), 'W', {
        symbol: `P_${thing.name}`,
        formula: 'P·n',
        inputs: [one, count],
      }),
    );
  },
});

const DAY = 86400;

export const dailyEnergy = defineQuantity({
  name: 'dailyEnergy',
  kinds: ['load'],
  doc: 'Energy used in a day by its profile and duty.',
  unit: 'Wh',
  compute: (thing, context) => {
    const profile = thing.properties.get('profile')?.value;
    const duty = context.maybe(thing, 'duty');
    if (profile?.type !== 'profile' && !duty) return missing(`profile or duty of ${thing.name}`);
    return whenKnown(context.quantity(thing, 'totalPower'), (power) => {
      const seconds =
        profile?.type === 'profile'
          ? profile.windows.reduce((sum, window) => sum + (window.to - window.from) * window.share.value, 0)
          : DAY;
      const time = derive('full-power time in a day', seconds, 's', { symbol: 't' });
      const share = duty ? numberIn(duty, '') : 1;
      return known(
        derive(`energy of ${thing.name} in a day`, (numberIn(power, 'W') * seconds * share) / 3600, 'Wh', {
          symbol: 'E',
          formula: duty ? 'P·t·duty' : 'P·t',
          inputs: [power, time, ...(duty ? [duty] : [])],
        }),
      );
    });
  },
});

/** Leg current of an AC load on a source, at nominal voltage as load calculations of the codes do. */
export function loadCurrentOn(
  thing: Instance,
  source: Instance,
  context: QuantityContext,
): { result: Result; legs: readonly ('L1' | 'L2' | 'L3')[] } {
  const system = systemOf(source);
  if (!system) return { result: missing(`voltage of ${source.name}`), legs: [] };
  const connection = connect(thing, system, context);
  if (missingFrom(connection)) return { result: missing(connection.missing), legs: [] };
  const all = collect([context.quantity(thing, 'totalPower'), context.fact(thing, 'powerFactor')]);
  if (!all.ok) return { result: all.result, legs: connection.legs };
  const [power, factor] = all.derivations as [Derivation, Derivation];
  return {
    result: known({
      ...legCurrentOf(`current of ${thing.name}`, power, connection.voltage, factor, connection),
      symbol: `I_${thing.name}`,
    }),
    legs: connection.legs,
  };
}

/** Lowest voltage of the DC bus a thing hangs on: that of its bank, else the least output of the converter that feeds it. */
function lowestBusVoltage(thing: Instance, context: QuantityContext): Result {
  const [bank] = banksAt(thing, context);
  if (bank) return context.quantity(bank, 'lowestVoltage');
  const nodes = context.graph.nodesOf(thing).flatMap((node) => [...context.graph.reach(node).values()]);
  const feeder = nodes.find(({ instance: each, terminal }) => each.kind === 'converter' && terminal.name === 'out');
  if (!feeder) return missing(`a bank for ${thing.name}`);
  return whenKnown(context.fact(feeder.instance, 'output'), (output) =>
    known({ ...lowEnd(output), name: 'lowest bus voltage', symbol: 'U_min' }),
  );
}

const knownLoadCurrents = new WeakMap<Graph, Map<Instance, Result>>();

/** Current of a DC load at the lowest bus voltage, worked out once for each load. */
export function dcLoadCurrent(thing: Instance, context: QuantityContext): Result {
  let currents = knownLoadCurrents.get(context.graph);
  if (!currents) knownLoadCurrents.set(context.graph, (currents = new Map()));
  let current = currents.get(thing);
  if (!current) currents.set(thing, (current = findLoadCurrent(thing, context)));
  return current;
}

function findLoadCurrent(thing: Instance, context: QuantityContext): Result {
  const all = collect([context.quantity(thing, 'totalPower'), lowestBusVoltage(thing, context)]);
  if (!all.ok) return all.result;
  const [power, voltage] = all.derivations as [Derivation, Derivation];
  return known(
    derive(`current of ${thing.name}`, numberIn(power, 'W') / numberIn(voltage, 'V'), 'A', {
      symbol: `I_${thing.name}`,
      formula: 'P/U_min',
      inputs: [power, voltage],
      governing: 'lowest bus voltage',
    }),
  );
}

export const converterQuantities = [
  outputCurrent,
  outputPower,
  inputPower,
  inputApparentPower,
  inputCurrent,
  dcCurrent,
  surgeCurrent,
  loadPower,
  dailyEnergy,
];
