import { Budget, type FeederLimits, LEGS } from '../solve/budget.js';
import type { Configuration, Plan } from './plan.js';

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
  private readonly order: Int32Array;
  private readonly budgets: readonly Budget[];
  private readonly passages: readonly Budget[];
  private readonly asked: readonly Budget[];
  /** What each feeder gives while chargers draw on it. */
  private readonly chargerLimits: readonly FeederLimits[];

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
    this.budgets = Array.from({ length: feeders }, () => new Budget());
    this.asked = Array.from({ length: feeders }, () => new Budget());
    this.passages = plan.inverters.map(() => new Budget());
    this.chargerLimits = [
      ...plan.sources.map(({ limits, chargerWatts }) => ({ ...limits, watts: Math.min(limits.watts, chargerWatts) })),
      ...plan.inverters.map(({ limits }) => limits),
    ];
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
    // While it passes a supply on, an inverter lives on that supply.
    for (let at = 0; at < plan.inverters.length; at += 1) {
      const source = configuration.passageSource[at]!;
      const { idle } = plan.inverters[at]!;
      if (source < 0 || !isInverterOn[at]) continue;
      this.budgets[source]!.take(idle, idle, configuration.passageLegs, at);
      this.passages[at]!.take(idle, idle, configuration.passageLegs, at);
    }
    for (let at = 0; at < this.order.length; at += 1) {
      const load = this.order[at]!;
      const plain = plan.loads[load]!;
      isServed[load] = 0;
      isOverload[load] = 0;
      const watts = wanted[load]!;
      if (plain.bus >= 0 || watts <= 0) continue;
      const feeder = configuration.loadFeeder[load]!;
      if (feeder < 0 || !canCarry(load, feeder)) continue;
      const budget = this.budgets[feeder]!;
      const voltAmperes = watts / plain.powerFactor;
      const passage = configuration.loadPassage[load]!;
      const fits =
        budget.fits(this.limitsOf(feeder), watts, voltAmperes, configuration.loadLegs, load) &&
        (passage < 0 ||
          this.passages[passage]!.fits(
            passageLimits(configuration.passageAmperes[passage]!),
            watts,
            voltAmperes,
            configuration.loadLegs,
            load,
          ));
      if (!fits) {
        isOverload[load] = 1;
        continue;
      }
      budget.take(watts, voltAmperes, configuration.loadLegs, load);
      if (passage >= 0) this.passages[passage]!.take(watts, voltAmperes, configuration.loadLegs, load);
      isServed[load] = 1;
    }
    for (let at = 0; at < plan.sources.length; at += 1) this.sourceLoad[at] = this.budgets[at]!.watts;
    for (let at = 0; at < plan.inverters.length; at += 1)
      this.inverterLoad[at] = this.budgets[plan.sources.length + at]!.watts;
    this.settleChargers(configuration);
  }

  private settleChargers(configuration: Configuration): void {
    const { plan } = this;
    for (let at = 0; at < plan.regulators.length; at += 1) {
      const charger = plan.regulators[at]!;
      this.chargerInput[at] = 0;
      const feeder = configuration.chargerFeeder[at]!;
      if (charger.kind !== 'charger' || feeder < 0) continue;
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
      this.asked[feeder]!.take(most, most / charger.powerFactor, configuration.chargerLegs, at);
    }
    for (let at = 0; at < plan.regulators.length; at += 1) {
      const feeder = configuration.chargerFeeder[at]!;
      if (plan.regulators[at]!.kind !== 'charger' || feeder < 0) continue;
      const share = this.budgets[feeder]!.share(this.chargerLimits[feeder]!, this.asked[feeder]!);
      this.chargerInput[at]! *= share;
    }
  }

  /** Whether a feeder could also give `watts` more for the start of a load, up to its surge. */
  carriesStart(feeder: number, watts: number): boolean {
    const { sources, inverters } = this.plan;
    if (feeder < sources.length) return true;
    const inverter = inverters[feeder - sources.length]!;
    return this.inverterLoad[feeder - sources.length]! + watts <= inverter.surge * SLACK;
  }
}

const passageLimits = (legAmperes: number): FeederLimits => ({ watts: Infinity, voltAmperes: Infinity, legAmperes });
