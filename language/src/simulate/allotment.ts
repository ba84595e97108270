import { isFedByAlternating } from './plan-questions.js';
import { Budget, type FeederLimits, LEGS, type Taking, shareWithLosses } from '../solve/budget.js';
import { ConductorLosses } from '../solve/conductor-losses.js';
import type { Configuration, FeedPlan, Plan, SourcePlan } from './plan.js';

/** What counts as within a limit in spite of rounding. */
const SLACK = 1 + 1e-9;

/**
 * The alternating-current side at an instant: which loads are served, and how much power is left for each charger. Loads come first, by
 * priority (1 first) and then in the order of the design, each wholly or not at all; what a source has left is shared among its chargers
 * in proportion to what they ask at most.
 */
export class Allotment {
  /** 1 where a load that wants power gets it. */
  readonly isServed: Uint8Array;
  /** 1 where a load goes without because its feeder cannot give more. */
  readonly isOverload: Uint8Array;
  /** W each source carries (idle power of inverters that pass it on included), and each inverter. */
  readonly sourceLoad: Float64Array;
  readonly inverterLoad: Float64Array;
  /** W of alternating current each charger may take. */
  readonly chargerInput: Float64Array;
  /** What conductors lose on the way. Loads and chargers share what a feeder can give with it. */
  readonly losses: ConductorLosses;
  /** W of each charger while it is worked out how much its feeder has left. */
  private readonly tried: Float64Array;
  /** W that is carried by each entry of the feed plan. */
  private entryWatts = new Float64Array(0);
  /** Who carries the load that is looked at: entries of the feed plan, and W. */
  private readonly partEntry: Int32Array;
  private readonly partWatts: Float64Array;
  private readonly order: Int32Array;
  private readonly budgets: readonly Budget[];
  private readonly passages: readonly Budget[];
  private readonly asked: readonly Budget[];
  /** What each feeder gives while chargers draw on it. */
  private readonly chargerLimits: readonly FeederLimits[];
  /** By source, for machines of which several outlets are stated: what they have given away together, and what chargers ask of them. */
  private readonly machines: readonly (Joint | undefined)[];

  constructor(private readonly plan: Plan) {
    this.isServed = new Uint8Array(plan.loads.length);
    this.isOverload = new Uint8Array(plan.loads.length);
    this.sourceLoad = new Float64Array(plan.sources.length);
    this.inverterLoad = new Float64Array(plan.inverters.length);
    this.chargerInput = new Float64Array(plan.regulators.length);
    this.order = Int32Array.from(
      plan.loads.map((_, at) => at).sort((a, b) => plan.loads[a]!.priority - plan.loads[b]!.priority || a - b),
    );
    const feeders = plan.sources.length + plan.inverters.length;
    this.partEntry = new Int32Array(3 * feeders);
    this.partWatts = new Float64Array(3 * feeders);
    this.budgets = Array.from({ length: feeders }, () => new Budget());
    this.asked = Array.from({ length: feeders }, () => new Budget());
    this.passages = plan.inverters.map(() => new Budget());
    this.chargerLimits = [
      ...plan.sources.map(({ limits, chargerWatts }) => ({ ...limits, watts: Math.min(limits.watts, chargerWatts) })),
      ...plan.inverters.map(({ limits }) => limits),
    ];
    this.machines = machinesOf(plan.sources);
    this.losses = new ConductorLosses(feeders);
    this.tried = new Float64Array(plan.regulators.length);
  }

  private limitsOf(feeder: number): FeederLimits {
    const { sources, inverters } = this.plan;
    return feeder < sources.length ? sources[feeder]!.limits : inverters[feeder - sources.length]!.limits;
  }

  /** `wanted` is the power (W) of each load by its profile; `canCarry` says whether a feeder runs for a load. */
  settle(
    configuration: Configuration,
    wanted: Float64Array,
    isInverterOn: Uint8Array,
    canCarry: (load: number, feeder: number) => boolean,
  ): void {
    const { plan, isServed, isOverload } = this;
    for (const budget of [...this.budgets, ...this.passages, ...this.asked]) budget.clear();
    if (this.entryWatts.length === configuration.feeds.feeder.length) this.entryWatts.fill(0);
    else this.entryWatts = new Float64Array(configuration.feeds.feeder.length);
    for (const joint of this.machines) {
      joint?.given.clear();
      joint?.asked.clear();
    }
    // While it passes a supply on, an inverter lives on that supply.
    for (let at = 0; at < plan.inverters.length; at += 1) {
      const source = configuration.passageSource[at]!;
      const { idle } = plan.inverters[at]!;
      if (source < 0 || !isInverterOn[at]) continue;
      const taking = { powerFactor: 1, legs: configuration.passageLegs, at };
      this.budgets[source]!.take(idle, taking);
      this.machines[source]?.given.take(idle, taking);
      this.passages[at]!.take(idle, taking);
    }
    this.losses.clear(configuration);
    for (let at = 0; at < this.order.length; at += 1) {
      const load = this.order[at]!;
      const plain = plan.loads[load]!;
      isServed[load] = 0;
      isOverload[load] = 0;
      const watts = wanted[load]!;
      if (plain.bus >= 0 || watts <= 0) continue;
      const parts = this.partsOf(configuration.feeds, load, watts, canCarry);
      if (parts === 0) continue;
      if (!this.fits(configuration, load, watts, parts)) {
        isOverload[load] = 1;
        continue;
      }
      this.take(configuration, load, watts, parts);
      isServed[load] = 1;
    }
    this.losses.settle(configuration, this.entryWatts);
    for (let at = 0; at < plan.sources.length; at += 1) this.sourceLoad[at] = this.budgets[at]!.watts;
    for (let at = 0; at < plan.inverters.length; at += 1)
      this.inverterLoad[at] =
        this.budgets[plan.sources.length + at]!.watts + this.losses.byFeeder[plan.sources.length + at]!;
    this.settleChargers(configuration);
  }

  /** Finds who carries how much of a load; answers how many do, 0 where a part of it has no feeder that runs. */
  private partsOf(
    feeds: FeedPlan,
    load: number,
    watts: number,
    canCarry: (load: number, feeder: number) => boolean,
  ): number {
    const { partEntry, partWatts } = this;
    const end = feeds.start[load + 1]!;
    let count = 0;
    for (let first = feeds.start[load]!; first < end;) {
      let next = first;
      let weight = 0;
      for (; next < end && feeds.group[next] === feeds.group[first]; next += 1)
        if (canCarry(load, feeds.feeder[next]!)) weight += feeds.weight[next]!;
      if (weight === 0) return 0;
      for (let entry = first; entry < next; entry += 1) {
        if (!canCarry(load, feeds.feeder[entry]!)) continue;
        partEntry[count] = entry;
        partWatts[count] = (watts * feeds.fraction[entry]! * feeds.weight[entry]!) / weight;
        count += 1;
      }
      first = next;
    }
    return count;
  }

  /** Whether all who carry a load can give it their parts and what conductors lose more for it, and the relay it comes through can pass it. */
  private fits(
    { feeds, loadPassage, passageAmperes }: Configuration,
    load: number,
    watts: number,
    parts: number,
  ): boolean {
    for (let part = 0; part < parts; part += 1) {
      const entry = this.partEntry[part]!;
      const own = this.partWatts[part]!;
      const feeder = feeds.feeder[entry]!;
      const taking = this.takingOf(feeds, load, entry, own);
      if (!this.budgets[feeder]!.fits(this.limitsOf(feeder), own, taking)) return false;
      const joint = this.machines[feeder];
      if (!joint) continue;
      // Several outlets of one machine may carry parts of the load.
      let together = own;
      for (let before = 0; before < part; before += 1)
        if (this.machines[feeds.feeder[this.partEntry[before]!]!] === joint) together += this.partWatts[before]!;
      if (!joint.given.fits(joint.limits, together, taking)) return false;
    }
    const passage = loadPassage[load]!;
    if (passage < 0) return true;
    const limits = passageLimits(passageAmperes[passage]!);
    const { powerFactor } = this.plan.loads[load]!;
    return this.passages[passage]!.fits(limits, watts, { powerFactor, legs: feeds.legs, at: this.partEntry[0]! });
  }

  private takingOf(feeds: FeedPlan, load: number, entry: number, watts: number): Taking {
    const { powerFactor } = this.plan.loads[load]!;
    return { powerFactor, legs: feeds.legs, at: entry, lost: this.losses.more(feeds, entry, watts) };
  }

  private take({ feeds, loadPassage }: Configuration, load: number, watts: number, parts: number): void {
    for (let part = 0; part < parts; part += 1) {
      const entry = this.partEntry[part]!;
      const own = this.partWatts[part]!;
      const feeder = feeds.feeder[entry]!;
      const taking = this.takingOf(feeds, load, entry, own);
      this.entryWatts[entry]! += own;
      this.budgets[feeder]!.take(own, taking);
      this.machines[feeder]?.given.take(own, taking);
      this.losses.carry(feeds, entry, own);
    }
    const passage = loadPassage[load]!;
    const { powerFactor } = this.plan.loads[load]!;
    if (passage >= 0) this.passages[passage]!.take(watts, { powerFactor, legs: feeds.legs, at: this.partEntry[0]! });
  }

  private settleChargers(configuration: Configuration): void {
    const { plan } = this;
    for (let at = 0; at < plan.regulators.length; at += 1) {
      const charger = plan.regulators[at]!;
      this.chargerInput[at] = 0;
      const feeder = configuration.chargerFeeder[at]!;
      if (!isFedByAlternating(charger) || feeder < 0) continue;
      let most = configuration.chargerMost[at]!;
      // A charger built into an inverter that passes loads on gets what they leave of the input.
      if (charger.inverter >= 0 && configuration.passes[charger.inverter])
        for (let leg = 0; leg < LEGS; leg += 1) {
          const perWatt = configuration.chargerLegs[LEGS * at + leg]!;
          const left = configuration.passageAmperes[charger.inverter]! - this.passages[charger.inverter]!.amperes[leg]!;
          if (perWatt > 0) most = Math.min(most, Math.max(0, left / perWatt));
        }
      const volts = charger.absorb < Infinity ? charger.absorb : 0;
      most = Math.min(most, Math.min(charger.powerLimit, charger.currentLimit * volts) / charger.efficiency);
      this.chargerInput[at] = most;
      this.asked[feeder]!.take(most, this.takingOfCharger(configuration, at));
    }
    for (let feeder = 0; feeder < this.budgets.length; feeder += 1)
      this.shareAmong(
        configuration,
        (at) => configuration.chargerFeeder[at] === feeder,
        [feeder],
        this.budgets[feeder]!,
        this.chargerLimits[feeder]!,
        this.asked[feeder]!,
      );
    this.shareMachines(configuration);
  }

  private takingOfCharger({ chargerLegs }: Configuration, at: number): Taking {
    return { powerFactor: this.plan.regulators[at]!.powerFactor, legs: chargerLegs, at };
  }

  /** Lets some chargers have the share of what they ask that feeders have left for them and for what conductors lose on the way. */
  private shareAmong(
    configuration: Configuration,
    isOne: (charger: number) => boolean,
    feeders: readonly number[],
    given: Budget,
    limits: FeederLimits,
    asked: Budget,
  ): void {
    const { chargerInput, tried } = this;
    if (asked.watts === 0) return;
    const share = shareWithLosses(given, limits, asked, (part) => {
      for (let at = 0; at < tried.length; at += 1) tried[at] = chargerInput[at]! * (isOne(at) ? part : 1);
      return feeders.reduce((sum, feeder) => sum + this.losses.byChargers(configuration, feeder, tried), 0);
    });
    if (share < 1) for (let at = 0; at < tried.length; at += 1) if (isOne(at)) chargerInput[at]! *= share;
  }

  /** Chargers on several outlets of one machine share what the machine has left. */
  private shareMachines(configuration: Configuration): void {
    for (const joint of new Set(this.machines)) {
      if (!joint) continue;
      const isOne = (at: number): boolean => this.machines[configuration.chargerFeeder[at]!] === joint;
      for (let at = 0; at < this.plan.regulators.length; at += 1)
        if (isOne(at) && this.chargerInput[at]! > 0)
          joint.asked.take(this.chargerInput[at]!, this.takingOfCharger(configuration, at));
      const feeders = this.machines.flatMap((each, feeder) => (each === joint ? [feeder] : []));
      this.shareAmong(configuration, isOne, feeders, joint.given, joint.limits, joint.asked);
    }
  }

  /** Whether what feeds a load could also give `watts` more for its start, up to the surge of each inverter. */
  carriesStart(
    { feeds }: Configuration,
    load: number,
    watts: number,
    canCarry: (load: number, feeder: number) => boolean,
  ): boolean {
    const { sources, inverters } = this.plan;
    const parts = this.partsOf(feeds, load, watts, canCarry);
    for (let part = 0; part < parts; part += 1) {
      const at = feeds.feeder[this.partEntry[part]!]! - sources.length;
      if (at >= 0 && this.inverterLoad[at]! + this.partWatts[part]! > inverters[at]!.surge * SLACK) return false;
    }
    return true;
  }
}

const passageLimits = (legAmperes: number): FeederLimits => ({ watts: Infinity, voltAmperes: Infinity, legAmperes });

/** A machine of which several outlets are stated. */
interface Joint {
  readonly limits: FeederLimits;
  readonly given: Budget;
  readonly asked: Budget;
}

/** Each outlet has currents of its own; together they give no more than the least that one of them says of the machine. */
function machinesOf(sources: readonly SourcePlan[]): (Joint | undefined)[] {
  const joints = new Map<number, Joint>();
  return sources.map(({ machine }) => {
    const outlets = sources.filter((each) => each.machine === machine);
    if (outlets.length < 2) return undefined;
    const least = (of: 'watts' | 'voltAmperes'): number => Math.min(...outlets.map(({ limits }) => limits[of]));
    const joint = joints.get(machine) ?? {
      limits: { watts: least('watts'), voltAmperes: least('voltAmperes'), legAmperes: Infinity },
      given: new Budget(),
      asked: new Budget(),
    };
    joints.set(machine, joint);
    return joint;
  });
}
