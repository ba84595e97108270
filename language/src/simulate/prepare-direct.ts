import type { PropertyName } from '../equipment/index.js';
import { type Derivation, known, numberIn } from '../derivation/index.js';
import type { ControlMachine } from '../control/index.js';
import type { DesignContext } from '../model/context.js';
import type { Instance, ProfileWindow, Scenario } from '../model/types.js';
import { chargeEfficiency, inputPowerFactor } from '../quantities/converters.js';
import { systemOf } from '../quantities/supply.js';
import { chemistry, inverterLossOf, timeModel } from '../reference/energy/index.js';
import type { Facts } from './facts.js';
import type { BankPlan, InverterPlan, LoadPlan, RegulatorPlan } from './plan.js';
import type { Buses } from './prepare-wiring.js';

/** Ohm taken where a charger measures at the bank, or no lead is known: so little that it changes nothing. */
const NO_DROOP = 1e-5;
const DAY = 86400;
/** Rank of loads that state none: they go first. */
const LAST_PRIORITY = 100;

/** Where things of a design stand in the plan. */
export interface Positions {
  readonly sources: readonly Instance[];
  readonly inverters: readonly Instance[];
  readonly arrays: readonly Instance[];
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
}

/** The regulators of a design with the things that they are. */
export function regulatorPlans(preparation: Preparation): { plan: RegulatorPlan; of: Instance }[] {
  const { context, facts, buses } = preparation;
  return context.system.instances.flatMap((instance) => {
    switch (instance.kind) {
      case 'charger':
      case 'chargeController':
        return regulator(instance, 'dc', preparation);
      case 'inverter':
        return instance.properties.has('currentLimit') ? regulator(instance, 'dc', preparation) : [];
      case 'converter':
        return feedsBank(instance, preparation) ? regulator(instance, 'out', preparation) : [];
      case 'alternator':
        return regulator(instance, 'dc', preparation);
      case 'vehicle':
        return instance.terminals[0]?.carries === 'dc' ? regulator(instance, 'dc', preparation) : [];
      case 'solar':
        // An array wired to the bus itself; one behind a charge controller belongs to that.
        return buses.of(instance, 'dc') >= 0 ? regulator(instance, 'dc', preparation) : [];
      case 'wind':
        facts.assume(`${instance.name} is taken to give nothing: there are no wind data`);
        return [];
      default:
        return [];
    }
  });
}

function feedsBank(converter: Instance, { buses }: Preparation): boolean {
  const bus = buses.of(converter, 'out');
  return bus >= 0 && buses.things(bus).some(({ kind }) => kind === 'battery');
}

function regulator(
  instance: Instance,
  terminal: string,
  preparation: Preparation,
): { plan: RegulatorPlan; of: Instance }[] {
  const { context, facts, buses, at, machine } = preparation;
  const bus = buses.of(instance, terminal);
  if (bus < 0) return [];
  const isController = instance.kind === 'chargeController';
  const isCharger = instance.kind === 'charger' || instance.kind === 'inverter';
  const isArray = instance.kind === 'solar';
  const points = setPoints(instance, bus, preparation);
  const arrays = isArray ? [instance] : isController ? arraysOf(instance, preparation) : [];
  const takesCurrent = isArray || context.maybe(instance, 'tracking')?.value === 'pwm';
  if (isController && arrays.length === 0) return [];
  const power = context.maybe(instance, 'maximumPower');
  const link = at.links.findIndex(
    ({ from, to }) => [from, to].includes(instance) && [from, to].some((end) => at.banks.includes(end)),
  );
  const ramp = context.maybe(instance, 'ramp');
  if (ramp) facts.assume(`the ramp of ${instance.name} counts as a wait of half its time`);
  const plan: RegulatorPlan = {
    name: instance.name,
    kind: isCharger ? 'charger' : isController ? 'controller' : instance.kind === 'converter' ? 'converter' : 'source',
    bus,
    currentLimit:
      isArray || (isController && !hasCurrentLimit(instance, context))
        ? Infinity
        : facts.number(context.quantity(instance, 'outputCurrent'), 'A'),
    powerLimit: power ? numberIn(power, 'W') : Infinity,
    ...points,
    droop: Math.max(
      NO_DROOP,
      context.maybe(instance, 'remoteSense')?.value === true ? 0 : buses.leads(instance, terminal),
    ),
    efficiency: efficiencyOf(instance, takesCurrent, preparation),
    delay: ramp ? numberIn(ramp, 's') / 2 : 0,
    powerFactor: isCharger ? facts.number(inputPowerFactor(instance, context), '') : 1,
    arrays: Int32Array.from(arrays, (array) => at.arrays.indexOf(array)),
    takesCurrent,
    fromBus: instance.kind === 'converter' ? buses.of(instance, 'in') : -1,
    source: at.sources.indexOf(instance),
    inverter: instance.kind === 'inverter' ? at.inverters.indexOf(instance) : -1,
    link,
    stopsWithoutLink: context.maybe(instance, 'lostLink')?.value === 'stop',
    seesBankCurrent: link >= 0,
    control: instance.kind === 'inverter' ? -1 : machine.targetOf(instance),
  };
  return [{ plan, of: instance }];
}

const hasCurrentLimit = (instance: Instance, context: DesignContext): boolean =>
  context.maybe(instance, 'currentLimit') !== undefined || context.maybe(instance, 'maximumCurrent') !== undefined;

function efficiencyOf(instance: Instance, takesCurrent: boolean, { context, facts }: Preparation): number {
  switch (instance.kind) {
    case 'charger':
    case 'inverter':
      return facts.number(chargeEfficiency(instance, context), '');
    case 'converter':
      return facts.number(context.fact(instance, 'efficiency'), '');
    case 'chargeController': {
      // A controller that only switches the array through loses next to nothing.
      const stated = context.maybe(instance, 'efficiency');
      return !stated && takesCurrent ? 1 : facts.number(context.fact(instance, 'efficiency'), '');
    }
    default:
      return 1;
  }
}

/** The arrays on the solar side of a charge controller. */
function arraysOf(controller: Instance, { context }: Preparation): Instance[] {
  const node = context.graph.nodes.get(`${controller.name}.solar`);
  return node ? context.graph.joinedTo(node).filter(({ kind }) => kind === 'solar') : [];
}

/** V that a regulator holds, temperature compensation counted. */
function setPoints(
  instance: Instance,
  bus: number,
  { context, facts, banks }: Preparation,
): Pick<RegulatorPlan, 'absorb' | 'float' | 'absorbAgain'> {
  const held = (volts: number): Pick<RegulatorPlan, 'absorb' | 'float' | 'absorbAgain'> => ({
    absorb: volts,
    float: volts,
    absorbAgain: 0,
  });
  const value = (name: PropertyName): number | undefined => {
    const stated = context.maybe(instance, name);
    return stated && facts.of(stated, 'V');
  };
  if (instance.kind === 'solar') return held(1e6);
  if (instance.kind === 'alternator') return held(value('voltage') ?? facts.lack(`voltage of ${instance.name}`));
  if (instance.kind === 'vehicle')
    return held(systemOf(instance)?.lineToNeutral ?? facts.lack(`voltage of ${instance.name}`));
  if (instance.kind === 'converter') return held(value('output') ?? facts.lack(`output of ${instance.name}`));
  const [absorb, float] = [value('absorb'), value('float')];
  if (absorb === undefined && float === undefined) return held(facts.lack(`absorb of ${instance.name}`));
  const coefficient = context.maybe(instance, 'temperatureCompensation');
  const bank = banks.find((each) => each.bus === bus);
  const shift = coefficient && bank ? numberIn(coefficient, 'V/K') * (bank.temperature - 25) : 0;
  const first = (absorb ?? float!) + shift;
  const last = (float ?? absorb!) + shift;
  if (float === undefined) facts.assume(`${instance.name} holds its absorption voltage: no float is stated`);
  return { absorb: first, float: Math.min(first, last), absorbAgain: last * timeModel('absorb-again-share').value };
}

/* ---- inverters ---- */

export function inverterPlan(instance: Instance, hasStarts: boolean, preparation: Preparation): InverterPlan {
  const { context, facts, buses, machine } = preparation;
  const rated = facts.aboveZero(context.fact(instance, 'rated'), 'W');
  const apparent = context.maybe(instance, 'apparent');
  const surge = context.maybe(instance, 'surge');
  const system = systemOf(instance);
  const voltAmperes = apparent ? numberIn(apparent, 'VA') : rated;
  if (!apparent) facts.assume(`the apparent power of ${instance.name} is taken as its rated power`);
  const lines = system && system.phases !== 'single' ? (system.phases === 'three' ? Math.sqrt(3) : 1) : 0;
  const bus = buses.of(instance, 'dc');
  if (bus < 0) facts.lack(`what feeds ${instance.name}`);
  return {
    name: instance.name,
    bus,
    limits: {
      watts: rated,
      voltAmperes,
      legAmperes: system && lines > 0 ? voltAmperes / (lines * system.lineToLine) : Infinity,
    },
    surge: surge ? numberIn(surge, 'W') : hasStarts ? facts.lack(`surge of ${instance.name}`) : Infinity,
    ...losses(instance, rated, preparation),
    ...thresholds(instance, bus, preparation),
    delay: timeModel('cut-off-hold').value,
    leads: buses.leads(instance, 'dc'),
    control: machine.targetOf(instance),
  };
}

/** Loss by output: idle as stated or usual, and the rest at full load from the efficiency, parted as in the usual curve. */
function losses(
  instance: Instance,
  rated: number,
  { context, facts }: Preparation,
): Pick<InverterPlan, 'idle' | 'linear' | 'quadratic'> {
  const usual = inverterLossOf('highFrequency');
  const stated = context.maybe(instance, 'idle');
  const full = stated ? facts.of(stated, 'W') : usual.idle * rated;
  const onTime = context.maybe(instance, 'onTime');
  const idle = onTime ? (full * numberIn(onTime, 's')) / DAY : full;
  if (onTime && numberIn(onTime, 's') < DAY)
    facts.assume(
      `the draw of ${instance.name} without load counts with its mean over the day: its onTime is not played hour by hour`,
    );
  if (!stated)
    facts.assume(
      `${instance.name} is taken to draw ${Math.round(full)} W without load (${usual.idle * 100} % of its rating, from memory)`,
    );
  const efficiency = facts.number(context.fact(instance, 'efficiency'), '');
  const rest = Math.max(0, rated * (1 / efficiency - 1) - full);
  const part = usual.linear / (usual.linear + usual.quadratic);
  return { idle, linear: (rest * part) / rated, quadratic: (rest * (1 - part)) / rated ** 2 };
}

function thresholds(
  instance: Instance,
  bus: number,
  { context, facts, at, banks }: Preparation,
): Pick<InverterPlan, 'cutOff' | 'reconnect'> {
  const volts = (derivation: Derivation | undefined): number | undefined =>
    derivation && facts.number(known(derivation), 'V');
  const bank = at.banks[banks.findIndex((each) => each.bus === bus)];
  const word = bank && context.maybe(bank, 'chemistry')?.value;
  const row = typeof word === 'string' ? chemistry(word) : undefined;
  const cells = bank ? facts.number(context.quantity(bank, 'cellCount'), '') : 0;
  const window = context.maybe(instance, 'dcVoltage')?.value;
  const bottom = typeof window === 'object' ? window.low : undefined;
  const usualCutOff = bottom ?? (row ? row.cutOff.from * cells : 0);
  const cutOff = volts(context.maybe(instance, 'cutOff'));
  const reconnect = volts(context.maybe(instance, 'reconnect'));
  const usualReconnect = row ? row.reconnect.from * cells : (cutOff ?? usualCutOff) * 1.05;
  if (cutOff === undefined)
    facts.assume(
      `${instance.name} is taken to cut off at ${Number(usualCutOff.toPrecision(4))} V: no cutOff is stated`,
    );
  if (reconnect === undefined)
    facts.assume(
      `${instance.name} is taken to start again at ${Number(usualReconnect.toPrecision(4))} V: no reconnect is stated`,
    );
  return {
    cutOff: cutOff ?? usualCutOff,
    reconnect: Math.max(cutOff ?? usualCutOff, reconnect ?? usualReconnect),
  };
}

/* ---- loads ---- */

export function loadPlan(instance: Instance, preparation: Preparation): LoadPlan {
  const { context, scenario, facts, machine } = preparation;
  const duty = context.maybe(instance, 'duty');
  if (duty) facts.assume(`${instance.name} counts with its mean power: its duty is not played cycle by cycle`);
  const own = instance.properties.get('profile')?.value;
  const stated =
    scenario.profiles.find(({ load }) => load === instance)?.windows ??
    (own?.type === 'profile' ? own.windows : undefined);
  if (!stated && !duty) facts.assume(`${instance.name} runs all the time: it states no profile`);
  const priority = context.maybe(instance, 'priority');
  const startFactor = context.maybe(instance, 'startFactor');
  const { bus, upstream } = supplyOf(instance, preparation);
  return {
    name: instance.name,
    watts: facts.number(context.quantity(instance, 'totalPower'), 'W') * (duty ? facts.of(duty, '') : 1),
    powerFactor: facts.number(context.fact(instance, 'powerFactor'), ''),
    bus,
    upstream,
    priority: priority ? numberIn(priority, '') : LAST_PRIORITY,
    startFactor: startFactor ? numberIn(startFactor, '') : 1,
    ...shares(stated ?? [{ from: 0, to: DAY, share: 1 }]),
    control: machine.targetOf(instance),
  };
}

/** The bus a load hangs on, directly or behind converters, with what it draws there over what it uses; −1 for alternating current. */
function supplyOf(instance: Instance, preparation: Preparation): { bus: number; upstream: number } {
  const { context, facts, buses } = preparation;
  const direct = buses.ofAny(instance);
  const isDirect =
    direct >= 0 &&
    buses
      .things(direct)
      .some(({ kind }) => ['battery', 'charger', 'chargeController', 'inverter', 'alternator'].includes(kind));
  if (isDirect) return { bus: direct, upstream: 1 };
  const node = context.graph.nodesOf(instance)[0];
  const converter = node
    ? context.graph.joinedTo(node).find((each) => {
        const out = context.graph.nodes.get(`${each.name}.out`);
        return each.kind === 'converter' && out && context.graph.reach(node).has(out.key);
      })
    : undefined;
  if (!converter) return { bus: direct, upstream: 1 };
  const efficiency = facts.number(context.fact(converter, 'efficiency'), '');
  return { bus: buses.of(converter, 'in'), upstream: 1 / efficiency };
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
