import { Comparisons } from './comparison.js';
import { Crossing } from './crossing.js';
import { DirectSide } from './direct-side.js';
import { Calendar, DAY, INSTANT } from './calendar.js';
import { BALANCE_TOLERANCE, BooksOpen, Cancelled, EndlessSwitching } from './engine-types.js';
import type { EngineOptions, Outcome } from './engine-types.js';
import { FLOW } from './energy-flows.js';
import { EventLog } from './event-log.js';
import { RuleRunner } from './rule-runner.js';
import type { AskedPlan, Plan } from './plan.js';
import { finished } from './finished.js';
import { Random } from './random.js';
import { Recorder } from './recorder.js';
import { dailyClearness } from '../quantities/weather/clearness.js';
import { DayWind } from '../quantities/weather/day-wind.js';
import { SinceFull } from './since-full.js';
import { Standing } from './standing.js';
import { SunLine } from './sun-line.js';
import { Stepper } from './stepper.js';
import { Tally } from './tally.js';
import { Tanks } from './tanks.js';
import { storedEnergy } from '../equipment/bank-curve.js';
import { LEAST_SENT, chargeSent, dischargeSent } from '../equipment/sent-limits.js';

/** Rounds in which switching settles at one instant. */
const MOST_ROUNDS = 50;
/** Longest step where nothing happens, in s: so that curves look like curves. */
const LONGEST_STEP = 900;
/** Longest step that is tried first where something has switched, in s. */
const FIRST_STEP = 900;
/** The wind has random numbers of its own, so that the sun and outages of a seed are the same with and without a turbine. */
const WIND_SEED = 0x57494e44;
const HOUR = 3600;
const HOURS = 24;
/** Steps between looks at cancellation and progress. */
const LOOK = 2048;

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
  private readonly standing: Standing;
  private readonly sun: SunLine;
  private readonly wind: DayWind;
  private readonly clearness: Float64Array;
  readonly recorder: Recorder;
  private readonly log = new EventLog();

  /* Time. */
  private time = 0;
  private readonly firstDay: number;
  private readonly calendar: Calendar;

  /* State beside the charge of the banks. */
  private readonly rules: RuleRunner;
  private readonly truths: Uint8Array;
  private readonly since: Float64Array;
  private readonly tankLeft: Float64Array;
  private readonly tanks: Tanks;

  /* Sums. */
  private readonly sinceFull: SinceFull;
  private readonly tally: Tally;
  private steps = 0;

  private gearDue = Infinity;
  private isOtherSun = false;
  /** Whether anything that stands until something switches may have been changed from outside since it was worked out. */
  private isOtherStanding = true;

  private readonly truthsEnd: Uint8Array;
  /** What comparisons are above their limits by at the start of a step and where it was tried last; and where something switches in it. */
  private over: Float64Array;
  private overEnd: Float64Array;
  private readonly crossing: Crossing;

  constructor(
    private readonly plan: Plan,
    private readonly options: EngineOptions,
  ) {
    const { banks, sources, arrays, control } = plan;
    this.sun = new SunLine(plan.sun, arrays, options.resolution);
    this.direct = new DirectSide(plan, this.sun);
    this.stepper = new Stepper(banks, this.direct, options.looseness);
    this.comparisons = new Comparisons(control.comparisons);
    this.recorder = options.recorder ?? Recorder.ofAll(plan.signals.length);
    this.recorder.clear();
    // Extremes are followed of all there is.
    if (!options.extremes) this.direct.signals.keepOnly(this.recorder.columns);
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
    this.over = new Float64Array(control.comparisons.length);
    this.overEnd = new Float64Array(control.comparisons.length);
    this.crossing = new Crossing(control.comparisons.length, this.truths.length, options.closeness);
    this.since = new Float64Array(this.direct.gear.conditions).fill(Infinity);
    this.tankLeft = Float64Array.from(sources, ({ tank, fuelAtStart }) =>
      fuelAtStart === undefined ? tank : Infinity,
    );
    this.tanks = new Tanks(sources);

    const { direct, rules, tanks, log } = this;
    const { charge, sums } = this.stepper;
    this.tally = new Tally(plan, direct, sums);
    this.standing = new Standing(plan, { direct, rules, tanks, log, charge, tally: this.tally });
    this.sinceFull = new SinceFull(banks);
  }

  play(): Outcome {
    return finished(this.playing());
  }

  /** Plays piece by piece: yields the share that is done (0 to 1), so that its caller can do other things in between. */
  *playing(): Generator<number, Outcome> {
    const { plan, options } = this;
    const before = this.stored();
    this.tally.noteDay(this.time);
    this.fillDay();
    this.standing.readProfiles(this.timeOfDay);
    this.passEdges();
    const longest = options.longestStep ?? LONGEST_STEP;
    const first = options.firstStep ?? FIRST_STEP;
    let tried = first;
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
      tried = isChanged ? first : this.stepper.isShortened ? length : Math.max(tried, length);
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

  /* ---- switching ---- */

  /** Lets everything switch that switches at this instant, until nothing does, and records where it stands. */
  private settle(): void {
    for (let round = 0; ; round += 1) {
      if (round > MOST_ROUNDS) throw new EndlessSwitching(this.time);
      // What rules and gear see may be another without anything having switched yet.
      if (round > 0 || this.isOtherStanding) this.standing.refresh(this.time);
      this.look();
      if (!this.switchControls() && !this.switchGear()) break;
    }
    // What lacks only until a set starts at the same instant lacks for no time at all.
    this.standing.noteOverloads();
    this.stepper.begin();
    this.noteDue();
    this.record();
    this.options.watch?.(this.time, this.timeOfDay, this.direct);
  }

  /** Keeps what stands at this time. */
  private record(): void {
    const { signals } = this.direct;
    signals.fillKept(this.stepper.charge);
    this.keep(this.time, signals.values);
  }

  private keep(time: number, values: Float64Array): void {
    this.recorder.push(time, values);
    this.options.extremes?.push(time, values);
  }

  /** After a step at whose end nothing switches: only the sun may be another. */
  private settleQuietly(isOtherSun: boolean): void {
    if (!isOtherSun) {
      // The start of this step is the end of the one before, from which the sun may go on another way.
      this.direct.takeSun(0);
      [this.over, this.overEnd] = [this.overEnd, this.over];
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
    this.direct.signals.fillWatched(this.stepper.charge);
    this.judge(this.truths, this.over, this.time);
  }

  /** When gear acts on what holds now, and chargers that have their supply are at full output. */
  private noteDue(): void {
    const { since, direct } = this;
    const { supplySince } = this.standing;
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

  private judge(truths: Uint8Array, over: Float64Array, time: number): void {
    const { values } = this.direct.signals;
    const width = this.plan.signals.length;
    values[width] = this.calendar.timeOfDay(time);
    values[width + 1] = this.calendar.day + this.firstDay;
    const { asked } = this.plan.control;
    for (let at = 0; at < asked.length; at += 1) values[width + 2 + at] = this.askedValue(asked[at]!, time);
    this.comparisons.judge(values, truths, over);
    this.direct.gear.fillConditions(this.direct, truths);
  }

  /** What rules alone ask for, at a time up to the end of the step that is tried. */
  private askedValue({ signal, index }: AskedPlan, time: number): number {
    const { gear, solvedAt } = this.direct;
    const bank = this.plan.banks[index];
    const soc = bank ? solvedAt[index]! / bank.capacity : 0;
    switch (signal) {
      case 'runTime':
        return this.tally.runTime[index]! + (this.standing.turning[index] ? time - this.time : 0);
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
      if (!restsOff) this.log.note(this.time, this.rules.isRunning(target) ? 'restored' : 'shed', thing.name);
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
      const { what, of } = direct.gear.fire(at, this.time);
      if (what) this.log.note(this.time, what, of);
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
    this.judge(this.truthsEnd, this.overEnd, this.time + length);
    if (!this.isQuiet(length)) length = this.toEvent(length);
    this.stepper.take(length);
    this.tally.add(length, this.standing, this.sun);
    this.sun.advance(length);
    if (this.stepper.isBent) this.keep(this.time + length / 2, this.stepper.valuesInMiddle);
    const isUntil = this.time + length >= until - INSTANT / 2;
    this.time = isUntil ? until : this.time + length;
    this.sinceFull.advance(this.time, this.stepper.charge);
    this.steps += 1;
    this.record();
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
    const { crossing, stepper, truths, truthsEnd, overEnd } = this;
    crossing.begin(length, this.over, overEnd, truthsEnd);
    let at = length;
    while (!crossing.isFound) {
      at = crossing.next(truths);
      stepper.tryStep(at);
      this.judge(truthsEnd, overEnd, this.time + at);
      crossing.take(at, this.isQuiet(at), overEnd, truthsEnd);
    }
    if (at === crossing.high) return at;
    stepper.tryStep(crossing.high);
    this.judge(truthsEnd, overEnd, this.time + crossing.high);
    return crossing.high;
  }

  /** Lets pass what changes at the time reached. Answers whether anything but the sun did. */
  private passBreaks(): boolean {
    let isChanged = false;
    if (this.calendar.passMidnight(this.time)) {
      if (this.time < this.plan.duration) this.tally.noteDay(this.time);
      this.fillDay();
      isChanged = true;
    }
    if (this.calendar.passProfiles(this.time)) {
      this.standing.readProfiles(this.timeOfDay);
      isChanged = true;
    }
    if (this.passEdges()) isChanged = true;
    this.isOtherSun = this.sun.read(this.timeOfDay);
    if (this.readWind()) isChanged = true;
    if (this.time >= this.rules.due - INSTANT || this.time >= this.gearDue - INSTANT) isChanged = true;
    this.refillTanks();
    if (this.emptyTanks()) isChanged = true;
    this.isOtherStanding = isChanged;
    return isChanged || !this.isAsAtStart();
  }

  private passEdges(): boolean {
    let isChanged = false;
    for (let edge = this.calendar.passEdge(this.time); edge; edge = this.calendar.passEdge(this.time)) {
      const { of, index, by } = edge;
      isChanged = true;
      if (of === 'source') {
        const was = this.standing.absentSource[index]!;
        this.standing.absentSource[index]! += by;
        if (was === 0 || this.standing.absentSource[index] === 0)
          this.log.note(this.time, by > 0 ? 'lost' : 'back', this.plan.sources[index]!.name);
      } else if (of === 'tank') {
        this.tanks.fill(index, this.stepper.sums[this.direct.fuelFlow(index)]!);
        this.log.note(this.time, 'refilled', this.plan.sources[index]!.name);
      } else if (of === 'lost') this.standing.absentLink[index]! += by;
      else {
        this.log.note(this.time, by > 0 ? 'lost' : 'back', this.plan.links[index]!.name);
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
      this.log.note(this.time, 'tank empty', this.plan.sources[at]!.name);
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
        this.log.note(this.time, 'out of fuel', sources[at]!.name);
      }
    }
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
    this.tally.noteDay(this.time);
    return {
      ...this.tally.days.at(-1)!.sums,
      days: this.tally.days,
      recorder: this.recorder,
      events: this.log.events,
      sinceFull: this.sinceFull.longest,
      tanks: this.tanks.outcome(),
      balance: { fromSources, toLoads, lost, diverted, stored, residual },
      throughput,
      steps: this.steps,
    };
  }
}
