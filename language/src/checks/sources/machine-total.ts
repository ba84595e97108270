import { type Derivation, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { SourceState } from '../../model/network.js';
import { isAcSource, machineOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { demandByState } from '../../quantities/supply/source-demand.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { defineCheck, type Verdict, atMost } from '../define.js';
import { notChecked, pairText, passed, placeOf, whyOf } from '../verdicts.js';
import { PRACTICE, termsOf } from './shared.js';

/** The outlets of each machine of which several are stated, in the order of the design. */
function machines(context: DesignContext): ReadonlyMap<string, readonly Instance[]> {
  const byName = new Map<string, Instance[]>();
  for (const source of context.system.instances.filter(isAcSource)) {
    const name = machineOf(source);
    if (name === undefined) continue;
    const outlets = byName.get(name);
    if (outlets) outlets.push(source);
    else byName.set(name, [source]);
  }
  return new Map([...byName].filter(([, outlets]) => outlets.length > 1));
}

/** The most that an outlet gives of the machine's power: a set by its rating at the site, a vehicle by what is stated. */
const powerOf = (outlet: Instance, context: DesignContext) =>
  context.quantityNames(outlet).includes('usablePower')
    ? context.quantity(outlet, 'usablePower')
    : context.fact(outlet, 'rated');

/** Active power of each outlet in the states in which several of them feed, most at any time of the day. */
function together(outlets: readonly Instance[], context: DesignContext) {
  const byState = new Map<SourceState, Map<Instance, Derivation>>();
  const open: Verdict[] = [];
  for (const outlet of outlets)
    for (const { state, result, consumers } of demandByState('power', 'P', 'W', outlet, context)) {
      if (consumers.length === 0 || !outlets.some((other) => other !== outlet && state.acSources.includes(other)))
        continue;
      if (result.kind !== 'known') {
        open.push(notChecked(outlet, result));
        continue;
      }
      const demands = byState.get(state) ?? new Map<Instance, Derivation>();
      const before = demands.get(outlet);
      const named = {
        ...result.derivation,
        name: `power of ${outlet.name}`,
        symbol: `P_${outlet.name}`,
        subject: outlet.name,
      };
      if (!before || numberIn(named, 'W') > numberIn(before, 'W')) demands.set(outlet, named);
      byState.set(state, demands);
    }
  return { byState, open };
}

function* judgeMachine(name: string, outlets: readonly Instance[], context: DesignContext): Generator<Verdict> {
  const [first] = outlets;
  const { byState, open } = together(outlets, context);
  const asked = [...byState].filter(([, demands]) => demands.size > 1);
  if (asked.length === 0) return yield* open;
  const powers = collect(outlets.map((outlet) => powerOf(outlet, context)));
  if (!powers.ok) return yield notChecked(first!, powers.result);
  const power = powers.derivations.reduce((so, next) => (numberIn(next, 'W') < numberIn(so, 'W') ? next : so));
  yield* open;
  for (const [state, demands] of asked) {
    const demand = sumOf(`power of ${name}`, 'P', 'W', [...demands.values()]);
    const numbers = { demand, limit: power };
    if (numberIn(demand, 'W') <= numberIn(power, 'W') * (1 + 1e-9)) {
      yield passed(first!, atMost(demand, power), numbers);
      continue;
    }
    const [takes, gives] = pairText(demand, power);
    yield {
      verdict: 'failed',
      subject: first!.path,
      place: placeOf(first!, 'machine'),
      headline: `The outlets of ${name} give ${gives} together; ${takes} are drawn`,
      ...whyOf(`with ${state.title}`, termsOf(demand)),
      consequence: 'the machine trips or sags',
      advice: 'Run less at once, or feed less from it.',
      use: atMost(demand, power),
      numbers,
      related: [...demands.keys()].map((outlet) => ({
        place: outlet.place,
        text: `${outlet.name} is an outlet of it`,
      })),
    };
    return;
  }
}

export const machineTotal = defineCheck({
  id: 'machine-total',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The outlets of one machine together are loaded beyond what the machine gives.',
    guards: 'Each outlet is within its breaker, and the generator or the vehicle behind them trips all the same.',
    how: 'Sources with the same `machine` are outlets of one generator or vehicle, each with its own plug, breaker, voltage and legs. In every source state in which several of them feed, what they feed is added, each at the time of the day at which it is most, and held against the least of what they state as the power of the machine: running power at the site for generators, `rated` for vehicles.',
    fix: 'Share the loads so that the outlets together stay within the machine.',
    sources: [PRACTICE],
    failing: `design Camp {
  generator Big { rated: 3 kW   apparent: 3 kVA   voltage: 120 V   outlet: L5-30   machine: "open set" }
  generator Small { rated: 3 kW   apparent: 3 kVA   voltage: 120 V   outlet: NEMA-5-20   machine: "open set" }
  load Stove { power: 2 kW   voltage: 120 V   powerFactor: 1 }
  load Heater { power: 1.5 kW   voltage: 120 V   powerFactor: 1 }
  run A: Big -> Stove { size: 10 AWG   length: 5 m }
  run B: Small -> Heater { size: 12 AWG   length: 5 m }
}
`,
    passing: `design Camp {
  generator Big { rated: 3 kW   apparent: 3 kVA   voltage: 120 V   outlet: L5-30   machine: "open set" }
  generator Small { rated: 3 kW   apparent: 3 kVA   voltage: 120 V   outlet: NEMA-5-20   machine: "open set" }
  load Stove { power: 1.5 kW   voltage: 120 V   powerFactor: 1 }
  load Heater { power: 1 kW   voltage: 120 V   powerFactor: 1 }
  run A: Big -> Stove { size: 10 AWG   length: 5 m }
  run B: Small -> Heater { size: 12 AWG   length: 5 m }
}
`,
  },
  judge: function* (context) {
    for (const [name, outlets] of machines(context)) yield* judgeMachine(name, outlets, context);
  },
});
