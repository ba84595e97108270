import { Comparisons } from './comparison.js';
import type { DaySums, RunSums } from './day-sums.js';
import { DirectSide, FLOW } from './direct-side.js';
import { Allotment } from './allotment.js';
import { Calendar, DAY, INSTANT } from './calendar.js';
import { RuleRunner } from './rule-runner.js';
import type { AskedPlan, Configuration, Plan } from './plan.js';
import { finished } from './finished.js';
import { Random } from './random.js';
import { Recorder } from './recorder.js';
import { dailyClearness } from '../quantities/weather/clearness.js';
import { DayWind } from '../quantities/weather/day-wind.js';
import { SinceFull } from './since-full.js';
import { SunLine } from './sun-line.js';
import { type TankOutcome, Tanks } from './tanks.js';
import { Stepper } from './stepper.js';
import { storedEnergy } from '../equipment/bank-curve.js';
import { LEAST_SENT, chargeSent, dischargeSent } from '../equipment/sent-limits.js';
import type { EnergyBalance, ScenarioEvent } from './types.js';
import { isFedByAlternating, isSetPlan } from './plan-questions.js';

/** Longest step where nothing happens, in s: so that curves look like curves. */
const LONGEST_STEP = 900;
/** What the energy books may be open by, over all energy that went through. */
export const BALANCE_TOLERANCE = 1e-6;
/** Rounds in which switching settles at one instant, and switchings within a second that count as chatter without end. */
const MOST_ROUNDS = 50;
const MOST_EVENTS_PER_HOUR = 20_000;
/** Events of a whole play, however long: a year of a busy site has some ten thousand, and what is kept must fit into memory. */
const MOST_EVENTS = 2_000_000;
/** The wind has random numbers of its own, so that the sun and outages of a seed are the same with and without a turbine. */
const WIND_SEED = 0x57494e44;
const HOUR = 3600;
const HOURS = 24;
/** Steps between looks at cancellation and progress. */
const LOOK = 2048;

export interface EngineOptions {
  /** s. */
  readonly resolution: number;
  readonly seed: number;
  /** Which of several runs; each has random numbers of its own. */
  readonly run: number;
  /** Whether weather and outages vary by random numbers. */
  readonly isRandom: boolean;
  readonly cancelled?: () => boolean;
  readonly progress?: (share: number) => void;
  readonly recorder?: Recorder;
  /** Looks on whenever everything has settled that switches at an instant: time and time of day (s), and the direct-current side. */
  readonly watch?: (time: number, timeOfDay: number, direct: DirectSide) => void;
  /** How many times the usual tolerances of steps and books are enough; 1 unless said. What only asks which way things go needs no digits. */
  readonly looseness?: number;
  /** Longest step in s where nothing happens; 900 unless said. What happens must not depend on it. */
  readonly longestStep?: number;
}

/** What a run leaves; sums in coherent SI by position in the plan. */
export interface Outcome extends RunSums {
  readonly recorder: Recorder;
  readonly events: readonly ScenarioEvent[];
  /** The same sums at the start, at each midnight and at the end. */
  readonly days: DaySums;
  /** s, by bank: the longest time since it was full. */
  readonly sinceFull: Float64Array;
  readonly tanks: readonly TankOutcome[];
  readonly balance: EnergyBalance;
  /** J through all books, what the balance is measured against. */
  readonly throughput: number;
  readonly steps: number;
}

/** The engine gives up: rules or protections switch without end at one time. */
export class EndlessSwitching extends Error {
  constructor(readonly time: number) {
    super('switches without end');
  }
}

/** The energy books do not close: a fault of the engine, never of a design. */
export class BooksOpen extends Error {}

export class Cancelled extends Error {}

/**
 * Plays a plan. Time runs from event to event: steps end where a profile, an outage, a timer of the rules, the sun or the day changes,
 * and where a watched value crosses its limit. Within a step everything that does not follow from the charge of the banks stands still,
 * so that the charge of a bank moves one way only and no value can cross a limit and come back unseen.
 *
 * The books of all energy must close, or the engine refuses its own result. How the charge moves, see `Stepper`.
 */
export class Engine {
  private readonly direct: DirectSide;
  private readonly stepper: Stepper;
  private readonly comparisons: Comparisons;
  private readonly allotment: Allotment;
  private readonly sun: SunLine;
  private readonly wind: DayWind;
  private readonly clearness: Float64Array;
  readonly recorder: Recorder;
  private readonly events: ScenarioEvent[] = [];
  private readonly configurations = new Map<number, Configuration>();

  /* Time. */
  private time = 0;
  private readonly firstDay: number;
  private readonly calendar: Calendar;

  /* State beside the charge of the banks. */
  private readonly rules: RuleRunner;
  private readonly truths: Uint8Array;
  private readonly absentSource: Int32Array;
  private readonly absentLink: Int32Array;
  private readonly turning: Uint8Array;
  private readonly wasLive: Uint8Array;
  private readonly wanted: Float64Array;
  private readonly profile: Float64Array;
  private readonly stalled: Uint8Array;
  private readonly wasOverload: Uint8Array;
  private readonly since: Float64Array;
  private readonly supplySince: Float64Array;
  private readonly tankLeft: Float64Array;
  private readonly tanks: Tanks;
  private live = -1;
  private configuration!: Configuration;

  /* Sums. */
  private readonly runTime: Float64Array;
  private readonly starts: Float64Array;
  private readonly served: Float64Array;
  private readonly unserved: Float64Array;
  private readonly shed: Float64Array;
  private readonly curtailed: Float64Array;
  private readonly sinceFull: SinceFull;
  private readonly days: { time: number; sums: RunSums }[] = [];
  private steps = 0;
  private hourOfEvents = 0;
  private eventsInHour = 0;

  private gearDue = Infinity;
  private isOtherSun = false;

  private readonly truthsEnd: Uint8Array;

  constructor(
    private readonly plan: Plan,
    private readonly options: EngineOptions,
  ) {
    const { banks, sources, loads, regulators, arrays, links, control } = plan;
    this.sun = new SunLine(plan.sun, arrays, options.resolution);
    this.direct = new DirectSide(plan, this.sun);
    this.stepper = new Stepper(banks, this.direct, options.looseness);
    this.comparisons = new Comparisons(control.comparisons);
    this.allotment = new Allotment(plan);
    this.recorder = options.recorder ?? new Recorder(plan.signals.length);
    this.recorder.clear();
    const days = Math.ceil((plan.timeOfDay + plan.duration) / DAY) + 1;
    const random = (stream: number): Random => new Random(options.seed, 2 * options.run + stream);
    this.clearness =
      plan.sun.mode === 'months'
        ? dailyClearness(plan.sun, plan.year, plan.dayOfYear, days, options.isRandom ? random(0) : undefined)
        : new Float64Array(days);
    this.calendar = new Calendar(plan, options.isRandom ? random(1) : undefined);
    const gusts = options.isRandom ? new Random(options.seed ^ WIND_SEED, options.run) : undefined;
    this.wind = new DayWind(plan.wind, plan.turbines, gusts);

    this.firstDay = plan.firstDay ?? 1;
    this.rules = new RuleRunner(control, this.firstDay);
    this.truths = new Uint8Array(this.direct.gear.conditions);
    this.truthsEnd = new Uint8Array(this.direct.gear.conditions);
    this.absentSource = new Int32Array(sources.length);
    this.absentLink = new Int32Array(links.length);
    this.turning = new Uint8Array(sources.length);
    this.wasLive = new Uint8Array(sources.length);
    this.wanted = new Float64Array(loads.length);
    this.profile = new Float64Array(loads.length);
    this.stalled = new Uint8Array(loads.length);
    this.wasOverload = new Uint8Array(loads.length);
    this.since = new Float64Array(this.direct.gear.conditions).fill(Infinity);
    this.supplySince = new Float64Array(regulators.length).fill(Infinity);
    this.tankLeft = Float64Array.from(sources, ({ tank, fuelAtStart }) =>
      fuelAtStart === undefined ? tank : Infinity,
    );
    this.tanks = new Tanks(sources);

    this.runTime = new Float64Array(sources.length);
    this.starts = new Float64Array(sources.length);
    [this.served, this.unserved, this.shed] = [0, 1, 2].map(() => new Float64Array(loads.length)) as [
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    this.curtailed = new Float64Array(arrays.length);
    this.sinceFull = new SinceFull(banks);
  }

  play(): Outcome {
    return finished(this.playing());
  }

  /** Plays piece by piece: yields the share that is done (0 to 1), so that its caller can do other things in between. */
  *playing(): Generator<number, Outcome> {
    const { plan, options } = this;
    const before = this.stored();
    this.noteDay();
    this.fillDay();
    this.readProfiles();
    this.passEdges();
    const longest = options.longestStep ?? LONGEST_STEP;
    let tried = longest;
    let isChanged = true;
    while (this.time < plan.duration) {
      if (isChanged) this.settle();
      else this.settleQuietly(this.isOtherSun);
      if (this.steps % LOOK === 0) {
        if (options.cancelled?.()) throw new Cancelled();
        options.progress?.(this.time / plan.duration);
        yield this.time / plan.duration;
      }
      const until = this.nextBreak();
      const length = this.step(Math.min(this.stepper.growth * tried, longest), until);
      isChanged = this.passBreaks();
      // Where something switched the steps before say nothing of those behind.
      tried = isChanged ? longest : this.stepper.isHalved ? length : Math.max(tried, length);
    }
    this.settle();
    return this.outcome(before);
  }

  private stored(): number {
    return this.plan.banks.reduce((sum, bank, at) => sum + storedEnergy(bank, this.stepper.charge[at]!), 0);
  }

  private get timeOfDay(): number {
    return this.calendar.timeOfDay(this.time);
  }

  /* ---- what stands still within a step ---- */

  /** What the day brings: the sun, and what follows the months. */
  private fillDay(): void {
    const { dayOfYear, day, dayStart, month } = this.calendar;
    this.direct.month = month;
    this.sun.fill(dayOfYear, this.clearness[day]!, dayStart, this.calendar.year);
    this.sun.read(this.timeOfDay);
    this.wind.fill(dayOfYear, this.calendar.year, dayStart);
    this.readWind();
  }

  /** What the wind makes turbines give in this hour. Answers whether it is another than before. */
  private readWind(): boolean {
    const { turbineWatts } = this.direct;
    const hour = Math.min(HOURS - 1, Math.floor((this.timeOfDay + INSTANT) / HOUR));
    let isOther = false;
    for (let at = 0; at < turbineWatts.length; at += 1) {
      const watts = this.wind.watts[at]![hour]!;
      if (watts !== turbineWatts[at]) isOther = true;
      turbineWatts[at] = watts;
    }
    return isOther;
  }

  private readProfiles(): void {
    const { loads } = this.plan;
    const now = this.timeOfDay + INSTANT;
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
    if (this.absentSource[at]! > 0 || this.tanks.isEmpty[source.machine]) return false;
    if (source.control < 0) return !isSetPlan(source);
    return this.rules.isLoaded(source.control);
  }

  /** Brings everything that follows from the discrete state into the two sides. */
  private refresh(): void {
    const { plan, direct, allotment } = this;
    let live = 0;
    for (let at = 0; at < plan.sources.length; at += 1) {
      const source = plan.sources[at]!;
      const isLive = this.isSourceLive(at);
      direct.isSourceLive[at] = isLive ? 1 : 0;
      if (isLive && source.kind !== 'direct') live |= 1 << at;
      const turns =
        isSetPlan(source) &&
        this.absentSource[at] === 0 &&
        !this.tanks.isEmpty[source.machine] &&
        source.control >= 0 &&
        this.rules.isRunning(source.control);
      if (isSetPlan(source) && turns !== (this.turning[at] === 1)) {
        this.turning[at] = turns ? 1 : 0;
        if (turns) this.starts[at]! += 1;
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
      const isOn = this.rules.isRunning(load.control);
      if (!isOn) this.stalled[at] = 2;
      this.wanted[at] = isOn ? asked : 0;
    }
    for (let at = 0; at < plan.inverters.length; at += 1) {
      const { link, stopsWithoutLink, control } = plan.inverters[at]!;
      const isLost = link >= 0 && this.absentLink[link]! > 0;
      direct.isInverterLinked[at] = link >= 0 && !isLost ? 1 : 0;
      direct.isInverterOn[at] =
        direct.gear.inverterRuns[at] && this.rules.isRunning(control) && !(isLost && stopsWithoutLink) ? 1 : 0;
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
    return feeder < sources.length || this.direct.isInverterOn[feeder - sources.length] === 1;
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
      allotment.settle(this.configuration, this.wanted, this.direct.isInverterOn, (load, feeder) =>
        this.canCarry(load, feeder),
      );
  }

  /** Loads that begin to go without because what feeds them cannot give more. */
  private noteOverloads(): void {
    const { isOverload } = this.allotment;
    for (let at = 0; at < isOverload.length; at += 1) {
      if (isOverload[at] && !this.wasOverload[at]) this.note('overload', this.plan.loads[at]!.name);
      this.wasOverload[at] = isOverload[at]!;
    }
  }

  private refreshRegulators(): void {
    const { plan, direct } = this;
    for (let at = 0; at < plan.regulators.length; at += 1) {
      const regulator = plan.regulators[at]!;
      const isLinkLost = regulator.link >= 0 && this.absentLink[regulator.link]! > 0;
      direct.isLinked[at] = regulator.link >= 0 && !isLinkLost ? 1 : 0;
      if (!isLinkLost) direct.heldLimit[at] = Infinity;
      else if (regulator.holdsWithoutLink && direct.heldLimit[at] === Infinity)
        direct.heldLimit[at] = direct.sentTo(regulator.bus, this.stepper.charge);
      const hasSupply = isFedByAlternating(regulator)
        ? this.hasFeeder(at)
        : regulator.source >= 0
          ? direct.isSourceLive[regulator.source] === 1
          : true;
      if (!hasSupply) this.supplySince[at] = Infinity;
      else if (this.supplySince[at] === Infinity) {
        this.supplySince[at] = this.time;
        if (isFedByAlternating(regulator)) direct.gear.isFloating[at] = 0;
      }
      const isReady = this.supplySince[at]! + regulator.delay <= this.time + INSTANT;
      direct.isRegulatorOn[at] =
        isReady && this.rules.isRunning(regulator.control) && !(isLinkLost && regulator.stopsWithoutLink) ? 1 : 0;
    }
  }

  private hasFeeder(charger: number): boolean {
    const feeder = this.configuration.chargerFeeder[charger]!;
    const { sources } = this.plan;
    return feeder >= 0 && (feeder < sources.length || this.direct.isInverterOn[feeder - sources.length] === 1);
  }

  /* ---- switching ---- */

  private note(what: ScenarioEvent['what'], of: string): void {
    this.events.push({ time: this.time, what, of });
    const hour = Math.floor(this.time / 3600);
    this.eventsInHour = hour === this.hourOfEvents ? this.eventsInHour + 1 : 1;
    this.hourOfEvents = hour;
    if (this.eventsInHour > MOST_EVENTS_PER_HOUR || this.events.length > MOST_EVENTS)
      throw new EndlessSwitching(this.time);
  }

  /** Lets everything switch that switches at this instant, until nothing does, and records where it stands. */
  private settle(): void {
    for (let round = 0; ; round += 1) {
      if (round > MOST_ROUNDS) throw new EndlessSwitching(this.time);
      this.refresh();
      this.look();
      if (!this.switchControls() && !this.switchGear()) break;
    }
    // What lacks only until a set starts at the same instant lacks for no time at all.
    this.noteOverloads();
    this.stepper.begin();
    this.noteDue();
    this.direct.fillValues(this.stepper.charge);
    this.recorder.push(this.time, this.direct.values);
    this.options.watch?.(this.time, this.timeOfDay, this.direct);
  }

  /** After a step at whose end nothing switches: only the sun may be another. */
  private settleQuietly(isOtherSun: boolean): void {
    if (!isOtherSun) {
      // The start of this step is the end of the one before, from which the sun may go on another way.
      this.direct.takeSun(0);
      this.stepper.beginAtEnd();
      return;
    }
    this.look();
    if (this.isAsAtStart()) this.stepper.begin();
    else this.settle();
  }

  private look(): void {
    this.direct.takeSun(0);
    this.stepper.solveStart();
    this.direct.fillWatched(this.stepper.charge);
    this.judge(this.truths, this.time);
  }

  /** When gear acts on what holds now, and chargers that have their supply are at full output. */
  private noteDue(): void {
    const { since, direct, supplySince } = this;
    this.gearDue = Infinity;
    for (let at = this.plan.control.comparisons.length; at < direct.gear.conditions; at += 1) {
      const due = since[at]! + direct.gear.delays[at]!;
      if (due < this.gearDue) this.gearDue = due;
    }
    for (let at = 0; at < supplySince.length; at += 1) {
      const due = supplySince[at]! + this.plan.regulators[at]!.delay;
      if (due > this.time + INSTANT && due < this.gearDue) this.gearDue = due;
    }
  }

  private judge(truths: Uint8Array, time: number): void {
    const { values } = this.direct;
    const width = this.plan.signals.length;
    values[width] = this.calendar.timeOfDay(time);
    values[width + 1] = this.calendar.day + this.firstDay;
    const { asked } = this.plan.control;
    for (let at = 0; at < asked.length; at += 1) values[width + 2 + at] = this.askedValue(asked[at]!, time);
    this.comparisons.judge(values, truths);
    this.direct.gear.fillConditions(this.direct, truths);
  }

  /** What rules alone ask for, at a time up to the end of the step that is tried. */
  private askedValue({ signal, index }: AskedPlan, time: number): number {
    const { gear, solvedAt } = this.direct;
    const bank = this.plan.banks[index];
    const soc = bank ? solvedAt[index]! / bank.capacity : 0;
    switch (signal) {
      case 'runTime':
        return this.runTime[index]! + (this.turning[index] ? time - this.time : 0);
      case 'mayCharge':
        return bank!.takesCharge && !gear.isOpenHigh[index] && chargeSent(bank!, soc) > LEAST_SENT ? 1 : 0;
      case 'mayDischarge':
        return bank!.givesCharge &&
          !gear.isOpenLow[index] &&
          !gear.isEmpty[index] &&
          dischargeSent(bank!, soc) > LEAST_SENT
          ? 1
          : 0;
    }
  }

  /** Tells the rules what holds now. Answers whether a command changed. */
  private switchControls(): boolean {
    const changed = this.rules.tell(this.truths, this.time, this.calendar);
    const { targets } = this.plan.control.machine;
    for (const target of changed) {
      const { target: thing, restsOff } = targets[target]!;
      if (!restsOff) this.note(this.rules.isRunning(target) ? 'restored' : 'shed', thing.name);
    }
    return changed.length > 0;
  }

  /** Protections, cut-offs and charging stages whose time has come. Answers whether any switched. */
  private switchGear(): boolean {
    const { direct, since, truths } = this;
    const first = this.plan.control.comparisons.length;
    let isChanged = false;
    for (let at = first; at < direct.gear.conditions; at += 1) {
      if (!truths[at]) {
        since[at] = Infinity;
        continue;
      }
      if (since[at] === Infinity) since[at] = this.time;
      if (since[at]! + direct.gear.delays[at]! > this.time + INSTANT) continue;
      since[at] = Infinity;
      const { what, of } = direct.gear.fire(at);
      if (what) this.note(what, of);
      isChanged = true;
    }
    return isChanged;
  }

  /* ---- steps ---- */

  /** The next time at which something changes that does not follow from the charge. */
  private nextBreak(): number {
    let next = Math.min(this.plan.duration, this.calendar.nextChange());
    if (this.rules.due < next) next = this.rules.due;
    if (this.gearDue < next) next = this.gearDue;
    if (this.plan.turbines.length > 0) {
      const hour = Math.floor((this.timeOfDay + INSTANT) / HOUR) + 1;
      next = Math.min(next, this.calendar.dayStart + hour * HOUR);
    }
    next = Math.min(next, this.calendar.dayStart + this.sun.nextKnot(this.timeOfDay));
    return Math.max(next, this.time + INSTANT);
  }

  /** Takes one step of at most `most` s and not beyond `until`; answers its length. */
  private step(most: number, until: number): number {
    let length = this.stepper.tryUpTo(Math.min(most, until - this.time));
    this.judge(this.truthsEnd, this.time + length);
    if (!this.isQuiet(length)) length = this.toEvent(length);
    this.stepper.take(length);
    this.add(length);
    this.sun.advance(length);
    const isUntil = this.time + length >= until - INSTANT / 2;
    this.time = isUntil ? until : this.time + length;
    this.sinceFull.advance(this.time, this.stepper.charge);
    this.steps += 1;
    this.recorder.push(this.time, this.direct.values);
    return length;
  }

  /** Whether all that holds at the end of the last step held at its start; at the start of a step, whether it held at the end before. */
  private isAsAtStart(): boolean {
    for (let at = 0; at < this.truths.length; at += 1) if (this.truths[at] !== this.truthsEnd[at]) return false;
    return true;
  }

  /** Whether nothing switches in the step of so many s that was tried last. */
  private isQuiet(length: number): boolean {
    if (!this.isAsAtStart()) return false;
    const { tanks, stepper, direct } = this;
    for (let each = 0; each < tanks.finite.length; each += 1) {
      const at = tanks.finite[each]!;
      const flow = direct.fuelFlow(at);
      if (tanks.runsDry(at, stepper.sums[flow]! + stepper.flowed(flow, length))) return false;
    }
    return true;
  }

  /** Shortens a step in which anything switches until it ends just behind the first switching. */
  private toEvent(length: number): number {
    let [low, high] = [0, length];
    while (high - low > INSTANT) {
      const middle = (low + high) / 2;
      this.stepper.tryStep(middle);
      this.judge(this.truthsEnd, this.time + middle);
      if (this.isQuiet(middle)) low = middle;
      else high = middle;
    }
    this.stepper.tryStep(high);
    this.judge(this.truthsEnd, this.time + high);
    return high;
  }

  private add(length: number): void {
    const { plan } = this;
    for (let at = 0; at < plan.loads.length; at += 1) {
      const served = this.direct.served[at]!;
      this.served[at]! += served * length;
      const asked = plan.loads[at]!.watts * this.profile[at]!;
      if (this.wanted[at]! < asked) this.shed[at]! += asked * length;
      else if (served < asked) this.unserved[at]! += (asked - served) * length;
    }
    for (let at = 0; at < this.turning.length; at += 1) if (this.turning[at]) this.runTime[at]! += length;
    for (let at = 0; at < this.curtailed.length; at += 1)
      this.curtailed[at]! += (this.sun.watts[at]! + (this.sun.wattsRate[at]! * length) / 2) * length;
  }

  /** Lets pass what changes at the time reached. Answers whether anything but the sun did. */
  private passBreaks(): boolean {
    let isChanged = false;
    if (this.calendar.passMidnight(this.time)) {
      if (this.time < this.plan.duration) this.noteDay();
      this.fillDay();
      isChanged = true;
    }
    if (this.calendar.passProfiles(this.time)) {
      this.readProfiles();
      isChanged = true;
    }
    if (this.passEdges()) isChanged = true;
    this.isOtherSun = this.sun.read(this.timeOfDay);
    if (this.readWind()) isChanged = true;
    if (this.time >= this.rules.due - INSTANT || this.time >= this.gearDue - INSTANT) isChanged = true;
    if (!isChanged && !this.isAsAtStart()) isChanged = true;
    this.refillTanks();
    return this.emptyTanks() || isChanged;
  }

  private passEdges(): boolean {
    let isChanged = false;
    for (let edge = this.calendar.passEdge(this.time); edge; edge = this.calendar.passEdge(this.time)) {
      const { of, index, by } = edge;
      isChanged = true;
      if (of === 'source') {
        const was = this.absentSource[index]!;
        this.absentSource[index]! += by;
        if (was === 0 || this.absentSource[index] === 0)
          this.note(by > 0 ? 'lost' : 'back', this.plan.sources[index]!.name);
      } else if (of === 'tank') {
        this.tanks.fill(index, this.stepper.sums[this.direct.fuelFlow(index)]!);
        this.note('refilled', this.plan.sources[index]!.name);
      } else if (of === 'lost') this.absentLink[index]! += by;
      else {
        this.note(by > 0 ? 'lost' : 'back', this.plan.links[index]!.name);
        this.rules.tellLink(index, by < 0, this.time, this.calendar);
      }
    }
    return isChanged;
  }

  /** Lets sets stand still whose tanks are empty. Answers whether any is. */
  private emptyTanks(): boolean {
    let isAny = false;
    for (const at of this.tanks.finite) {
      if (!this.tanks.advance(at, this.time, this.stepper.sums[this.direct.fuelFlow(at)]!)) continue;
      this.note('tank empty', this.plan.sources[at]!.name);
      isAny = true;
    }
    return isAny;
  }

  private refillTanks(): void {
    const { sources } = this.plan;
    for (let at = 0; at < sources.length; at += 1) {
      if (this.tankLeft[at] === Infinity) continue;
      const used = this.stepper.sums[this.direct.fuelFlow(at)]!;
      while (used > this.tankLeft[at]!) {
        this.tankLeft[at]! += sources[at]!.tank;
        this.note('out of fuel', sources[at]!.name);
      }
    }
  }

  private noteDay(): void {
    this.days.push({ time: this.time, sums: this.sumsNow() });
  }

  private sumsNow(): RunSums {
    const { plan, direct } = this;
    const { sums } = this.stepper;
    const bySource = (flow: (at: number) => number): Float64Array =>
      Float64Array.from(plan.sources, (_, at) => sums[flow(at)]!);
    const taken = Float64Array.from(plan.arrays, (_, at) => sums[direct.arrayFlow(at)]!);
    return {
      runTime: this.runTime.slice(),
      starts: this.starts.slice(),
      fuel: bySource((at) => direct.fuelFlow(at)),
      spare: bySource((at) => direct.spareFlow(at)),
      given: bySource((at) => direct.sourceFlow(at)),
      drawn: Float64Array.from(plan.banks, (_, at) => sums[direct.drawnFlow(at)]!),
      served: this.served.slice(),
      unserved: this.unserved.slice(),
      shed: this.shed.slice(),
      curtailed: this.curtailed.map((sum, at) => Math.max(0, sum - taken[at]!)),
      taken,
    };
  }

  private outcome(before: number): Outcome {
    const { sums } = this.stepper;
    const stored = this.stored() - before;
    const [fromSources, toLoads, lost] = [sums[FLOW.sources]!, sums[FLOW.loads]!, sums[FLOW.lost]!];
    const diverted = sums[FLOW.diverted]!;
    const residual = fromSources - toLoads - lost - diverted - stored;
    const throughput = fromSources + toLoads + lost + diverted + Math.abs(stored);
    if (!(Math.abs(residual) <= BALANCE_TOLERANCE * (this.options.looseness ?? 1) * throughput + 1e-6))
      throw new BooksOpen(`${residual} J of ${throughput} J are unaccounted for`);
    this.noteDay();
    return {
      ...this.days.at(-1)!.sums,
      days: this.days,
      recorder: this.recorder,
      events: this.events,
      sinceFull: this.sinceFull.longest,
      tanks: this.tanks.outcome(),
      balance: { fromSources, toLoads, lost, diverted, stored, residual },
      throughput,
      steps: this.steps,
    };
  }
}
