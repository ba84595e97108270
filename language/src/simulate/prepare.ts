import { ControlMachine, compileControls } from '../control/index.js';
import { numberIn } from '../derivation/index.js';
import { ORIGINS, kindsThat, mayBeLost } from '../equipment/index.js';
import { type Comparison, type RuleSignal, type Signal, type StateSignal, signalKey } from '../model/conditions.js';
import type { DesignContext } from '../model/context.js';
import type { Cord } from '../model/cords.js';
import { leadsOn } from '../model/network.js';
import type { Instance, Link, Scenario } from '../model/types.js';
import { timeModel } from '../reference/energy/index.js';
import { Facts } from '../quantities/plant/facts.js';
import type {
  AskedPlan,
  BankPlan,
  ComparisonPlan,
  Configuration,
  Plan,
  SignalPlan,
  SourcePlan,
  SpanPlan,
} from './plan.js';
import { type Members, configurationOf, sourcePlan } from './prepare-alternating.js';
import { bankPlan } from './prepare-banks.js';
import { type Preparation, inverterPlan, loadPlan, regulatorPlans } from './prepare-direct.js';
import { pluggedIn } from './prepare-plugged.js';
import { refillsOf } from './prepare-tanks.js';
import { sunPlan, weatherOf } from './prepare-sun.js';
import { windPlans } from './prepare-wind.js';
import { driveOf, windDriveOf } from '../quantities/plant/drive.js';
import { Buses } from '../quantities/plant/wiring.js';
import { arrayPlan } from '../quantities/weather/array-numbers.js';
import { between } from '../quantities/weather/between.js';
import { isLeap } from '../quantities/weather/dates.js';
import type { PlayOptions } from './types.js';
import { isArray, isBank, isInverter, isLoad, sourceOf } from '../model/roles.js';

const DAY = 86400;

export type Prepared =
  | {
      readonly kind: 'ready';
      readonly plan: Plan;
      readonly assumptions: readonly string[];
      /** Where the values of a signal stand; undefined for one that is not played. */
      readonly positionOf: (signal: Signal) => number | undefined;
    }
  | { readonly kind: 'missing'; readonly missing: readonly string[] }
  | { readonly kind: 'refused'; readonly reason: string };

/** Sources that are there or lost as a whole, and turbines; the sun is played by itself. */
const isPlayedSource = (instance: Instance): boolean => {
  const source = sourceOf(instance);
  return source !== undefined && (ORIGINS[source.from].comes === 'whole' || driveOf(instance) !== undefined);
};

/** The kinds that a scenario may lose for a time. */
const LOSABLE = kindsThat(mayBeLost).join(', ');

/** Makes plain numbers of a design and a scenario, or says which facts lack. */
export function prepare(context: DesignContext, scenario: Scenario, options: PlayOptions): Prepared {
  const facts = new Facts();
  const { system } = context;
  const { start, duration } = scenario;
  if (start.date === undefined) facts.lack(`from of ${scenario.name}`);
  if (duration === undefined) facts.lack(`duration of ${scenario.name}`);
  const buses = new Buses(context, facts);
  const at = {
    sources: system.instances.filter(isPlayedSource),
    inverters: system.instances.filter(isInverter),
    arrays: system.instances.filter(isArray),
    turbines: system.instances.filter((each) => windDriveOf(each) !== undefined),
    banks: system.instances.filter(isBank),
    links: system.links,
  };
  const machine = new ControlMachine(compileControls(system));
  for (const { facts: lacking } of machine.compiled.missing) for (const fact of lacking) facts.lack(fact);

  const banks = at.banks.map((bank) => bankPlan(bank, scenario, context, buses, facts));
  const known = banks.filter((bank): bank is BankPlan => bank !== undefined);
  const plugged = pluggedIn(scenario, context, facts);
  const inlets = new Map<Instance, number>();
  const preparation: Preparation = { context, scenario, facts, buses, machine, at, banks: known, inlets, plugged };
  const loads = system.instances.filter(isLoad);
  const hasStarts = loads.some((load) => context.maybe(load, 'startFactor') !== undefined);
  const loadPlans = loads.map((load) => loadPlan(load, preparation));
  const inverters = at.inverters.map((inverter) => inverterPlan(inverter, hasStarts, preparation));
  const regulators = regulatorPlans(preparation);
  const sources = at.sources.map((source) => sourcePlan(source, preparation));
  const hasWeather = scenario.weather !== undefined && at.arrays.length + at.turbines.length > 0;
  const weather = hasWeather ? weatherOf(scenario, facts, options) : undefined;
  const sun = sunPlan(at.arrays.length > 0, scenario, context, facts, weather);
  const { wind, turbines } = windPlans(at.turbines, scenario, context, facts, weather?.weather);
  const arrays = at.arrays.map((array) =>
    arrayPlan(array, leadsOn(array, context.graph.plugged(plugged)) ? sun.mode : 'none', context, facts),
  );
  if (at.sources.length > 30) facts.refused.add('more than 30 sources cannot be simulated');

  const members: Members = {
    sources: at.sources,
    inverters: at.inverters,
    loads,
    regulators: regulators.map(({ of }) => of),
    plans: { loads: loadPlans, regulators: regulators.map(({ plan }) => plan), inverters, buses: buses.islands.length },
  };
  // What lacks for feeding loads shows with all sources off and all on.
  const configurations = new Map<number, ReturnType<typeof configurationOf>>();
  const configuration = (live: number): ReturnType<typeof configurationOf> => {
    let found = configurations.get(live);
    if (!found) configurations.set(live, (found = configurationOf(live, members, preparation)));
    return found;
  };
  const direct = sources.reduce((mask, { kind }, bit) => (kind === 'direct' ? mask : mask | (1 << bit)), 0);
  if (facts.missing.size === 0) {
    configuration(0);
    configuration(direct);
    for (let bit = 0; bit < sources.length; bit += 1) if ((direct >> bit) & 1) configuration(1 << bit);
  }
  noteUnfed(loads, loadPlans, configuration, direct, facts);

  const signals = new Signals(members, at, buses, sources, facts);
  const comparisons = machine.comparisons.map((comparison) => signals.comparison(comparison, known, facts));
  checkInitial(scenario, facts);
  if (facts.missing.size > 0) return { kind: 'missing', missing: [...facts.missing] };
  if (facts.refused.size > 0) return { kind: 'refused', reason: [...facts.refused].join('; ') };

  const [year, month, day] = start.date!.split('-').map(Number) as [number, number, number];
  assumeOfLines(configuration(direct), configuration(0), facts);
  if (sun.mode !== 'none') facts.assume('no shading, no snow on modules');
  const plan: Plan = {
    timeOfDay: start.timeOfDay % DAY,
    year,
    dayOfYear: dayOfYear(year, month, day),
    duration: duration!,
    buses: buses.islands.length,
    busVolts: Float64Array.from({ length: buses.islands.length }, (_, bus) => nominalVolts(bus, known, regulators)),
    banks: known,
    regulators: members.plans.regulators,
    inverters,
    sources,
    loads: loadPlans,
    inlets: Float64Array.from(inlets.values()),
    arrays,
    links: system.links.map((link) => ({ name: link.name, timeOut: timeOutOf(link, context) })),
    spans: [
      ...spansOf(scenario, at.sources, system.links, facts),
      ...unpluggedSpans(at.sources, plugged, duration!, context),
    ],
    refills: refillsOf(at.sources, preparation),
    delays: {
      reset: timeModel('protection-reset').value,
    },
    control: {
      machine,
      comparisons: comparisons.map((comparison) => signals.finished(comparison)),
      asked: signals.asked,
      links: Int32Array.from(machine.links, (link) => system.links.indexOf(link)),
    },
    signals: signals.list,
    configuration,
    sun,
    turbines,
    wind,
  };
  return {
    kind: 'ready',
    plan,
    assumptions: [...facts.assumptions],
    positionOf: (signal) => signals.positionOf(signal),
  };
}

/** What is taken of conductors that carry alternating current, with all sources there or with none. */
function assumeOfLines(all: Configuration, none: Configuration, facts: Facts): void {
  const isAny = [all, none].some(({ lines }) => lines.ohms.length > 0);
  const isUnknown = [all, none].some(({ isAnyLineUnknown }) => isAnyLineUnknown);
  if (isAny) facts.assume('alternating-current conductors lose as warm as 75 °C');
  if (isUnknown)
    facts.assume(
      isAny
        ? 'conductors of runs that do not state size and length lose nothing'
        : 'losses in alternating-current conductors are not counted: no run states its size and length',
    );
}

function dayOfYear(year: number, month: number, day: number): number {
  const before = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334][month - 1]!;
  return before + day + (month > 2 && isLeap(year) ? 1 : 0);
}

/** V at half charge of the first bank, else what a regulator holds. */
function nominalVolts(
  bus: number,
  banks: readonly BankPlan[],
  regulators: readonly { readonly plan: { readonly bus: number; readonly absorb: number } }[],
): number {
  const bank = banks.find((each) => each.bus === bus);
  if (bank) return between(bank.curve.soc, bank.curve.volts, 0.5);
  return regulators.find(({ plan }) => plan.bus === bus)?.plan.absorb ?? 1;
}

function timeOutOf(link: Link, context: DesignContext): number {
  const stated = context.maybe(link, 'timeOut');
  return stated ? numberIn(stated, 's') : 0;
}

function spansOf(
  { absences }: Scenario,
  sources: readonly Instance[],
  links: DesignContext['system']['links'],
  facts: Facts,
): SpanPlan[] {
  return absences.flatMap(({ of, from, to }): SpanPlan[] => {
    if (of.kind === 'link') return [{ of: 'link', index: links.indexOf(of as (typeof links)[number]), from, to }];
    const index = sources.indexOf(of as Instance);
    if (index < 0) {
      facts.refused.add(
        `${of.name} cannot be lost for a time: only sources that are there or gone as a whole (${LOSABLE}) and links can`,
      );
      return [];
    }
    return [{ of: 'source', index, from, to }];
  });
}

/** Supplies whose cords are not plugged in are lost for the whole scenario, for the rules that ask for them too. */
function unpluggedSpans(
  sources: readonly Instance[],
  plugged: readonly Cord[],
  duration: number,
  { graph }: DesignContext,
): SpanPlan[] {
  if (graph.inlets.length === 0) return [];
  const wiring = graph.plugged(plugged);
  return sources.flatMap((source, index) =>
    !leadsOn(source, wiring) ? [{ of: 'source' as const, index, from: 0, to: duration }] : [],
  );
}

/** Loads that nothing ever feeds are a fault of the wiring that other checks name; here they count as never served. */
function noteUnfed(
  loads: readonly Instance[],
  plans: Plan['loads'],
  configuration: (live: number) => Pick<Configuration, 'feeds'>,
  all: number,
  facts: Facts,
): void {
  if (facts.missing.size > 0) return;
  loads.forEach((load, at) => {
    if (plans[at]!.bus >= 0) return;
    const isFed = (live: number): boolean => {
      const { start } = configuration(live).feeds;
      return start[at + 1]! > start[at]!;
    };
    if (!isFed(0) && !isFed(all)) facts.assume(`nothing feeds ${load.name}: all it wants counts as unserved`);
  });
}

function checkInitial(scenario: Scenario, facts: Facts): void {
  for (const { signal } of scenario.initial)
    if (signal.kind === 'of' && !(isBank(signal.of) && ['soc', 'temperature'].includes(signal.signal)))
      facts.refused.add(`a scenario starts from the soc and temperature of banks, not from ${signalKey(signal)}`);
}

/** What the engine works out and records, with where each value stands. */
class Signals {
  readonly list: SignalPlan[] = [];
  readonly asked: AskedPlan[] = [];
  private readonly positions = new Map<string, number>();
  private readonly sources: readonly Instance[];

  constructor(
    members: Members,
    private readonly at: { readonly banks: readonly Instance[]; readonly arrays: readonly Instance[] },
    private readonly buses: Buses,
    private readonly supplies: readonly SourcePlan[],
    private readonly facts: Facts,
  ) {
    this.sources = members.sources;
    at.banks.forEach((bank, index) => {
      for (const signal of ['soc', 'voltage', 'current'] as const) this.add(bank, signal, 'banks', index);
    });
    members.sources.forEach((source, index) => this.add(source, 'power', 'sources', index));
    at.arrays.forEach((array, index) => this.add(array, 'power', 'arrays', index));
    members.regulators.forEach((regulator, index) => {
      // A direct-current source is its own regulator, and an inverter's power is what it gives as alternating current.
      this.add(regulator, 'current', 'regulators', index);
      if (!members.sources.includes(regulator) && !at.arrays.includes(regulator) && !isInverter(regulator))
        this.add(regulator, 'power', 'regulators', index);
    });
    members.inverters.forEach((inverter, index) => this.add(inverter, 'power', 'inverters', index));
    members.loads.forEach((load, index) => this.add(load, 'power', 'loads', index));
  }

  private add(of: Instance, signal: SignalPlan['signal'], among: SignalPlan['among'], index: number): number {
    const name = `${signal}(${of.name})`;
    const found = this.positions.get(name);
    if (found !== undefined) return found;
    this.positions.set(name, this.list.length);
    return this.list.push({ name, of, signal, among, index }) - 1;
  }

  /** Where the value of a signal stands; undefined for one that is not played. */
  positionOf(signal: Signal): number | undefined {
    return signal.kind === 'of' ? this.positions.get(signalKey(signal)) : undefined;
  }

  /** Makes room for a signal that is not recorded anyway; undefined when it cannot be played. */
  private take(signal: Signal & { kind: 'of' }): number | undefined {
    const known = this.positionOf(signal);
    if (known !== undefined) return known;
    const bank = this.at.banks.indexOf(signal.of);
    if (bank >= 0 && signal.signal === 'power') return this.add(signal.of, 'power', 'banks', bank);
    if (signal.signal !== 'voltage') return undefined;
    const source = this.sources.indexOf(signal.of);
    const supply = this.supplies[source];
    if (supply && supply.kind !== 'direct') {
      if (Number.isNaN(supply.volts)) this.facts.lack(`voltage of ${supply.name}`);
      this.facts.assume(`voltage(${supply.name}) is its nominal voltage while it is there, else 0 V`);
      return this.add(signal.of, 'voltage', 'supplies', source);
    }
    const bus = this.buses.ofAny(signal.of);
    return bus >= 0 ? this.add(signal.of, 'voltage', 'buses', bus) : undefined;
  }

  /** Where something that rules alone ask for stands among its like. */
  private ask(signal: RuleSignal, of: Instance): number {
    const index = signal === 'runTime' ? this.sources.indexOf(of) : this.at.banks.indexOf(of);
    const known = this.asked.findIndex((each) => each.signal === signal && each.index === index);
    return known >= 0 ? known : this.asked.push({ signal, index }) - 1;
  }

  comparison({ terms, comparison, limit }: Comparison, banks: readonly BankPlan[], facts: Facts): DraftComparison {
    let fixed = limit.value;
    const watched: Watched[] = [];
    if (limit.low !== limit.high) facts.assume('limits of rules that are ranges count with their middle');
    for (const { factor, signal } of terms) {
      if (signal.kind === 'clock') {
        // Whose turn it is stands by itself, and the machine works it out.
        if (signal.signal !== 'duty') watched.push({ at: signal.signal, factor });
      } else if (isAsked(signal.signal)) watched.push({ at: { asked: this.ask(signal.signal, signal.of) }, factor });
      else if (signal.signal === 'temperature') {
        const bank = banks.find(({ name }) => name === signal.of.name);
        if (bank) fixed -= factor * bank.temperature;
        else facts.refused.add(`${signalKey(signal)} is not simulated: only banks have a temperature`);
      } else {
        const at = this.take(signal);
        if (at === undefined) facts.refused.add(notPlayed(signal));
        else watched.push({ at, factor });
      }
    }
    return { watched, sign: comparison, limit: fixed };
  }

  /** A comparison once all signals have their place: the clock stands behind them. */
  finished({ watched, sign, limit }: DraftComparison): ComparisonPlan {
    const place = (at: Watched['at']): number => {
      if (typeof at === 'number') return at;
      return this.list.length + (at === 'hour' ? 0 : at === 'day' ? 1 : 2 + at.asked);
    };
    return {
      signals: Int32Array.from(watched, ({ at }) => place(at)),
      factors: Float64Array.from(watched, ({ factor }) => factor),
      sign,
      limit,
    };
  }
}

/** Why there is no value of a signal. */
const notPlayed = (signal: Signal & { kind: 'of' }): string =>
  `${signalKey(signal)} is not simulated${signal.signal === 'voltage' ? ': banks, direct-current buses and supplies have one' : ''}`;

/** A term of a comparison before all signals have their place. */
interface Watched {
  readonly at: number | 'hour' | 'day' | { readonly asked: number };
  readonly factor: number;
}

const isAsked = (signal: StateSignal | RuleSignal): signal is RuleSignal =>
  signal === 'runTime' || signal === 'mayCharge' || signal === 'mayDischarge';

interface DraftComparison {
  readonly watched: readonly Watched[];
  readonly sign: Comparison['comparison'];
  readonly limit: number;
}
