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
import { chargingOf, drawsOf, isBank, isLoad, isBusCharger, sourceOf } from '../../model/roles.js';
import { chargingCurrent } from '../storage/bank.js';
import { chargeVoltage } from '../supply/chargers.js';
import { chargingAround } from '../supply/charging-around.js';
import { feedOf } from './feeding.js';
import { driveOf } from '../plant/drive.js';
import { isUncertain, workingChargers } from '../supply/joined.js';
import { chargeEfficiency, chargerOutput } from '../plant/chargers.js';
import { inverterInput } from '../plant/inverters.js';
import { fullShare, meanShare, powerOf } from './steady-share.js';
import { collect, sumOf, whenKnown, worstOfStates } from '../worst.js';

/**
 * DC current that the loads of a bank take, in a state: on average while its chargers work, or with another share of the time at which each
 * load runs.
 */
export function loadIn(
  bank: Instance,
  circuit: CircuitState,
  context: DesignContext,
  shareOf: typeof meanShare = meanShare,
): Result {
  const voltage = context.quantity(bank, 'bankVoltage');
  if (voltage.kind !== 'known') return voltage;
  const reached = [...new Set(context.graph.nodesOf(bank).flatMap((node) => [...context.graph.reach(node).values()]))];
  const parts: Result[] = [];
  for (const { instance, terminal } of reached)
    for (const { at, to } of drawsOf(instance)) {
      if (at !== terminal.name) continue;
      if (to === 'use') parts.push(taken(instance, powerOf(instance, shareOf, context), voltage.derivation));
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
function converterParts(
  converter: Instance,
  shareOf: typeof meanShare,
  voltage: Derivation,
  context: DesignContext,
): Result[] {
  const fed = behindConverter(converter, context);
  const loads = fed.filter(isLoad);
  if (loads.length === 0 || fed.some(isBank)) return [];
  return loads.map((load) => {
    const all = collect([powerOf(load, shareOf, context), chargeEfficiency(converter, context)]);
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
}

/** What an inverter takes for its share of the loads it feeds, its own losses included. */
function inverterPart(
  inverter: Instance,
  circuit: CircuitState,
  shareOf: typeof meanShare,
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
  const output = sumOf(`output of ${inverter.name}`, 'P', 'W', parts.derivations);
  return taken(inverter, inverterInput(inverter, output, context), voltage);
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
