import { chargeEfficiency } from '../quantities/plant/chargers.js';
import { lowEnd } from '../quantities/ends.js';
import { numberIn } from '../derivation/index.js';
import type { ControlMachine } from '../control/index.js';
import type { DesignContext } from '../model/context.js';
import { chargingOf, isInverter, sourceOf, isBank, isBusCharger, inputBusOf } from '../model/roles.js';
import type { Instance, ProfileWindow, Scenario } from '../model/types.js';
import type { Cord } from '../model/cords.js';
import type { Facts } from '../quantities/plant/facts.js';
import { inverterLimits } from '../quantities/plant/feeders.js';
import { inverterNumbers } from '../quantities/plant/inverters.js';
import { modulesJoined, regulatorNumbers } from '../quantities/plant/regulators.js';
import type { Buses } from '../quantities/plant/wiring.js';
import { driveOf } from '../quantities/plant/drive.js';
import { isUncertain } from '../quantities/supply/joined.js';
import { timeModel } from '../reference/energy/index.js';
import type { BankPlan, InverterPlan, LoadPlan, RegulatorPlan } from './plan.js';

const DAY = 86400;
/** Rank of loads that state none: they go first. */
const LAST_PRIORITY = 100;

/** Where things of a design stand in the plan. */
export interface Positions {
  readonly sources: readonly Instance[];
  readonly inverters: readonly Instance[];
  readonly arrays: readonly Instance[];
  readonly turbines: readonly Instance[];
  readonly banks: readonly Instance[];
  readonly links: readonly { readonly from: Instance; readonly to: Instance }[];
}

export interface Preparation {
  readonly context: DesignContext;
  readonly scenario: Scenario;
  readonly facts: Facts;
  readonly buses: Buses;
  readonly machine: ControlMachine;
  readonly at: Positions;
  readonly banks: readonly BankPlan[];
  /** Converters that feed loads over an input cable that loses, with its ohm out and back, as they are found. */
  readonly inlets: Map<Instance, number>;
  /** The cords that are plugged in while the scenario lasts. */
  readonly plugged: readonly Cord[];
}

/** The regulators of a design with the things that they are. */
export function regulatorPlans(preparation: Preparation): { plan: RegulatorPlan; of: Instance }[] {
  const { context, facts } = preparation;
  return context.system.instances.flatMap((instance) => {
    if (isUncertain(instance) && !driveOf(instance)) {
      facts.assume(
        `not simulated: ${instance.name}, which gives nothing, since there are no ${sourceOf(instance)!.from} data`,
      );
      return [];
    }
    const plan = regulatorPlan(instance, preparation);
    return plan ? [{ plan, of: instance }] : [];
  });
}

function regulatorPlan(instance: Instance, preparation: Preparation): RegulatorPlan | undefined {
  const { context, facts, buses, at, machine, banks } = preparation;
  const charging = chargingOf(instance);
  if (!charging) return undefined;
  const link = at.links.findIndex(
    ({ from, to }) => [from, to].includes(instance) && [from, to].some((end) => at.banks.includes(end)),
  );
  const bank = banks.find((each) => each.bus === buses.of(instance, charging.at));
  const numbers = regulatorNumbers(instance, bank?.temperature, link >= 0, context, buses, facts);
  if (!numbers) return undefined;
  const isBuiltIn = isInverter(instance);
  return {
    ...numbers,
    arrays: Int32Array.from(modulesJoined(instance, context), (array) => at.arrays.indexOf(array)),
    source: at.sources.indexOf(instance),
    turbine: at.turbines.indexOf(instance),
    inverter: isBuiltIn ? at.inverters.indexOf(instance) : -1,
    link,
    control: isBuiltIn ? -1 : machine.targetOf(instance),
  };
}

/* ---- inverters ---- */

export function inverterPlan(instance: Instance, hasStarts: boolean, preparation: Preparation): InverterPlan {
  const { context, facts, buses, machine, at } = preparation;
  const link = at.links.findIndex(
    ({ from, to }) => [from, to].includes(instance) && [from, to].some((end) => at.banks.includes(end)),
  );
  const surge = context.maybe(instance, 'surge');
  return {
    ...inverterNumbers(instance, context, buses, facts),
    link,
    bank: at.banks.findIndex((bank) => link >= 0 && [at.links[link]!.from, at.links[link]!.to].includes(bank)),
    stopsWithoutLink: context.maybe(instance, 'lostLink')?.value === 'stop',
    limits: inverterLimits(instance, context, facts),
    surge: surge ? numberIn(surge, 'W') : hasStarts ? facts.lack(`surge of ${instance.name}`) : Infinity,
    delay: timeModel('cut-off-hold').value,
    control: machine.targetOf(instance),
  };
}

/* ---- loads ---- */

export function loadPlan(instance: Instance, preparation: Preparation): LoadPlan {
  const { context, scenario, facts, machine } = preparation;
  const duty = context.maybe(instance, 'duty');
  if (duty) facts.assume(`${instance.name} counts as its mean power: its duty is not simulated cycle by cycle`);
  const own = instance.properties.get('profile')?.value;
  const stated =
    scenario.profiles.find(({ load }) => load === instance)?.windows ??
    (own?.type === 'profile' ? own.windows : undefined);
  if (!stated && !duty) facts.assume(`${instance.name} runs all the time: it states no profile`);
  const priority = context.maybe(instance, 'priority');
  const startFactor = context.maybe(instance, 'startFactor');
  const supply = supplyOf(instance, preparation);
  const least = supply.bus >= 0 ? context.maybe(instance, 'minimumVoltage') : undefined;
  const peak = facts.number(context.quantity(instance, 'totalPower'), 'W');
  return {
    name: instance.name,
    watts: peak * (duty ? facts.of(duty, '') : 1),
    peak,
    powerFactor: facts.number(context.fact(instance, 'powerFactor'), ''),
    ...supply,
    leastVolts: least ? numberIn(least, 'V') : 0,
    priority: priority ? numberIn(priority, '') : LAST_PRIORITY,
    startFactor: startFactor ? numberIn(startFactor, '') : 1,
    ...shares(stated ?? [{ from: 0, to: DAY, share: 1 }]),
    control: machine.targetOf(instance),
  };
}

/** The bus a load is connected to, directly or behind converters, with what it draws there over what it uses, and its cable; −1 for alternating current. */
function supplyOf(
  instance: Instance,
  preparation: Preparation,
): Pick<LoadPlan, 'bus' | 'upstream' | 'wire' | 'fedVolts' | 'inlet' | 'leastBusVolts'> {
  const { context, facts, buses } = preparation;
  const direct = buses.ofAny(instance);
  const isDirect =
    direct >= 0 &&
    buses.things(direct).some((each) => isBank(each) || isInverter(each) || (chargingOf(each) && !isBusCharger(each)));
  if (isDirect) {
    const at = instance.terminals.find(({ name }) => buses.of(instance, name) === direct)!;
    return { bus: direct, upstream: 1, wire: buses.leads(instance, at.name), fedVolts: 0, inlet: -1, leastBusVolts: 0 };
  }
  const node = context.graph.nodesOf(instance)[0];
  const converter = node
    ? context.graph.joinedTo(node).find((each) => {
        const out = context.graph.nodes.get(`${each.name}.${chargingOf(each)?.at}`);
        return isBusCharger(each) && out !== undefined && context.graph.reach(node).has(out.key);
      })
    : undefined;
  if (!converter) return { bus: direct, upstream: 1, wire: 0, fedVolts: 0, inlet: -1, leastBusVolts: 0 };
  const efficiency = facts.number(chargeEfficiency(converter, context), '');
  const out = context.graph.nodes.get(`${converter.name}.${chargingOf(converter)!.at}`)!;
  const wire = buses.between(out, node!);
  const input = context.maybe(converter, 'input');
  return {
    bus: buses.of(converter, inputBusOf(converter)!),
    upstream: 1 / efficiency,
    wire,
    fedVolts: wire > 0 ? facts.number(context.fact(converter, 'output'), 'V') : 0,
    inlet: inletOf(converter, preparation),
    leastBusVolts: input ? numberIn(lowEnd(input), 'V') : 0,
  };
}

/** The place of the input cable of a converter; −1 where it loses nothing. */
function inletOf(converter: Instance, { buses, inlets }: Preparation): number {
  const ohms = buses.leads(converter, inputBusOf(converter)!);
  if (!(ohms > 0)) return -1;
  inlets.set(converter, ohms);
  return [...inlets.keys()].indexOf(converter);
}

/** Share of its power by time of day: windows that overlap add up. */
export function shares(
  windows: readonly (Pick<ProfileWindow, 'from' | 'to'> & { readonly share: number | { readonly value: number } })[],
): Pick<LoadPlan, 'shareFrom' | 'share'> {
  const pieces = windows.flatMap(({ from, to, share }) => {
    const value = typeof share === 'number' ? share : share.value;
    return to <= DAY
      ? [{ from, to, value }]
      : [
          { from, to: DAY, value },
          { from: 0, to: to - DAY, value },
        ];
  });
  const times = [...new Set([0, ...pieces.flatMap(({ from, to }) => [from, to])])]
    .filter((time) => time < DAY)
    .sort((a, b) => a - b);
  return {
    shareFrom: Float64Array.from(times),
    share: Float64Array.from(times, (time) =>
      pieces.reduce((sum, { from, to, value }) => sum + (time >= from && time < to ? value : 0), 0),
    ),
  };
}
