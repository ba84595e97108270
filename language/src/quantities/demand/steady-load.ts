import {
  type Derivation,
  type Result,
  derive,
  known,
  missing,
  numberIn,
  inState,
  refused,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import {
  chargingOf,
  drawsOf,
  inputBusOf,
  invertingOf,
  isBank,
  isLoad,
  isBusCharger,
  sourceOf,
} from '../../model/roles.js';
import { chargingCurrent } from '../storage/bank.js';
import { chargeVoltage } from '../supply/chargers.js';
import { chargingAround } from '../supply/charging-around.js';
import { feedOf } from './feeding.js';
import { driveOf } from '../plant/drive.js';
import { isUncertain, workingChargers } from '../supply/joined.js';
import { chargeEfficiency, chargerOutput } from '../plant/chargers.js';
import { inverterCurve, inverterInput } from '../plant/inverters.js';
import { lostBefore, wiredAmperes } from '../../solve/conductor-losses.js';
import { conductorLoss, givenBy } from '../network/feeder-losses.js';
import { Facts } from '../plant/facts.js';
import { busesOf } from '../plant/wiring.js';
import { type ShareOf, fullShare, meanShare, momentsOf, powerOf } from './steady-share.js';
import { collect, sumOf, whenKnown, worstOfStates } from '../worst.js';

/** Share below which a difference is one of rounding. */
const LEAST_MORE = 1e-9;

/**
 * DC current that the loads of a bank take, in a state: on average while its chargers work, or with another share of the time at which each
 * load runs.
 */
export function loadIn(
  bank: Instance,
  circuit: CircuitState,
  context: DesignContext,
  shareOf: ShareOf = meanShare,
): Result {
  const voltage = context.quantity(bank, 'bankVoltage');
  if (voltage.kind !== 'known') return voltage;
  const reached = [...new Set(context.graph.nodesOf(bank).flatMap((node) => [...context.graph.reach(node).values()]))];
  const parts: Result[] = [];
  for (const { instance, terminal } of reached)
    for (const { at, to } of drawsOf(instance)) {
      if (at !== terminal.name) continue;
      if (to === 'use') {
        const ohms = busesOf(context, new Facts()).leads(instance, terminal.name);
        parts.push(
          whenKnown(throughCable(instance, ohms, voltage.derivation, shareOf, context), (power) =>
            taken(instance, known(power), voltage.derivation),
          ),
        );
      }
      if (to === 'convert') parts.push(...converterParts(instance, shareOf, voltage.derivation, context));
      if (to === 'invert' && circuit.inverting.has(instance))
        parts.push(inverterPart(instance, circuit, shareOf, voltage.derivation, context));
    }
  const all = collect(parts);
  const name = shareOf === fullShare ? 'current of all loads' : 'steady load current';
  return all.ok ? known(sumOf(name, 'I_load', 'A', all.derivations)) : all.result;
}

/** The loads that draw on a bank in a state, through inverters and converters too. */
export function loadsIn(bank: Instance, circuit: CircuitState, context: DesignContext): Instance[] {
  const reached = context.graph.nodesOf(bank).flatMap((node) => [...context.graph.joinedTo(node)]);
  return [
    ...new Set(
      reached.flatMap((each) => {
        if (isLoad(each)) return [each];
        if (circuit.inverting.has(each)) return feedOf(each, circuit, context).map(({ load }) => load);
        const behind = behindConverter(each, context);
        return behind.some(isBank) ? [] : behind.filter(isLoad);
      }),
    ),
  ];
}

/** What a converter feeds at its output; empty for other things. */
function behindConverter(thing: Instance, context: DesignContext): readonly Instance[] {
  const out = isBusCharger(thing) ? context.graph.nodes.get(`${thing.name}.${chargingOf(thing)!.at}`) : undefined;
  return out ? context.graph.joinedTo(out) : [];
}

/**
 * What a load takes with what its cable (ohm, out and back) loses at a voltage before it, at each moment of the time that its share is a mean
 * of.
 */
function throughCable(
  load: Instance,
  ohms: number,
  voltage: Derivation,
  shareOf: ShareOf,
  context: DesignContext,
): Result {
  const power = powerOf(load, shareOf, context);
  const peak = context.quantity(load, 'totalPower');
  if (!(ohms > 0) || power.kind !== 'known' || peak.kind !== 'known') return power;
  const [volts, watts] = [numberIn(voltage, 'V'), numberIn(peak.derivation, 'W')];
  const amperes = momentsOf([load], shareOf, context).reduce(
    (sum, { weight, shares }) => sum + weight * wiredAmperes(ohms, watts * shares.get(load)!, volts),
    0,
  );
  const lost = derive(`loss in the cable of ${load.name}`, amperes * volts - numberIn(power.derivation, 'W'), 'W', {
    symbol: 'P_R',
    formula: 'R·I²',
    inputs: [derive('cable out and back', ohms, 'ohm', { symbol: 'R' }), { ...voltage, symbol: 'U' }],
    notes: ['at the voltage before the cable'],
  });
  return known(withLoss(`power of ${load.name} with its cable`, power.derivation, lost));
}

/** A power with what is lost for it; `own` is what the formula calls the power without. */
const withLoss = (name: string, power: Derivation, lost: Derivation, own = 'P_own'): Derivation =>
  derive(name, numberIn(power, 'W') + numberIn(lost, 'W'), 'W', {
    symbol: 'P',
    formula: `${own} + ${lost.symbol}`,
    inputs: [{ ...power, symbol: own }, lost],
  });

/** Current that a power takes at the nominal voltage of the bank. */
const taken = (thing: Instance, power: Result, voltage: Derivation): Result =>
  whenKnown(power, (watts) =>
    known(
      derive(`current of ${thing.name}`, numberIn(watts, 'W') / numberIn(voltage, 'V'), 'A', {
        symbol: `I_${thing.name}`,
        formula: 'P/U_nom',
        inputs: [{ ...watts, symbol: 'P' }, voltage],
      }),
    ),
  );

/** The loads behind a DC-to-DC converter; a bank behind it charges and is no load. */
function converterParts(converter: Instance, shareOf: ShareOf, voltage: Derivation, context: DesignContext): Result[] {
  const fed = behindConverter(converter, context);
  const loads = fed.filter(isLoad);
  if (loads.length === 0 || fed.some(isBank)) return [];
  const out = context.graph.nodes.get(`${converter.name}.${chargingOf(converter)!.at}`)!;
  const held = context.maybe(converter, 'output');
  const parts = loads.map((load) => {
    const node = context.graph.nodesOf(load)[0]!;
    const ohms = busesOf(context, new Facts()).between(out, node);
    const all = collect([
      held ? throughCable(load, ohms, held, shareOf, context) : powerOf(load, shareOf, context),
      chargeEfficiency(converter, context),
    ]);
    if (!all.ok) return all.result;
    const [power, efficiency] = all.derivations as [Derivation, Derivation];
    const input = derive(
      `power of ${load.name} before ${converter.name}`,
      numberIn(power, 'W') / numberIn(efficiency, ''),
      'W',
      { symbol: `P_${load.name}`, formula: 'P/η', inputs: [power, efficiency] },
    );
    return taken(load, known(input), voltage);
  });
  const lost = lostBeforeConverter(converter, loads, shareOf, voltage, context);
  return lost ? [...parts, taken(converter, known(lost), voltage)] : parts;
}

/** What the input cable of a converter loses while its loads take their share, together at each moment; undefined where it loses nothing. */
function lostBeforeConverter(
  converter: Instance,
  loads: readonly Instance[],
  shareOf: ShareOf,
  voltage: Derivation,
  context: DesignContext,
): Derivation | undefined {
  const buses = busesOf(context, new Facts());
  const ohms = buses.leads(converter, inputBusOf(converter)!);
  const efficiency = chargeEfficiency(converter, context);
  if (!(ohms > 0) || efficiency.kind !== 'known') return undefined;
  const out = context.graph.nodes.get(`${converter.name}.${chargingOf(converter)!.at}`)!;
  const held = context.maybe(converter, 'output');
  const volts = numberIn(voltage, 'V');
  const drawnBy = (load: Instance, share: number): number => {
    const power = context.quantity(load, 'totalPower');
    const watts = power.kind === 'known' ? numberIn(power.derivation, 'W') * share : 0;
    const wire = buses.between(out, context.graph.nodesOf(load)[0]!);
    const before = held ? numberIn(held, 'V') : 0;
    const own = wire > 0 && before > 0 ? before * wiredAmperes(wire, watts, before) : watts;
    return own / numberIn(efficiency.derivation, '');
  };
  const watts = momentsOf(loads, shareOf, context).reduce((sum, { weight, shares }) => {
    const drawn = loads.reduce((so, load) => so + drawnBy(load, shares.get(load)!), 0);
    return sum + weight * lostBefore(ohms, drawn, volts);
  }, 0);
  return derive(`loss in the input cable of ${converter.name}`, watts, 'W', {
    symbol: 'P_R',
    formula: 'R·I²',
    inputs: [derive('cable out and back', ohms, 'ohm', { symbol: 'R' }), { ...voltage, symbol: 'U' }],
    notes: ['what its loads draw together, at the voltage before the cable'],
  });
}

/** What an inverter takes for its share of the loads it feeds, its own losses included. */
function inverterPart(
  inverter: Instance,
  circuit: CircuitState,
  shareOf: ShareOf,
  voltage: Derivation,
  context: DesignContext,
): Result {
  const parts = collect(
    feedOf(inverter, circuit, context).map(({ load, share }) =>
      whenKnown(powerOf(load, shareOf, context), (power) =>
        share === 1
          ? known(power)
          : known(
              derive(`${power.name}, its share of ${inverter.name}`, numberIn(power, 'W') * share, 'W', {
                symbol: `P_${load.name}`,
                formula: 'P·a',
                inputs: [
                  power,
                  derive('share of this inverter', share, '', {
                    symbol: 'a',
                    notes: ['shared by rating among the inverters that feed it'],
                  }),
                ],
              }),
            ),
      ),
    ),
  );
  if (!parts.ok) return parts.result;
  const lost = conductorLoss(inverter, circuit, shareOf, new Map(), context);
  const output = sumOf(`output of ${inverter.name}`, 'P', 'W', [...parts.derivations, ...(lost ? [lost] : [])]);
  return whenKnown(inverterInput(inverter, output, context), (input) =>
    taken(inverter, known(overTime(inverter, input, voltage, circuit, shareOf, context)), voltage),
  );
}

/**
 * What an inverter takes on average: its own loss grows with the square of what it gives, so that loads that run together cost more than their
 * mean; and what its leads lose.
 */
function overTime(
  inverter: Instance,
  input: Derivation,
  voltage: Derivation,
  circuit: CircuitState,
  shareOf: ShareOf,
  context: DesignContext,
): Derivation {
  const curve = inverterCurve(inverter, context);
  if (!curve) return input;
  const moments = givenBy(inverter, circuit, shareOf, new Map(), context).map(({ weight, given, lost }) => ({
    weight,
    watts: curve(given + lost),
  }));
  const mean = moments.reduce((sum, { weight, watts }) => sum + weight * watts, 0);
  const more = mean - numberIn(input, 'W');
  const own =
    more > LEAST_MORE * mean
      ? withLoss(
          `mean power from the bus of ${inverter.name}`,
          input,
          derive(`loss of ${inverter.name} by loads that run together`, more, 'W', {
            symbol: 'P_v2',
            formula: 'mean(P_dc) − P_dc(mean)',
            notes: ['its loss at load grows with the square of what it gives, followed over the day'],
          }),
        )
      : input;
  const ohms = busesOf(context, new Facts()).leads(inverter, invertingOf(inverter)!.from);
  if (!(ohms > 0)) return own;
  const volts = numberIn(voltage, 'V');
  const lost = derive(
    `loss in the leads of ${inverter.name}`,
    moments.reduce((sum, { weight, watts }) => sum + weight * ohms * (watts / volts) ** 2, 0),
    'W',
    {
      symbol: 'P_R',
      formula: 'R·mean((P_dc/U_nom)²)',
      inputs: [derive('leads out and back', ohms, 'ohm', { symbol: 'R' }), own, voltage],
    },
  );
  return withLoss(`power of ${inverter.name} with its leads`, own, lost, 'P_b');
}

/**
 * What a charger really gives a bank in a state: the least of its bounds, those of its input and of its supply included, beside the loads
 * it passes on (by their mean power), at its highest charge voltage.
 */
export function deliveredIn(charger: Instance, bank: Instance, circuit: CircuitState, context: DesignContext): Result {
  if (isUncertain(charger))
    return known(
      derive(`output current of ${charger.name}`, 0, 'A', {
        symbol: `I_${charger.name}`,
        subject: charger.name,
        governing: [{ kind: driveOf(charger) ? 'stillWeather' : 'unstatedWeather', from: sourceOf(charger)!.from }],
      }),
    );
  const supply = chargingOf(charger)?.supply.kind;
  if (supply !== 'alternating') return chargingCurrent(charger, bank, context, 'least');
  const found = chargingAround(charger, circuit, context);
  if (!found.ok) return found.result;
  const voltage = chargeVoltage(charger, context);
  const around = voltage.kind === 'known' ? { ...found.around, volts: voltage.derivation } : found.around;
  return whenKnown(chargerOutput(charger, context, around, 'least'), (current) =>
    known({
      ...current,
      name: `output current of ${charger.name}`,
      symbol: `I_${charger.name}`,
      subject: charger.name,
    }),
  );
}

/** What the chargers of a bank give and its loads take meanwhile, in one source state. */
export interface Balance {
  readonly charge: Derivation;
  readonly load: Derivation;
  readonly state: SourceState;
  readonly circuit: CircuitState;
}

/**
 * The source state in which most is left for a bank: what its chargers really give against what its loads take in that same state. Undefined
 * where nothing charges it, refused where nothing does that can be counted on.
 */
export function bestBalance(bank: Instance, context: DesignContext): Result | Balance | undefined {
  let best: Balance | undefined;
  const uncertain = new Set<Instance>();
  const left = ({ charge, load }: Balance): number => numberIn(charge, 'A') - numberIn(load, 'A');
  for (const { state, circuit } of context.circuitStates) {
    const working = workingChargers(bank, state, circuit, context);
    for (const each of working) if (isUncertain(each)) uncertain.add(each);
    if (working.every(isUncertain)) continue;
    const given = collect(working.map((charger) => deliveredIn(charger, bank, circuit, context)));
    const load = loadIn(bank, circuit, context);
    if (!given.ok) return given.result;
    if (load.kind !== 'known') return load;
    const governing = [inState(state)];
    const balance = {
      charge: { ...sumOf('charge current of all chargers', 'I_chg', 'A', given.derivations), governing },
      load: { ...load.derivation, governing },
      state,
      circuit,
    };
    if (!best || left(balance) > left(best)) best = balance;
  }
  const [alone] = uncertain;
  return (
    best ??
    (alone &&
      refused(
        `what charges ${bank.name} is ${alone.name} alone, and ${
          driveOf(alone)
            ? `the ${sourceOf(alone)!.from} may be still at any one time`
            : `nobody has stated how much ${sourceOf(alone)!.from} there is`
        }`,
      ))
  );
}

/** Mean current the loads take from a bank's bus while it is charged, in the charging state where it is largest. */
export function steadyLoadCurrent(bank: Instance, context: DesignContext): Result {
  const charging = context.circuitStates.filter(
    ({ state, circuit }) => workingChargers(bank, state, circuit, context).length > 0,
  );
  if (charging.length === 0) return missing(`a charger of ${bank.name}`);
  return worstOfStates(
    'steady load current',
    'I_load',
    'A',
    charging.map(({ state, circuit }) => ({ state, result: loadIn(bank, circuit, context) })),
  );
}
