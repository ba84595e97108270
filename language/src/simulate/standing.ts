import { Allotment } from './allotment.js';
import { INSTANT } from './calendar.js';
import type { DirectSide } from './direct-side.js';
import type { EventLog } from './event-log.js';
import type { Configuration, Plan } from './plan.js';
import { isFedByAlternating, isSetPlan } from './plan-questions.js';
import type { RuleRunner } from './rule-runner.js';
import type { Tally } from './tally.js';
import type { Tanks } from './tanks.js';
import type { ScenarioEvent } from './types.js';

/** What the state beside the charge rests on. */
interface Around {
  readonly direct: DirectSide;
  readonly rules: RuleRunner;
  readonly tanks: Tanks;
  readonly tally: Tally;
  readonly log: EventLog;
  /** C in each bank. */
  readonly charge: Float64Array;
}

/** What stands until something switches: which sources are live, what loads want and get, what chargers and inverters may do. */
export class Standing {
  /** How often each source is lost at the moment, and each link counts as lost to gear. */
  readonly absentSource: Int32Array;
  readonly absentLink: Int32Array;
  readonly turning: Uint8Array;
  readonly wanted: Float64Array;
  readonly profile: Float64Array;
  /** s since which each regulator has its supply; infinite while it has none. */
  readonly supplySince: Float64Array;
  private readonly wasLive: Uint8Array;
  private readonly stalled: Uint8Array;
  private readonly wasOverload: Uint8Array;
  private readonly allotment: Allotment;
  private readonly configurations = new Map<number, Configuration>();
  private live = -1;
  private configuration!: Configuration;
  private time = 0;

  constructor(
    private readonly plan: Plan,
    private readonly around: Around,
  ) {
    const { sources, loads, regulators, links } = plan;
    this.allotment = new Allotment(plan);
    this.absentSource = new Int32Array(sources.length);
    this.absentLink = new Int32Array(links.length);
    this.turning = new Uint8Array(sources.length);
    this.wasLive = new Uint8Array(sources.length);
    this.wanted = new Float64Array(loads.length);
    this.profile = new Float64Array(loads.length);
    this.stalled = new Uint8Array(loads.length);
    this.wasOverload = new Uint8Array(loads.length);
    this.supplySince = new Float64Array(regulators.length).fill(Infinity);
  }

  private note(what: ScenarioEvent['what'], of: string): void {
    this.around.log.note(this.time, what, of);
  }

  /** Takes over what the profiles of loads ask for at a time of day (s). */
  readProfiles(timeOfDay: number): void {
    const { loads } = this.plan;
    const now = timeOfDay + INSTANT;
    for (let at = 0; at < loads.length; at += 1) {
      const { shareFrom, share } = loads[at]!;
      let piece = shareFrom.length - 1;
      while (piece > 0 && shareFrom[piece]! > now) piece -= 1;
      const rose = share[piece]! > this.profile[at]!;
      if (share[piece]! !== this.profile[at]) this.stalled[at] = rose ? 2 : 0;
      this.profile[at] = share[piece]!;
    }
  }

  private isSourceLive(at: number): boolean {
    const source = this.plan.sources[at]!;
    if (this.absentSource[at]! > 0 || this.around.tanks.isEmpty[source.machine]) return false;
    if (source.control < 0) return !isSetPlan(source);
    return this.around.rules.isLoaded(source.control);
  }

  /** Brings everything that follows from the discrete state into the two sides. */
  refresh(time: number): void {
    this.time = time;
    const { plan, allotment } = this;
    const { direct } = this.around;
    let live = 0;
    for (let at = 0; at < plan.sources.length; at += 1) {
      const source = plan.sources[at]!;
      const isLive = this.isSourceLive(at);
      direct.isSourceLive[at] = isLive ? 1 : 0;
      if (isLive && source.kind !== 'direct') live |= 1 << at;
      const turns =
        isSetPlan(source) &&
        this.absentSource[at] === 0 &&
        !this.around.tanks.isEmpty[source.machine] &&
        source.control >= 0 &&
        this.around.rules.isRunning(source.control);
      if (isSetPlan(source) && turns !== (this.turning[at] === 1)) {
        this.turning[at] = turns ? 1 : 0;
        if (turns) this.around.tally.starts[at]! += 1;
        if (source.machine === at) this.note(turns ? 'start' : 'stop', source.name);
      }
      if (isSetPlan(source) && isLive && this.wasLive[at] === 0 && source.machine === at)
        this.note('loaded', source.name);
      this.wasLive[at] = isLive ? 1 : 0;
      direct.isTurning[at] = this.turning[at]!;
    }
    if (live !== this.live) {
      this.live = live;
      let configuration = this.configurations.get(live);
      if (!configuration) this.configurations.set(live, (configuration = plan.configuration(live)));
      this.configuration = configuration;
      direct.configuration = configuration;
    }
    for (let at = 0; at < plan.loads.length; at += 1) {
      const load = plan.loads[at]!;
      const asked = load.watts * this.profile[at]!;
      const isOn = this.around.rules.isRunning(load.control);
      if (!isOn) this.stalled[at] = 2;
      this.wanted[at] = isOn ? asked : 0;
    }
    for (let at = 0; at < plan.inverters.length; at += 1) {
      const { link, stopsWithoutLink, control } = plan.inverters[at]!;
      const isLost = link >= 0 && this.absentLink[link]! > 0;
      direct.isInverterLinked[at] = link >= 0 && !isLost ? 1 : 0;
      direct.isInverterOn[at] =
        direct.gear.inverterRuns[at] && this.around.rules.isRunning(control) && !(isLost && stopsWithoutLink) ? 1 : 0;
    }
    allotment.settle(this.configuration, this.wanted, direct.isInverterOn, (load, feeder) =>
      this.canCarry(load, feeder),
    );
    this.startLoads();
    for (let at = 0; at < plan.loads.length; at += 1)
      direct.served[at] =
        plan.loads[at]!.bus >= 0
          ? direct.gear.isBusDown[plan.loads[at]!.bus] || direct.gear.isLoadOut[at]
            ? 0
            : this.wanted[at]!
          : allotment.isServed[at]
            ? this.wanted[at]!
            : 0;
    this.refreshRegulators();
    direct.takeAllotment(allotment);
  }

  private canCarry(load: number, feeder: number): boolean {
    if (this.stalled[load] === 1) return false;
    const { sources } = this.plan;
    return feeder < sources.length || this.around.direct.isInverterOn[feeder - sources.length] === 1;
  }

  /** Loads that have just been switched on start if their feeder can give the surge; else they stand still until it is tried again. */
  private startLoads(): void {
    const { plan, allotment } = this;
    let isAny = false;
    for (let at = 0; at < plan.loads.length; at += 1) {
      if (this.stalled[at] !== 2 || !allotment.isServed[at]) continue;
      this.stalled[at] = 0;
      const load = plan.loads[at]!;
      const more = this.wanted[at]! * (load.startFactor - 1);
      const carries = allotment.carriesStart(this.configuration, at, more, (each, feeder) =>
        this.canCarry(each, feeder),
      );
      if (more <= 0 || carries) continue;
      this.stalled[at] = 1;
      this.note('stalled', load.name);
      isAny = true;
    }
    if (isAny)
      allotment.settle(this.configuration, this.wanted, this.around.direct.isInverterOn, (load, feeder) =>
        this.canCarry(load, feeder),
      );
  }

  /** Loads that begin to go without because what feeds them cannot give more. */
  noteOverloads(): void {
    const { isOverload } = this.allotment;
    for (let at = 0; at < isOverload.length; at += 1) {
      if (isOverload[at] && !this.wasOverload[at]) this.note('overload', this.plan.loads[at]!.name);
      this.wasOverload[at] = isOverload[at]!;
    }
  }

  private refreshRegulators(): void {
    const { plan } = this;
    const { direct } = this.around;
    for (let at = 0; at < plan.regulators.length; at += 1) {
      const regulator = plan.regulators[at]!;
      const isLinkLost = regulator.link >= 0 && this.absentLink[regulator.link]! > 0;
      direct.isLinked[at] = regulator.link >= 0 && !isLinkLost ? 1 : 0;
      if (!isLinkLost) direct.heldLimit[at] = Infinity;
      else if (regulator.holdsWithoutLink && direct.heldLimit[at] === Infinity)
        direct.heldLimit[at] = direct.sentTo(regulator.bus, this.around.charge);
      const hasSupply = isFedByAlternating(regulator)
        ? this.hasFeeder(at)
        : regulator.source >= 0
          ? direct.isSourceLive[regulator.source] === 1
          : true;
      if (!hasSupply) this.supplySince[at] = Infinity;
      else if (this.supplySince[at] === Infinity) {
        this.supplySince[at] = this.time;
        if (isFedByAlternating(regulator)) direct.gear.beginStages(at);
      }
      const isReady = this.supplySince[at]! + regulator.delay <= this.time + INSTANT;
      direct.isRegulatorOn[at] =
        isReady && this.around.rules.isRunning(regulator.control) && !(isLinkLost && regulator.stopsWithoutLink)
          ? 1
          : 0;
    }
  }

  private hasFeeder(charger: number): boolean {
    const feeder = this.configuration.chargerFeeder[charger]!;
    const { sources } = this.plan;
    return feeder >= 0 && (feeder < sources.length || this.around.direct.isInverterOn[feeder - sources.length] === 1);
  }
}
