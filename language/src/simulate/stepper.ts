import { INSTANT } from './calendar.js';
import type { DirectSide } from './direct-side.js';
import { Modes } from './modes.js';
import type { BankPlan } from './plan.js';

/** Below this a step is taken whatever its error, in s: kinks of the currents lie inside. */
const LEAST_STEP = 1e-3;
/** Error of a step over what it moves, and over the capacity. */
const STEP_TOLERANCE = 1e-7;
const ABSOLUTE_TOLERANCE = 1e-10;
/**
 * How far the middle of a step may lie off the straight line between its ends, over the capacity, and how far it may without being
 * recorded: what is recorded runs straight.
 */
const BEND_TOLERANCE = 1e-4;
const BEND_UNSEEN = 2e-5;
/**
 * |λ·h| up to which the sum moves the charge: near its rest a bank is then off by 1 + z/6·(1 + 4·e^(z/2) + e^z) of what it was off before,
 * a fifth at z = −6, and all of it at −12.
 */
const MOST_OF_SUM = 6;
/** Error over the capacity that is tolerated besides where the rates have no bend. */
const SMOOTH_TOLERANCE = 1e-9;
/** Share of the error of a step that counts where the rates have no bend in it and the sum moves the charge. */
const SMOOTH = 1 / 6;
/** Change of the rate over a step, λ·h, below which its middle need not be looked at. */
const PLAIN = 0.05;
/**
 * Moves the charge of the banks.
 *
 * A step of the charge q with dq/dt = f is exponential with λ = df/dq: half a step q + h/2·φ₁(λ·h/2)·f finds the middle, and the whole
 * step is q + h·(φ₁(z)·f + 2·φ₂(z)·r) with z = λ·h, φ₁ = (e^z − 1)/z, φ₂ = (e^z − 1 − z)/z² and r what f at the middle is beyond its
 * straight line: of third order, and exact where f is straight, as with constant current, and with constant voltage on a straight
 * stretch of the rest curve. Its error is what Simpson's rule over start, middle and end says otherwise; steps halve until it is
 * small. Energies are summed by the same rule. Banks that share a bus pull at each other: their λ is a matrix, and the same is done for
 * each of its modes (`Modes`). What moves the rates along with the sun is a straight line in time, g·t, which brings h²·φ₂(z)·g.
 * Source: exponential Runge-Kutta methods, Cox and Matthews 2002 (from memory).
 */
export class Stepper {
  /** C in each bank. */
  readonly charge: Float64Array;
  /** Sums of the flows of the direct side over time. */
  readonly sums: Float64Array;
  private readonly next: Float64Array;
  private readonly middle: Float64Array;
  private rate: Float64Array;
  private readonly stiffness: Float64Array;
  private readonly rateMiddle: Float64Array;
  private rateEnd: Float64Array;
  private flowStart: Float64Array;
  private readonly flowMiddle: Float64Array;
  private flowEnd: Float64Array;
  private hasFlowEnd = false;
  /** Whether the step that was tried last bends so much that its middle is to be recorded, and what stands there. */
  isBent = false;
  readonly valuesInMiddle: Float64Array;
  /** How much longer the step after the last one may be tried. */
  growth = 2;
  /** Whether its error made the last step shorter; where anything else did, its length says nothing of the next. */
  isShortened = false;
  /** Whether the last step tried was so plain that its middle was not looked at. */
  private isPlain = false;
  /** s up to which a plain step is tried: longer ones did not hold of late. */
  private mostPlain = Infinity;
  /** The bank whose curve has a point where the step is to end, and the charge there; −1 for none. */
  private kinkBank = -1;
  private kink = 0;
  private readonly modes: Modes;
  /** Rates, and what a step moves, as modes; and room for what comes of them by bank. */
  private readonly rateOfMode: Float64Array;
  /** C/s² that the sun adds to the rates, by bank and by mode, and whether it does. */
  private readonly drift: Float64Array;
  private readonly driftOfMode: Float64Array;
  private isDrifting = false;
  /** Buses that had a voltage where the step starts. */
  private solvedAtStart = 0;
  /** In which forms they were solved there. */
  private formsAtStart = 0;
  private readonly ofMode: Float64Array;
  private readonly wayOfMode: Float64Array;
  private readonly ofBank: Float64Array;

  constructor(
    private readonly banks: readonly BankPlan[],
    private readonly direct: DirectSide,
    /** How many times the usual tolerances are enough. */
    private readonly looseness = 1,
  ) {
    this.charge = Float64Array.from(banks, (bank) => bank.soc * bank.capacity);
    const perBank = (): Float64Array => new Float64Array(banks.length);
    [this.next, this.middle, this.rate, this.stiffness] = [perBank(), perBank(), perBank(), perBank()];
    [this.rateMiddle, this.rateEnd] = [perBank(), perBank()];
    [this.rateOfMode, this.ofMode, this.wayOfMode, this.ofBank] = [perBank(), perBank(), perBank(), perBank()];
    [this.drift, this.driftOfMode] = [perBank(), perBank()];
    this.modes = new Modes(banks.length);
    const perFlow = (): Float64Array => new Float64Array(direct.flows);
    this.valuesInMiddle = new Float64Array(direct.signals.values.length);
    [this.flowStart, this.flowMiddle, this.flowEnd, this.sums] = [perFlow(), perFlow(), perFlow(), perFlow()];
  }

  /** Solves the direct side where the next step starts. */
  solveStart(): void {
    this.direct.solve(this.charge);
    this.direct.fillFlows(this.flowStart);
  }

  /** Takes the rates where the next step starts, once it is solved and nothing switches any more. */
  begin(): void {
    this.direct.rates.fill(this.charge, this.rate);
    this.beginWithRates();
  }

  private beginWithRates(): void {
    this.direct.rates.fillStiffness(this.charge, this.rate, this.stiffness);
    this.direct.rates.fillModes(this.modes, this.stiffness);
    this.modes.toModes(this.rate, this.rateOfMode);
    this.isDrifting = this.direct.rates.fillDrift(this.drift);
    this.modes.toModes(this.drift, this.driftOfMode);
    this.solvedAtStart = this.direct.solvedBuses();
    this.formsAtStart = this.direct.solvedForms();
  }

  /** Begins where the step before ended, all else being as it was. */
  beginAtEnd(): void {
    const { rate, flowStart } = this;
    [this.rate, this.rateEnd] = [this.rateEnd, rate];
    [this.flowStart, this.flowEnd] = [this.flowEnd, flowStart];
    this.beginWithRates();
  }

  /** Tries steps of at most `most` s, shorter and shorter, until one is good enough; answers its length. */
  tryUpTo(most: number): number {
    let length = this.toTurn(most);
    this.isShortened = false;
    for (;;) {
      length = this.toKink(length);
      const error = this.tryStep(length);
      if (error <= 1 || length <= LEAST_STEP) {
        // The error of a step grows with its fourth power. Square roots are the same on every machine, powers are not.
        this.growth = error < 1 / 16 || error > 1 ? 2 : Math.max(1, Math.sqrt(Math.sqrt(0.8 / error)));
        return length;
      }
      this.isShortened = true;
      length = Math.max(LEAST_STEP, length * shrinking(error));
    }
  }

  /** Takes the step that was tried last. */
  take(length: number): void {
    this.fillFlowEnd();
    const { charge, next, sums, flowStart, flowMiddle, flowEnd } = this;
    for (let at = 0; at < charge.length; at += 1) charge[at] = next[at]!;
    if (this.isPlain)
      for (let at = 0; at < sums.length; at += 1) sums[at]! += (length / 2) * (flowStart[at]! + flowEnd[at]!);
    else
      for (let at = 0; at < sums.length; at += 1)
        sums[at]! += (length / 6) * (flowStart[at]! + 4 * flowMiddle[at]! + flowEnd[at]!);
  }

  /** What a flow adds up to in the step of so many s that was tried last. */
  flowed(flow: number, length: number): number {
    this.fillFlowEnd();
    const { flowStart, flowMiddle, flowEnd } = this;
    return this.isPlain
      ? (length / 2) * (flowStart[flow]! + flowEnd[flow]!)
      : (length / 6) * (flowStart[flow]! + 4 * flowMiddle[flow]! + flowEnd[flow]!);
  }

  /** Shortens a step that would run over a point of a rest curve so that it ends there. */
  private toKink(length: number): number {
    let shortest = length;
    this.kinkBank = -1;
    for (let at = 0; at < this.charge.length; at += 1) {
      const bank = this.banks[at]!;
      const rate = this.rate[at]!;
      if (rate === 0) continue;
      const target = this.direct.pointAhead(at, this.charge[at]!, rate);
      const way = target - this.charge[at]!;
      // Most points are out of reach: while λ·h stays below a half, no charge moves more than e^½ times its rate says.
      if (this.modes.stiffest[at]! * length < 0.5 && Math.abs(way) > 1.65 * this.fastest(at, length) * length) continue;
      if (Math.abs(way) < 1e-9 * bank.capacity) continue;
      const time = this.timeOfWay(at, way);
      if (!(time > INSTANT && time < shortest)) continue;
      shortest = time;
      [this.kinkBank, this.kink] = [at, target];
    }
    return shortest;
  }

  /** C/s that a bank moves at most in a step but for the growth of its modes, whatever these take from each other. */
  private fastest(at: number, length: number): number {
    if (!this.modes.isCoupled) return Math.abs(this.rate[at]!) + Math.abs(this.drift[at]! * length);
    let sum = 0;
    for (let mode = 0; mode < this.charge.length; mode += 1)
      sum +=
        Math.abs(this.modes.share(at, mode)) *
        (Math.abs(this.rateOfMode[mode]!) + Math.abs(this.driftOfMode[mode]! * length));
    return sum;
  }

  /**
   * Shortens a step in which the sun turns a charge into a discharge, or back, so that it ends there: within a step the charge of a bank
   * moves one way.
   */
  private toTurn(length: number): number {
    if (!this.isDrifting) return length;
    let shortest = length;
    for (let at = 0; at < this.charge.length; at += 1) {
      const [before, after] = [this.rate[at]!, this.rateOfBankAfter(at, shortest)];
      if (before * after >= 0) continue;
      let [low, high] = [0, shortest];
      while (high - low > LEAST_STEP) {
        const middle = (low + high) / 2;
        if (before * this.rateOfBankAfter(at, middle) > 0) low = middle;
        else high = middle;
      }
      // A charge that has just turned is not turned again.
      if (high > 2 * LEAST_STEP) shortest = high;
    }
    return shortest;
  }

  private rateOfBankAfter(at: number, length: number): number {
    let rate = 0;
    for (let mode = 0; mode < this.charge.length; mode += 1)
      rate += this.modes.share(at, mode) * this.rateAfter(mode, length);
    return rate;
  }

  /** s until a bank has moved by `way` C, as the rates where the step starts say; NaN where it never does. */
  private timeOfWay(at: number, way: number): number {
    const [rate, stiffness] = [this.rate[at]!, this.stiffness[at]!];
    const grown = 1 + (stiffness * way) / rate;
    let time =
      Math.abs(stiffness * way) < 1e-6 * Math.abs(rate) ? way / rate : grown > 0 ? Math.log(grown) / stiffness : NaN;
    const { modes } = this;
    if (!modes.isCoupled && !this.isDrifting) return time;
    // The others and the sun pull along: Newton's rule finds the very time.
    if (!(time > 0)) time = way / rate;
    for (let round = 0; round < 8; round += 1) {
      let [off, speed] = [-way, 0];
      for (let mode = 0; mode < this.charge.length; mode += 1) {
        off += modes.share(at, mode) * this.wayOf(mode, time);
        speed += modes.share(at, mode) * this.rateAfter(mode, time);
      }
      if (Math.abs(off) < 1e-11 * this.banks[at]!.capacity) return time;
      time -= off / speed;
      if (!(time > 0)) return NaN;
    }
    return NaN;
  }

  /** Works out the state after `length` s. Answers the error over what is tolerated; 0 for a plain step, beyond which a better rule takes over. */
  tryStep(length: number): number {
    let stiffest = 0;
    for (let at = 0; at < this.charge.length; at += 1) {
      const z = Math.abs(this.modes.growth[at]! * length);
      if (z > stiffest) stiffest = z;
    }
    if (stiffest < PLAIN && length <= this.mostPlain && this.mayBePlain(length)) {
      if (this.tryPlain(length) <= 1) {
        this.mostPlain = Math.max(this.mostPlain, 1.5 * length);
        return 0;
      }
      this.mostPlain = length / 2;
    } else this.mostPlain *= 1.1;
    return this.tryWithMiddle(length);
  }

  /** Whether the trapezoid rule may be good enough: on an exponential it is off by z²/12 of what is moved, with z = λ·h. */
  private mayBePlain(length: number): boolean {
    const { modes, rateOfMode, driftOfMode, ofMode, ofBank } = this;
    for (let mode = 0; mode < ofMode.length; mode += 1) {
      const z = modes.growth[mode]! * length;
      ofMode[mode] = ((z * length) / 12) * (modes.growth[mode]! * rateOfMode[mode]! + driftOfMode[mode]!) * length;
    }
    modes.toBanks(ofMode, ofBank);
    for (let at = 0; at < this.charge.length; at += 1) {
      const moved = Math.abs(this.rate[at]! * length);
      const tolerated = this.tolerated(moved, this.banks[at]!.capacity);
      if (Math.abs(ofBank[at]!) > 2 * tolerated) return false;
      if (this.isDrifting && this.lossOffOf(at, length) > tolerated) return false;
    }
    return true;
  }

  /**
   * C, at the voltage of a bank, by which the trapezoid rule is off for what its resistance and leads lose of a current that the sun moves
   * straight: a sixth of the change squared. Twice that, for what the leads of chargers lose.
   */
  private lossOffOf(at: number, length: number): number {
    const { resistance, leads, curve } = this.banks[at]!;
    const change = this.drift[at]! * length;
    return ((resistance + leads) * change * change * length) / (3 * curve.volts[0]!);
  }

  /** C by which a step may be off that moves so much. */
  private tolerated(moved: number, capacity: number): number {
    return this.looseness * (STEP_TOLERANCE * Math.abs(moved) + ABSOLUTE_TOLERANCE * capacity);
  }

  /** A step so short that its rate hardly changes: its ends alone tell all, by the trapezoid rule. */
  private tryPlain(length: number): number {
    const { banks, charge, next, rate, rateEnd, ofBank, ofMode } = this;
    this.isPlain = true;
    this.isBent = false;
    this.moveFreely(length, next);
    this.finishStep(length);
    // The bend of an exponential between its ends.
    for (let mode = 0; mode < ofMode.length; mode += 1)
      ofMode[mode] =
        ((this.modes.growth[mode]! * this.rateOfMode[mode]! + this.driftOfMode[mode]!) * length * length) / 8;
    this.modes.toBanks(ofMode, ofBank);
    let worst = 0;
    for (let at = 0; at < charge.length; at += 1) {
      const moved = next[at]! - charge[at]!;
      const off = Math.abs(moved - (length / 2) * (rate[at]! + rateEnd[at]!));
      const tolerated = this.tolerated(moved, banks[at]!.capacity);
      const error = off / tolerated;
      if (error > worst) worst = error;
      const bend = Math.abs(ofBank[at]!) / (BEND_TOLERANCE * this.looseness * banks[at]!.capacity);
      if (bend > worst) worst = bend;
    }
    return worst;
  }

  /** What a mode moves in `length` s by its rate, its own growth and the sun. */
  private wayOf(mode: number, length: number): number {
    const z = this.modes.growth[mode]! * length;
    const way = length * phi(z) * this.rateOfMode[mode]!;
    return this.isDrifting ? way + length * length * phi2(z) * this.driftOfMode[mode]! : way;
  }

  /** Rate of a mode after `length` s by the same. */
  private rateAfter(mode: number, length: number): number {
    const z = this.modes.growth[mode]! * length;
    return Math.exp(z) * this.rateOfMode[mode]! + length * phi(z) * this.driftOfMode[mode]!;
  }

  /** Where the charge gets in `length` s by the rates and their straight line where the step starts. */
  private moveFreely(length: number, to: Float64Array): void {
    const { banks, charge, ofMode, ofBank, modes } = this;
    for (let mode = 0; mode < ofMode.length; mode += 1) ofMode[mode] = this.wayOf(mode, length);
    modes.toBanks(ofMode, ofBank);
    for (let at = 0; at < charge.length; at += 1) to[at] = bounded(charge[at]! + ofBank[at]!, banks[at]!.capacity);
  }

  private tryWithMiddle(length: number): number {
    const { banks, direct, charge, next, middle, rate, rateMiddle, rateEnd } = this;
    this.isPlain = false;
    this.isBent = false;
    this.moveFreely(length / 2, middle);
    direct.moveSun(length / 2);
    direct.solve(middle);
    // A bus that collapses on the way has no middle: the step goes on as it began, so that its end shows the collapse.
    if (direct.solvedBuses() < this.solvedAtStart) {
      rateMiddle.set(rate);
      this.flowMiddle.set(this.flowStart);
      this.moveFreely(length, next);
      this.finishStep(length);
      return Infinity;
    }
    direct.rates.fill(middle, rateMiddle);
    direct.fillFlows(this.flowMiddle);
    if (this.bendsWithin(length)) {
      direct.signals.fillKept(middle);
      this.valuesInMiddle.set(direct.signals.values);
      this.isBent = true;
    }
    const formsInMiddle = direct.solvedForms();
    this.moveByMiddle(length);
    this.finishStep(length);
    // Banks that others charge through inverters and converters move with them, of which no mode knows.
    const isSmooth = !direct.isChained && formsInMiddle === this.formsAtStart && direct.solvedForms() === formsInMiddle;
    let worst = 0;
    for (let at = 0; at < charge.length; at += 1) {
      const simpson = (length / 6) * (rate[at]! + 4 * rateMiddle[at]! + rateEnd[at]!);
      const moved = next[at]! - charge[at]!;
      const { capacity } = banks[at]!;
      const tolerated = this.tolerated(moved, capacity) + (isSmooth ? this.looseness * SMOOTH_TOLERANCE * capacity : 0);
      const bend = Math.abs(middle[at]! - (charge[at]! + next[at]!) / 2);
      worst = Math.max(
        worst,
        (isSmooth ? this.leftBySum(at, length) : 1) * (Math.abs(moved - simpson) / tolerated),
        bend / (BEND_TOLERANCE * this.looseness * capacity),
      );
    }
    if (worst <= 1) this.keepToSum(length);
    return worst;
  }

  /** Whether a step of so many s is seen to bend, as its rates at the start and in the middle tell. */
  private bendsWithin(length: number): boolean {
    for (let at = 0; at < this.charge.length; at += 1) {
      const change = Math.abs(this.rateMiddle[at]! - this.rate[at]!);
      if (change * length > 4 * BEND_UNSEEN * this.banks[at]!.capacity) return true;
    }
    return false;
  }

  /**
   * How much is left of the error of a step once the sum has moved the charge, where the rates have no bend: what is wrong with the rate at
   * the end comes in with |λ·h|/6, and of what has a curve the sum takes all but little.
   */
  private leftBySum(at: number, length: number): number {
    const z = this.modes.stiffest[at]! * length;
    return z >= MOST_OF_SUM ? 1 : Math.max(SMOOTH, z / 6);
  }

  /** Where the charge gets in `length` s by the rates at the start and in the middle of the step. */
  private moveByMiddle(length: number): void {
    const { banks, charge, next, middle, rateMiddle, rateOfMode, ofMode, wayOfMode, ofBank, modes } = this;
    for (let at = 0; at < charge.length; at += 1) ofBank[at] = middle[at]! - charge[at]!;
    modes.toModes(ofBank, wayOfMode);
    modes.toModes(rateMiddle, ofMode);
    for (let mode = 0; mode < ofMode.length; mode += 1) {
      const z = modes.growth[mode]! * length;
      // What the straight line of the rate leaves out by the middle of the step, grown on to its end.
      const rest = ofMode[mode]! - rateOfMode[mode]! - modes.growth[mode]! * wayOfMode[mode]!;
      ofMode[mode] = length * (phi(z) * rateOfMode[mode]! + 2 * phi2(z) * rest);
    }
    modes.toBanks(ofMode, ofBank);
    for (let at = 0; at < charge.length; at += 1) next[at] = bounded(charge[at]! + ofBank[at]!, banks[at]!.capacity);
  }

  /**
   * Moves the charge by the very sum by which energies are counted, so that the books of charge and energy close together; the two differ
   * by less than what is tolerated. A step that ends at a point of a curve stays there. Where |λ·h| is large the sum is left
   * out: it would throw a bank near its rest to the other side, and farther at each step.
   */
  private keepToSum(length: number): void {
    const { banks, charge, next, rate, rateMiddle, rateEnd } = this;
    for (let at = 0; at < charge.length; at += 1) {
      if (at === this.kinkBank && next[at] === this.kink) continue;
      if (this.modes.stiffest[at]! * length >= MOST_OF_SUM) continue;
      const simpson = (length / 6) * (rate[at]! + 4 * rateMiddle[at]! + rateEnd[at]!);
      next[at] = bounded(charge[at]! + simpson, banks[at]!.capacity);
    }
  }

  /** Works out everything at the end of a step. */
  private finishStep(length: number): void {
    const { direct, next, kinkBank, kink } = this;
    // A step that was made to end at a point of a curve ends exactly there.
    if (kinkBank >= 0 && Math.abs(next[kinkBank]! - kink) < 1e-9 * this.banks[kinkBank]!.capacity)
      next[kinkBank] = kink;
    direct.moveSun(length);
    direct.solve(next);
    direct.rates.fill(next, this.rateEnd);
    this.hasFlowEnd = false;
    if (direct.signals.watchesFlows) this.fillFlowEnd();
    direct.signals.fillWatched(next);
  }

  /** Works out the flows at the end of the step that was tried last, which most tries need not know. */
  private fillFlowEnd(): void {
    if (this.hasFlowEnd) return;
    this.direct.fillFlows(this.flowEnd);
    this.hasFlowEnd = true;
  }
}

/** By how much a step is made shorter whose error is so many times what is tolerated, as its fourth power says. */
const shrinking = (error: number): number =>
  error < Infinity ? Math.max(0.1, Math.min(0.7, Math.sqrt(Math.sqrt(0.4 / error)))) : 0.5;

/** (e^z − 1)/z. */
const phi = (z: number): number => (Math.abs(z) < 1e-9 ? 1 + z / 2 : Math.expm1(z) / z);

/** (e^z − 1 − z)/z². */
const phi2 = (z: number): number => (Math.abs(z) < 1e-4 ? 0.5 + z / 6 + (z * z) / 24 : (phi(z) - 1) / z);

const bounded = (charge: number, capacity: number): number =>
  charge <= 0 ? 0 : charge >= capacity ? capacity : charge;
