import { type Derivation, type Result, derive, known, missing, numberIn } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import type { CircuitState } from '../model/network.js';
import type { Instance } from '../model/types.js';
import { chargersOf, isCharging } from './bank.js';
import { lowEnd } from './converters.js';
import { collect, sumOf, worstOfStates } from './worst.js';

const DAY = 86400;

/** Mean share of the day a load runs: from its profile and duty; 1 for a continuous load without a profile. */
function meanShare(load: Instance, context: DesignContext): Derivation {
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

/** Mean DC current that the loads of a bank take while its chargers work, in a state. */
export function loadIn(bank: Instance, circuit: CircuitState, context: DesignContext): Result {
  const voltageResult = context.quantity(bank, 'bankVoltage');
  const reached = [...new Set(context.graph.nodesOf(bank).flatMap((node) => [...context.graph.reach(node).values()]))];
  const parts: Result[] = [];
  const mean = (load: Instance, efficiency: Derivation | undefined): Result => {
    const all = collect([context.quantity(load, 'totalPower'), voltageResult]);
    if (!all.ok) return all.result;
    const [power, voltage] = all.derivations as [Derivation, Derivation];
    const share = meanShare(load, context);
    const eta = efficiency ? numberIn(efficiency, '') : 1;
    return known(
      derive(
        `mean current of ${load.name}`,
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
    if (instance.kind === 'inverter' && terminal.name === 'dc' && circuit.inverting.has(instance))
      parts.push(...inverterParts(instance, circuit, context, mean, voltageResult));
  }
  const all = collect(parts);
  return all.ok ? known(sumOf('steady load current', 'I_load', 'A', all.derivations)) : all.result;
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
    parts.push(
      known(
        derive(`idle current of ${inverter.name}`, numberIn(idle, 'W') / numberIn(voltageResult.derivation, 'V'), 'A', {
          symbol: `I_0_${inverter.name}`,
          formula: 'P_0/U_nom',
          inputs: [idle, voltageResult.derivation],
        }),
      ),
    );
  }
  return parts;
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
