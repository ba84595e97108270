import { isFedByAlternating } from './plan-questions.js';
import type { PropertyName } from '../equipment/index.js';
import { callFunction } from '../calculate/index.js';
import { burnAt } from '../calculate/sources/fuel.js';
import { type Result, derive, missing, numberIn } from '../derivation/index.js';
import { circuitState, nominalVolts } from '../model/network.js';
import type { Instance } from '../model/types.js';
import { burnPoints } from '../quantities/supply/generator-fuel.js';
import { ratedPower } from '../quantities/supply/generator-rating.js';
import { chargersFedBy } from '../quantities/supply/source-demand.js';
import { feedParts, keyOfLoad } from '../quantities/demand/feeding.js';
import { inputSettingOn } from '../quantities/plant/input-setting.js';
import { cleanWatts, inputWatts, legsPerWatt, sourceLimits } from '../quantities/plant/feeders.js';
import { systemOf } from '../quantities/supply/supply.js';
import { type Taker, linesOf } from '../quantities/network/lines.js';
import { collect } from '../quantities/worst.js';
import type { Configuration, FeedPlan, Plan, SourcePlan } from './plan.js';
import { tankPlan } from './prepare-tanks.js';
import type { Preparation } from './prepare-direct.js';
import { chargingOf, isAcSource, isOneMachine, isService, isSet, passingOf } from '../model/roles.js';
import { inputPowerFactor } from '../quantities/plant/chargers.js';
import { loadsBehind } from '../quantities/supply/passed-loads.js';
import { calculation } from '../quantities/calculation.js';

const LITRES_PER_HOUR = 1e-3 / 3600;
/** Loads at which the fuel curve is read, besides a set's own burn figures; a straight line runs between them. */
const FUEL_SHARES = [0, 0.25, 0.5, 0.75, 1] as const;

export function sourcePlan(source: Instance, preparation: Preparation): SourcePlan {
  const { context, facts, machine } = preparation;
  const control = machine.targetOf(source);
  const outlets = preparation.at.sources.filter((each) => isOneMachine(each, source));
  const first = preparation.at.sources.indexOf(outlets[0]!);
  const kind = isAcSource(source) ? (isSet(source) ? 'set' : 'supply') : 'direct';
  const system = systemOf(source);
  const seconds = (name: PropertyName): number => {
    const stated = context.maybe(source, name);
    return stated ? numberIn(stated, 's') : 0;
  };
  const none = { burnShare: new Float64Array(0), burnRate: new Float64Array(0), rated: 1, tank: Infinity };
  const common = {
    name: source.name,
    kind,
    volts: system && kind !== 'direct' ? nominalVolts(system) : NaN,
    limits: sourceLimits(source, context, facts),
    chargerWatts: cleanWatts(source, chargersFedBy(source, context), context, facts),
    machine: first,
    control,
    betweenOutages: isService(source) ? seconds('betweenOutages') : 0,
    outage: isService(source) ? seconds('outageTime') : 0,
  } as const;
  if (kind !== 'set') return { ...common, ...none };
  if (control < 0) facts.assume(`${source.name} stays off: no control starts it`);
  // One machine has one tank and burns its fuel once, whichever of its outlets says so.
  if (source !== outlets[0]) return { ...common, ...none, rated: facts.aboveZero(ratedPower(source, context), 'W') };
  const curves = outlets.map((each) => fuelCurve(each, context));
  const curve = curves.find(({ fuelUnknown }) => !fuelUnknown) ?? curves[0]!;
  const tank = tankPlan(outlets, curve.fuelUnknown, preparation);
  const isFilled = tank.fuelAtStart === undefined;
  if (isFilled && tank.tank < Infinity && control >= 0)
    facts.assume(`the tank of ${source.name} is filled again whenever it is empty`);
  if (curve.fuelUnknown && control >= 0)
    facts.assume(`what ${source.name} burns is not known, and its tank is taken never to be empty`);
  return {
    ...common,
    rated: facts.aboveZero(ratedPower(source, context), 'W'),
    ...curve,
    ...tank,
  };
}

type FuelCurve = Pick<SourcePlan, 'burnShare' | 'burnRate' | 'fuelUnknown'>;

/**
 * Fuel by share of the rating, from the set's own figures, else from the table of its fuel. A set whose fuel is not known is played all the
 * same: nothing else rests on it.
 */
function fuelCurve(source: Instance, context: Preparation['context']): FuelCurve {
  const none = { burnShare: new Float64Array(0), burnRate: new Float64Array(0) };
  const found = ratedPower(source, context);
  // Without a rating nothing is played at all, which is told with the rating.
  if (found.kind !== 'known') return { ...none, fuelUnknown: found };
  const rated = found.derivation;
  const own = burnPoints(source, rated);
  const last = own ? Math.max(...own.map(({ load }) => load)) : 1;
  const shares = [...new Set([...FUEL_SHARES, ...(own ?? []).map(({ load }) => load)])]
    .filter((share) => share <= last)
    .sort((a, b) => a - b);
  const fuel = context.maybe(source, 'fuel');
  if (!own && !fuel) return { ...none, fuelUnknown: missing(`burn or fuel of ${source.name}`) };
  const rateAt = (share: number): Result => {
    const load = derive('load share', share, '');
    return own
      ? burnAt(own, load)
      : callFunction(calculation('fuelRate'), { rated, load, fuel, waveform: context.maybe(source, 'waveform') });
  };
  // Below its first figure a set burns half of that at least, which makes a corner of its own in the curve.
  const first = own && own.length > 1 ? [...own].sort((a, b) => a.load - b.load) : undefined;
  const corner = first ? cornerOf(first[0]!, first[1]!) : undefined;
  const all = corner !== undefined ? [...shares, corner].sort((a, b) => a - b) : shares;
  const rates = collect(all.map(rateAt));
  if (!rates.ok) return { ...none, fuelUnknown: rates.result };
  return {
    burnShare: Float64Array.from(all),
    burnRate: Float64Array.from(rates.derivations, (rate) => numberIn(rate, 'L/h') * LITRES_PER_HOUR),
  };
}

/** Share at which the first line of burn figures, carried on, falls to half the first figure; undefined when it does not above 0. */
function cornerOf(
  first: { readonly load: number; readonly rate: number },
  second: { readonly load: number; readonly rate: number },
): number | undefined {
  const slope = (second.rate - first.rate) / (second.load - first.load);
  const share = first.load - first.rate / 2 / slope;
  return slope > 0 && share > 0 && share < first.load ? share : undefined;
}

/* ---- who feeds what ---- */

export interface Members {
  readonly sources: readonly Instance[];
  readonly inverters: readonly Instance[];
  readonly loads: readonly Instance[];
  readonly regulators: readonly Instance[];
  readonly plans: Pick<Plan, 'loads' | 'regulators' | 'inverters' | 'buses'>;
}

/** Who feeds what while some of the sources are live (bit by position). */
export function configurationOf(live: number, members: Members, preparation: Preparation): Configuration {
  const { context, facts } = preparation;
  const { sources, inverters, loads, regulators, plans } = members;
  const acSources = sources.filter((_, at) => (live >> at) & 1);
  const circuit = circuitState(context.system, context.graph, {
    id: 'play',
    title: 'as simulated',
    acSources,
    dcSources: [],
    plugged: preparation.plugged,
  });
  const feederAt = (key: string, without?: Instance): Instance | undefined => {
    const feeders = [...(circuit.supply.get(key) ?? [])].filter((feeder) => feeder !== without);
    return feeders.find((feeder) => sources.includes(feeder)) ?? feeders[0];
  };
  const positionOf = (feeder: Instance | undefined): number => {
    if (!feeder) return -1;
    const source = sources.indexOf(feeder);
    return source >= 0 ? source : sources.length + inverters.indexOf(feeder);
  };
  const passes = Uint8Array.from(inverters, (inverter) => (circuit.passing.has(inverter) ? 1 : 0));
  const behind = inverters.map((inverter, at) => (passes[at] ? loadsBehind(inverter, context) : new Set<Instance>()));

  const loadPassage = new Int32Array(loads.length).fill(-1);
  const parts = loads.map((load, at) => {
    if (plans.loads[at]!.bus >= 0) return [];
    const key = keyOfLoad(load);
    const feeder = feederAt(key);
    if (!feeder) return [];
    loadPassage[at] = behind.findIndex((set) => set.has(load));
    // Inverters carry a load together; a source that is there carries it alone.
    const together = sources.includes(feeder) ? [feeder] : [...(circuit.supply.get(key) ?? [])];
    return feedParts(load, together, context).flatMap(({ fraction, among }, group) =>
      among.map(({ feeder: each, weight }) => ({
        feeder: positionOf(each),
        group,
        fraction,
        weight,
        legs: legsPerWatt(load, each, plans.loads[at]!.powerFactor, context, facts),
      })),
    );
  });

  const chargerFeeder = new Int32Array(regulators.length).fill(-1);
  const chargerLegs = new Float64Array(3 * regulators.length);
  const chargerMost = new Float64Array(regulators.length);
  regulators.forEach((charger, at) => {
    if (!isFedByAlternating(plans.regulators[at]!)) return;
    const supply = chargingOf(charger)!.supply;
    const feeder = supply.kind === 'alternating' ? feederAt(`${charger.name}.${supply.at}`, charger) : undefined;
    if (!feeder) return;
    const inverter = inverters.indexOf(feeder);
    if (inverter >= 0 && plans.inverters[inverter]!.bus === plans.regulators[at]!.bus) {
      facts.assume(`${charger.name} does not charge the bank it is fed from through ${feeder.name}`);
      return;
    }
    chargerFeeder[at] = positionOf(feeder);
    const found = inputPowerFactor(charger, context);
    const legs = legsPerWatt(
      charger,
      feeder,
      found.kind === 'known' ? numberIn(found.derivation, '') : 1,
      context,
      facts,
    );
    chargerLegs.set(legs, 3 * at);
    chargerMost[at] = inputWatts(charger, feeder, context, facts);
  });

  const passageFeeders = inverters.map((inverter, at) => {
    const input = passingOf(inverter)?.from[0];
    return passes[at] && input !== undefined ? feederAt(`${inverter.name}.${input}`, inverter) : undefined;
  });
  const passageAmperes = Float64Array.from(inverters, (inverter, at) =>
    Math.min(
      ...[inputSettingOn(inverter, passageFeeders[at], context), context.maybe(inverter, 'transferRating')].map(
        (stated) => (stated ? numberIn(stated, 'A') : Infinity),
      ),
    ),
  );
  const passageSource = Int32Array.from(passageFeeders, (feeder) => (feeder ? sources.indexOf(feeder) : -1));
  const passageLegs = new Float64Array(3 * inverters.length);
  passageSource.forEach((source, at) => {
    if (source >= 0) passageLegs.set(legsPerWatt(inverters[at]!, sources[source]!, 1, context, facts), 3 * at);
  });
  const busOrder = orderOfBuses(members, chargerFeeder, sources.length);
  const feederOf = (position: number): Instance => sources[position] ?? inverters[position - sources.length]!;
  const takers = parts.flatMap((own, at) => own.map(({ feeder }) => ({ load: loads[at]!, feeder: feederOf(feeder) })));
  const { lines, isAnyUnknown } = linesOf(
    [
      ...takers.map(({ load, feeder }, at): Taker => ({ at, of: 'entry', key: keyOfLoad(load), feeder })),
      ...regulators.flatMap((charger, at): Taker[] => {
        const supply = chargingOf(charger)?.supply;
        return chargerFeeder[at]! >= 0 && supply?.kind === 'alternating'
          ? [{ at, of: 'charger', key: `${charger.name}.${supply.at}`, feeder: feederOf(chargerFeeder[at]!) }]
          : [];
      }),
    ],
    circuit,
    context,
  );
  return {
    lines,
    isAnyLineUnknown: isAnyUnknown,
    feeds: feedPlan(parts),
    loadPassage,
    chargerFeeder,
    chargerLegs,
    chargerMost,
    passes,
    passageAmperes,
    passageSource,
    passageLegs,
    busOrder,
  };
}

interface FeedEntry {
  readonly feeder: number;
  readonly group: number;
  readonly fraction: number;
  readonly weight: number;
  readonly legs: readonly number[];
}

function feedPlan(parts: readonly (readonly FeedEntry[])[]): FeedPlan {
  const all = parts.flat();
  const start = new Int32Array(parts.length + 1);
  parts.forEach((each, at) => (start[at + 1] = start[at]! + each.length));
  return {
    start,
    feeder: Int32Array.from(all, ({ feeder }) => feeder),
    group: Int32Array.from(all, ({ group }) => group),
    fraction: Float64Array.from(all, ({ fraction }) => fraction),
    weight: Float64Array.from(all, ({ weight }) => weight),
    legs: Float64Array.from(all.flatMap(({ legs }) => legs)),
  };
}

/** Buses so that each comes after those it feeds through inverters and converters. Chargers that would close a ring are let go. */
function orderOfBuses({ plans }: Members, chargerFeeder: Int32Array, sources: number): Int32Array {
  const feeds = (from: number, to: number): boolean =>
    plans.regulators.some(
      (regulator, at) =>
        regulator.bus === to &&
        (regulator.fromBus === from ||
          (chargerFeeder[at]! >= sources && plans.inverters[chargerFeeder[at]! - sources]!.bus === from)),
    );
  const order: number[] = [];
  const left = new Set(Array.from({ length: plans.buses }, (_, bus) => bus));
  while (left.size > 0) {
    const next = [...left].find((bus) => ![...left].some((other) => other !== bus && feeds(bus, other)));
    if (next === undefined) {
      // A ring: chargers fed by inverters let go, and what is left has an order unless converters alone make a ring.
      let isCut = false;
      chargerFeeder.forEach((feeder, at) => {
        if (feeder >= sources) [chargerFeeder[at], isCut] = [-1, true];
      });
      if (isCut) continue;
      order.push(...left);
      break;
    }
    left.delete(next);
    order.push(next);
  }
  return Int32Array.from(order);
}
