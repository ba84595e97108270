import { callFunction } from '../../calculate/index.js';
import {
  type Derivation,
  type Result,
  derive,
  known,
  missing,
  numberIn,
  becauseOf,
  refused,
} from '../../derivation/index.js';
import { query } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { CHEMISTRY_NAMES } from '../../reference/energy/chemistries.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import { groupOf } from '../storage/bank-group.js';
import { netChargeIn } from '../storage/charge-time.js';
import { refusedOutside } from '../plant/cell-limits.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { deliveredIn, loadIn } from '../demand/steady-load.js';
import { meanLoad } from '../storage/storage.js';
import { collect, sumOf, whenKnown } from '../worst.js';
import { mayBurnFuel } from '../../equipment/index.js';
import { isBank } from '../../model/roles.js';
import { inputPowerOn } from './chargers.js';
import { fuelRateWith } from './generator-fuel.js';
import { chargersOf, isCharging } from './joined.js';
import { calculation } from '../calculation.js';

/** What the chargers give and the loads take while one set alone charges a bank; undefined where it charges nothing. */
export function chargeBy(
  set: Instance,
  bank: Instance,
  context: QuantityContext,
):
  | {
      readonly charge: Result;
      readonly load: Result;
      readonly working: readonly Instance[];
      readonly state: SourceState;
      readonly circuit: CircuitState;
    }
  | undefined {
  const alone = context.circuitStates.find(
    ({ state }) => state.acSources.length === 1 && state.acSources[0] === set && state.dcSources.length === 0,
  );
  if (!alone) return undefined;
  const working = chargersOf(bank, context).filter((charger) =>
    isCharging(charger, context, alone.state.dcSources, alone.circuit.supply),
  );
  if (working.length === 0) return undefined;
  const all = collect(working.map((charger) => deliveredIn(charger, bank, alone.circuit, context)));
  const charge: Result = all.ok
    ? { kind: 'known', derivation: sumOf('charger output', 'I_chg', 'A', all.derivations) }
    : all.result;
  return { charge, load: loadIn(bank, alone.circuit, context), working, ...alone };
}

/** Time in a day a set must run, with no other source, to make up for what the loads of a bank draw; undefined where it does not charge it. */
export const dailyRunTimeFor = (set: Instance, bank: Instance, context: QuantityContext): Result | undefined =>
  dailyRunFor(set, bank, context)?.time;

interface DailyRun {
  readonly bank: Instance;
  readonly time: Result;
  /** What its chargers give less than they could while it runs, since the banks take no more: W at the set. */
  readonly spared?: Derivation;
}

function dailyRunFor(set: Instance, bank: Instance, context: QuantityContext): DailyRun | undefined {
  const by = chargeBy(set, bank, context);
  if (!by) return undefined;
  const facts = collect([meanLoad(bank, context), by.load, by.charge]);
  if (!facts.ok) return { bank, time: facts.result };
  const [load, loadRunning, charger] = facts.derivations as [Derivation, Derivation, Derivation];
  const outside = numberIn(load, 'A') > 0 ? refusedOutside(groupOf(bank, context), 'charge', context) : undefined;
  if (outside) return { bank, time: outside };
  // What its banks take of what is left: the limits that they send, their voltages and cables, and chargers that leave the rest to others.
  const taken = netChargeIn(bank, { ...by, charge: charger, load: loadRunning }, context);
  if (
    numberIn(load, 'A') > 0 &&
    taken.kind === 'known' &&
    numberIn(taken.derivation, 'A') <= 0 &&
    numberIn(charger, 'A') > numberIn(loadRunning, 'A')
  )
    return {
      bank,
      time: refused(
        `${bank.name} accepts nothing of what ${by.working.map(({ name }) => name).join(' and ')} can give`,
      ),
    };
  const limit = taken.kind === 'known' && numberIn(taken.derivation, 'A') > 0 ? taken.derivation : undefined;
  const chemistry = context.maybe(bank, 'chemistry');
  const isListed = (CHEMISTRY_NAMES as readonly unknown[]).includes(chemistry?.value);
  const time = callFunction(calculation('dailyRunTime'), {
    charger,
    load: { ...load, symbol: 'I_load' },
    loadRunning: { ...loadRunning, name: `${loadRunning.name} while it runs`, symbol: 'I_run' },
    ...(limit ? { limit } : {}),
    ...(isListed ? { chemistry } : {}),
  });
  const spared = limit ? sparedBy(set, by.working, charger, loadRunning, limit, context) : undefined;
  return { bank, time, ...(spared ? { spared } : {}) };
}

/** What chargers draw less from a set than at their limits, where banks take less than the chargers could give beside the loads. */
function sparedBy(
  set: Instance,
  chargers: readonly Instance[],
  charger: Derivation,
  loadRunning: Derivation,
  limit: Derivation,
  context: QuantityContext,
): Derivation | undefined {
  const share = 1 - (numberIn(loadRunning, 'A') + numberIn(limit, 'A')) / numberIn(charger, 'A');
  if (!(share > 0)) return undefined;
  const inputs = collect(chargers.map((each) => inputPowerOn(each, set, context)));
  // Without them the set counts with all that its chargers could draw: more fuel, not less.
  if (!inputs.ok) return undefined;
  const full = sumOf(
    'input of the chargers',
    'P_in',
    'W',
    inputs.derivations.map((each, at) => ({ ...each, symbol: `P_${chargers[at]!.name}` })),
  );
  return derive('what the chargers draw less than that', share * numberIn(full, 'W'), 'W', {
    symbol: 'ΔP',
    formula: 'P_in·(1 − (I_run + I_net)/I_chg)',
    inputs: [full, loadRunning, limit, charger],
  });
}

// Run time and fuel of a day both ask for it.
const LONGEST_RUN = query<Instance, LongestRun>('the longest run of a day');

type LongestRun = { readonly run: DailyRun; readonly time: Derivation } | Result;

/** The bank that makes a set run longest, with how long. */
const longestRun = (set: Instance, context: QuantityContext): LongestRun =>
  context.kept(LONGEST_RUN, set, () => findLongestRun(set, context));

function findLongestRun(set: Instance, context: QuantityContext): LongestRun {
  const runs = context.system.instances.filter(isBank).flatMap((bank) => dailyRunFor(set, bank, context) ?? []);
  if (runs.length === 0) return missing(`a charger that ${set.name} feeds`);
  const all = collect(runs.map(({ time }) => time));
  if (!all.ok) return all.result;
  const seconds = (each: Derivation): number => numberIn(each, 's');
  const longest = all.derivations.reduce((so, next) => (seconds(next) > seconds(so) ? next : so));
  const run = runs[all.derivations.indexOf(longest)]!;
  const time = { ...longest, ...becauseOf(longest, { kind: 'withoutOtherSources', bank: run.bank.name }) };
  return { run, time };
}

const dailyRunTime = defineQuantity({
  name: 'dailyRunTime',
  of: [mayBurnFuel],
  doc: 'Time it must run in a day for the loads, with no other source: what its chargers leave for the bank while it runs makes up for what is drawn while it rests.',
  unit: 's',
  compute: (thing, context) => {
    const longest = longestRun(instance(thing), context);
    return 'kind' in longest ? longest : known(longest.time);
  },
});

const dailyFuel = defineQuantity({
  name: 'dailyFuel',
  of: [mayBurnFuel],
  doc: 'Fuel it burns in a day for the loads, with no other source, at the mean power it gives while it charges. Warm-up and cool-down come on top.',
  unit: 'L',
  compute: (thing, context) => {
    const longest = longestRun(instance(thing), context);
    if ('kind' in longest) return longest;
    const { run, time } = longest;
    return whenKnown(fuelRateWith(instance(thing), run.spared, context), (rate) =>
      known(
        derive('fuel in a day', numberIn(rate, 'L/h') * numberIn(time, 'h'), 'L', {
          symbol: 'V',
          formula: 'F·t',
          inputs: [rate, time],
          ...becauseOf(time),
        }),
      ),
    );
  },
});

export const generatorDayQuantities = [dailyRunTime, dailyFuel];
