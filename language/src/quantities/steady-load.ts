import { type Derivation, type Result, derive, known, missing, numberIn } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { CircuitState } from '../model/network.js';
import type { Instance } from '../model/types.js';
import { chargersOf, chargingCurrent, isCharging } from './bank.js';
import { chargeEfficiency, chargeVoltage, inputPowerFactor, leftByLoads, loadsBehind } from './converters.js';
import { lowEnd } from './ends.js';
import { connect, missingFrom, systemOf } from './supply.js';
import { collect, sumOf, worstOfStates } from './worst.js';

const DAY = 86400;

/** Mean share of the day a load runs: from its profile and duty; 1 for a continuous load without a profile. */
export function meanShare(load: Instance, context: DesignContext): Derivation {
  const profile = load.properties.get('profile')?.value;
  const duty = context.maybe(load, 'duty');
  const byProfile =
    profile?.type === 'profile'
      ? profile.windows.reduce((sum, window) => sum + ((window.to - window.from) / DAY) * window.share.value, 0)
      : 1;
  const share = byProfile * (duty ? numberIn(duty, '') : 1);
  const notes = profile || duty ? [] : ['no profile or duty is stated: taken as running all the time'];
  return derive(`mean share of ${load.name}`, share, '', { symbol: 's', notes, ...(duty ? { inputs: [duty] } : {}) });
}

/** Share of the day an inverter is switched on. */
export function onShare(inverter: Instance, context: DesignContext): Derivation {
  const hours = context.maybe(inverter, 'onTime');
  return derive(`share of the day ${inverter.name} is on`, hours ? numberIn(hours, 's') / DAY : 1, '', {
    symbol: 's',
    ...(hours ? { formula: 't_on/24 h', inputs: [hours] } : {}),
  });
}

/** Whether a load may run at a time of the day in seconds: by its profile, else always. */
function runsAt(load: Instance, seconds: number): boolean {
  const profile = load.properties.get('profile')?.value;
  if (profile?.type !== 'profile') return true;
  const isIn = (from: number, to: number): boolean =>
    (seconds >= from && seconds < to) || (seconds + DAY >= from && seconds + DAY < to);
  return profile.windows.some((window) => window.share.value > 0 && isIn(window.from, window.to));
}

const runsAlways = (load: Instance): boolean => {
  const profile = load.properties.get('profile')?.value;
  return (
    profile?.type !== 'profile' || profile.windows.some(({ from, to, share }) => to - from >= DAY && share.value > 0)
  );
};

/** Loads that may run at the same time of the day. `at` says when, as `06:30`; undefined where all of them always may. */
export interface Together {
  readonly loads: readonly Instance[];
  readonly at?: string;
}

const clock = (seconds: number): string =>
  `${String(Math.floor(seconds / 3600)).padStart(2, '0')}:${String(Math.floor((seconds % 3600) / 60)).padStart(2, '0')}`;

/** More sets than this are not told apart: all loads then count at once. */
const MOST_SETS = 24;

/**
 * The sets of loads that may run at the same time of the day by their profiles, none of them inside another. What runs together can only
 * grow where a window begins. A load counts with all of its power in its windows: a share of power there is most often a share of time.
 */
export function runningTogether(loads: readonly Instance[]): readonly Together[] {
  if (loads.every(runsAlways)) return [{ loads }];
  const starts = loads.flatMap((load) => {
    const profile = load.properties.get('profile')?.value;
    return profile?.type === 'profile' ? profile.windows.map(({ from }) => from % DAY) : [];
  });
  const times = [...new Set([0, ...starts])].sort((a, b) => a - b);
  const sets: { readonly running: ReadonlySet<Instance>; readonly at: string }[] = [];
  for (const seconds of times) {
    const running = new Set(loads.filter((load) => runsAt(load, seconds)));
    const isInside = (inner: ReadonlySet<Instance>, outer: ReadonlySet<Instance>): boolean =>
      inner.size <= outer.size && [...inner].every((load) => outer.has(load));
    if (sets.some((each) => isInside(running, each.running))) continue;
    for (let index = sets.length - 1; index >= 0; index -= 1)
      if (isInside(sets[index]!.running, running)) sets.splice(index, 1);
    sets.push({ running, at: clock(seconds) });
    if (sets.length > MOST_SETS) return [{ loads }];
  }
  return sets.map(({ running, at }) => ({ loads: loads.filter((load) => running.has(load)), at }));
}

/** All of a load’s power, for the most that all loads take at once. */
export const fullShare = (load: Instance): Derivation =>
  derive(`share of ${load.name}`, 1, '', { symbol: 's', notes: ['running at full power'] });

/** Mean share of some hours of the day (s after midnight, `to` may lie behind midnight) a load runs: from its profile and duty. */
export function shareWithin(from: number, to: number): typeof meanShare {
  const until = to > from ? to : to + DAY;
  return (load, context) => {
    const profile = load.properties.get('profile')?.value;
    const duty = context.maybe(load, 'duty');
    const overlap = (start: number, end: number): number =>
      [-DAY, 0, DAY].reduce(
        (sum, shift) => sum + Math.max(0, Math.min(end + shift, until) - Math.max(start + shift, from)),
        0,
      );
    const byProfile =
      profile?.type === 'profile'
        ? profile.windows.reduce((sum, window) => sum + overlap(window.from, window.to) * window.share.value, 0) /
          (until - from)
        : 1;
    return derive(`mean share of ${load.name}`, byProfile * (duty ? numberIn(duty, '') : 1), '', {
      symbol: 's',
      ...(duty ? { inputs: [duty] } : {}),
    });
  };
}

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
  const voltageResult = context.quantity(bank, 'bankVoltage');
  const reached = [...new Set(context.graph.nodesOf(bank).flatMap((node) => [...context.graph.reach(node).values()]))];
  const parts: Result[] = [];
  const mean = (load: Instance, efficiency: Derivation | undefined): Result => {
    const all = collect([context.quantity(load, 'totalPower'), voltageResult]);
    if (!all.ok) return all.result;
    const [power, voltage] = all.derivations as [Derivation, Derivation];
    const share = shareOf(load, context);
    const eta = efficiency ? numberIn(efficiency, '') : 1;
    return known(
      derive(
        shareOf === fullShare ? `current of ${load.name}` : `mean current of ${load.name}`,
        (numberIn(power, 'W') * numberIn(share, '')) / (eta * numberIn(voltage, 'V')),
        'A',
        {
          symbol: `I_${load.name}`,
          formula: efficiency ? 'P·s/(η·U_nom)' : 'P·s/U_nom',
          inputs: [power, share, voltage, ...(efficiency ? [efficiency] : [])],
        },
      ),
    );
  };
  for (const { instance, terminal } of reached) {
    if (instance.kind === 'load') parts.push(mean(instance, undefined));
    if (instance.kind === 'converter' && terminal.name === 'in') parts.push(...converterParts(instance, context, mean));
    if (instance.kind === 'inverter' && terminal.name === 'dc' && circuit.inverting.has(instance))
      parts.push(...inverterParts(instance, circuit, context, mean, voltageResult));
  }
  const all = collect(parts);
  const name = shareOf === fullShare ? 'current of all loads' : 'steady load current';
  return all.ok ? known(sumOf(name, 'I_load', 'A', all.derivations)) : all.result;
}

/** The loads behind a DC-to-DC converter; a bank behind it charges and is no load. */
function converterParts(
  converter: Instance,
  context: DesignContext,
  mean: (load: Instance, efficiency: Derivation | undefined) => Result,
): Result[] {
  const out = context.graph.nodes.get(`${converter.name}.out`);
  const fed = out ? [...context.graph.reach(out).values()].map((node) => node.instance) : [];
  const loads = [...new Set(fed.filter(({ kind }) => kind === 'load'))];
  if (loads.length === 0 || fed.some(({ kind }) => kind === 'battery')) return [];
  const efficiency = context.maybe(converter, 'efficiency');
  if (!efficiency) return [missing(`efficiency of ${converter.name}`)];
  return loads.map((load) => mean(load, lowEnd(efficiency)));
}

function inverterParts(
  inverter: Instance,
  circuit: CircuitState,
  context: DesignContext,
  mean: (load: Instance, efficiency: Derivation | undefined) => Result,
  voltageResult: Result,
): Result[] {
  const parts: Result[] = [];
  const efficiency = context.maybe(inverter, 'efficiency');
  const loads = new Set<Instance>();
  for (const [key, feeders] of circuit.supply) {
    const node = feeders.has(inverter) ? context.graph.nodes.get(key) : undefined;
    if (node?.instance.kind === 'load') loads.add(node.instance);
  }
  if (loads.size > 0 && !efficiency) parts.push(missing(`efficiency of ${inverter.name}`));
  else for (const load of loads) parts.push(mean(load, efficiency && lowEnd(efficiency)));
  const idle = context.maybe(inverter, 'idle');
  if (idle && voltageResult.kind === 'known') {
    const share = onShare(inverter, context);
    const always = numberIn(share, '') === 1;
    parts.push(
      known(
        derive(
          `idle current of ${inverter.name}`,
          (numberIn(idle, 'W') * numberIn(share, '')) / numberIn(voltageResult.derivation, 'V'),
          'A',
          {
            symbol: `I_0_${inverter.name}`,
            formula: always ? 'P_0/U_nom' : 'P_0·s/U_nom',
            inputs: [idle, ...(always ? [] : [share]), voltageResult.derivation],
          },
        ),
      ),
    );
  }
  return parts;
}

/**
 * What a charger really gives a bank in a state: its limit, but no more than its input limit lets through beside the loads it passes
 * on (by their mean power), at its highest charge voltage.
 */
export function deliveredIn(charger: Instance, bank: Instance, circuit: CircuitState, context: DesignContext): Result {
  const most = chargingCurrent(charger, bank, context);
  const limit = context.maybe(charger, 'inputLimit');
  const terminal = charger.kind === 'inverter' ? 'input' : 'ac';
  const [source] = circuit.supply.get(`${charger.name}.${terminal}`) ?? [];
  const system = source && systemOf(source);
  if (!limit || most.kind !== 'known') return most;
  if (!system) return source ? missing(`voltage of ${source.name}`) : most;
  const connection = connect(charger, system, context);
  if (missingFrom(connection)) return missing(connection.missing);
  const loads = circuit.passing.has(charger) ? [...loadsBehind(charger, context)] : [];
  const facts = collect([
    chargeEfficiency(charger, context),
    inputPowerFactor(charger, context),
    chargeVoltage(charger, context),
    ...loads.map((load) => context.quantity(load, 'totalPower')),
  ]);
  if (!facts.ok) return facts.result;
  const [efficiency, factor, voltage, ...powers] = facts.derivations as [Derivation, Derivation, Derivation];
  const bound = derive(
    'input power',
    connection.factor * numberIn(limit, 'A') * numberIn(connection.voltage, 'V') * numberIn(factor, ''),
    'W',
    { symbol: 'P', formula: 'I_limit·U·pf', inputs: [limit, connection.voltage, factor], governing: 'its input limit' },
  );
  const passed = (powers as Derivation[]).map((power, index) => {
    const share = meanShare(loads[index]!, context);
    return derive(`mean power of ${loads[index]!.name}`, numberIn(power, 'W') * numberIn(share, ''), 'W', {
      formula: 'P·s',
      inputs: [power, share],
    });
  });
  const left = leftByLoads(bound, bound, passed, 'W');
  const current = (numberIn(left, 'W') * numberIn(efficiency, '')) / numberIn(voltage, 'V');
  if (numberIn(most.derivation, 'A') <= current) return most;
  return known(
    derive(`output current of ${charger.name}`, current, 'A', {
      symbol: `I_${charger.name}`,
      formula: 'P·η/U_max',
      inputs: [left, efficiency, voltage],
      governing: left.governing ?? 'its input limit',
    }),
  );
}

/** What the chargers of a bank give and its loads take meanwhile, in one source state. */
export interface Balance {
  readonly charge: Derivation;
  readonly load: Derivation;
}

/**
 * The source state in which most is left for a bank: what its chargers really give against what its loads take in that same state. Undefined
 * where nothing charges it.
 */
export function bestBalance(bank: Instance, context: DesignContext): Result | Balance | undefined {
  let best: Balance | undefined;
  const left = ({ charge, load }: Balance): number => numberIn(charge, 'A') - numberIn(load, 'A');
  for (const { state, circuit } of context.circuitStates) {
    const working = chargersOf(bank, context).filter((charger) =>
      isCharging(charger, context, state.dcSources, circuit.supply),
    );
    if (working.length === 0) continue;
    const given = collect(working.map((charger) => deliveredIn(charger, bank, circuit, context)));
    const load = loadIn(bank, circuit, context);
    if (!given.ok) return given.result;
    if (load.kind !== 'known') return load;
    const governing = `with ${state.title}`;
    const balance = {
      charge: { ...sumOf('charge current of all chargers', 'I_chg', 'A', given.derivations), governing },
      load: { ...load.derivation, governing },
    };
    if (!best || left(balance) > left(best)) best = balance;
  }
  return best;
}

/** Mean current the loads take from a bank's bus while it is charged, in the charging state where it is largest. */
export function steadyLoadCurrent(bank: Instance, context: DesignContext): Result {
  const charging = context.circuitStates.filter(({ state, circuit }) =>
    chargersOf(bank, context).some((charger) => isCharging(charger, context, state.dcSources, circuit.supply)),
  );
  if (charging.length === 0) return missing(`a charger of ${bank.name}`);
  return worstOfStates(
    'steady load current',
    'I_load',
    'A',
    charging.map(({ state, circuit }) => ({ state, result: loadIn(bank, circuit, context) })),
  );
}
