import type { Comparison } from '../model/conditions.js';
import { isOneMachine } from '../model/roles.js';
import type { Instance, Link } from '../model/types.js';
import { clockHolds, isWithin, later, type Moment, untilClockChanges, untilEnd } from './clock.js';
import {
  type CompiledControl,
  type CompiledControls,
  type CompiledRule,
  type CompiledSet,
  type CompiledTarget,
  type Test,
} from './compile.js';

/** What a target does. A load or charger is only `off` or `on`. */
export const PHASE = { off: 0, starting: 1, on: 2, cooling: 3 } as const;
export type Phase = (typeof PHASE)[keyof typeof PHASE];
export const PHASE_NAMES = ['off', 'starting', 'on', 'cooling'] as const;

/** Truth of a condition. `UNKNOWN` when a link it needs is lost; a rule acts only on `TRUE`. */
export const FALSE = 0;
export const TRUE = 1;
export const UNKNOWN = 2;

/** What a machine is told. Indices follow `machine.comparisons` and `machine.links`. */
export interface ControlInputs extends Moment {
  /** 1 where the comparison holds, else 0. */
  readonly truths: ArrayLike<number>;
  /** 1 while the link carries messages, else 0. */
  readonly links: ArrayLike<number>;
}

/** All that a machine remembers: numbers whose meaning only the machine knows. `slice()` copies it. */
export type ControlState = Float64Array;

/** A target, once switched, stays so for a second at least: control gear reads its inputs about that often (common practice, no source). */
const LEAST_STAY = 1;

/** Remainders of timers below this are rounding, in s. */
const SPENT = 1e-9;

/** Slots of a rule, a target and a control in the state. */
const RULE_SLOTS = 2;
const TARGET_SLOTS = 4;
const CONTROL_SLOTS = 2;

/** A timer that runs in a state: where it is, and what it is of. */
export interface Timer {
  readonly slot: number;
  readonly kind: 'silence' | 'dwell' | 'warmUp' | 'coolDown' | 'minimumRun' | 'minimumRest' | 'maximumRun';
  /** Index of the link, rule or target. */
  readonly of: number;
}

/**
 * The controls of a design as a machine that knows neither volts nor text. It is told which comparisons hold, which links carry and what
 * time it is, and says what each target does. See language/CONTROL.md for what the rules mean.
 *
 * Times are in s. Nothing here is random or reads a clock; the same state and inputs give the same result.
 *
 * A state is one block of numbers: silence left by link (∞ while it is heard); value by leaf (false, true, unknown); truth and dwell left by rule; phase, time
 * left in it, least stay left and longest run left by target; latch and set in force by control.
 */
export class ControlMachine {
  readonly comparisons: readonly Comparison[];
  readonly links: readonly Link[];
  readonly size: number;
  private readonly leafAt: number;
  private readonly ruleAt: number;
  private readonly targetAt: number;
  private readonly controlAt: number;

  constructor(readonly compiled: CompiledControls) {
    this.comparisons = compiled.comparisons;
    this.links = compiled.links;
    this.leafAt = compiled.links.length;
    this.ruleAt = this.leafAt + compiled.leaves.length;
    this.targetAt = this.ruleAt + RULE_SLOTS * compiled.rules.length;
    this.controlAt = this.targetAt + TARGET_SLOTS * compiled.targets.length;
    this.size = this.controlAt + CONTROL_SLOTS * compiled.controls.length;
  }

  get targets(): readonly CompiledTarget[] {
    return this.compiled.targets;
  }

  /** Everything at rest for long: generators off, loads and chargers on, all links heard, no signal read yet. */
  initial(): ControlState {
    const state = new Float64Array(this.size);
    state.fill(Infinity, 0, this.leafAt);
    state.fill(UNKNOWN, this.leafAt, this.ruleAt);
    for (const { index, dwell } of this.compiled.rules) state[this.ruleAt + RULE_SLOTS * index + 1] = dwell;
    for (const { index, restsOff, controls } of this.compiled.targets) {
      const at = this.targetAt + TARGET_SLOTS * index;
      state[at] = restsOff ? PHASE.off : PHASE.on;
      state[at + 3] = restsOff ? Infinity : Math.min(...controls.map(({ sets }) => sets[0]!.maximumRun));
    }
    return state;
  }

  /**
   * Puts a target into a phase in which nothing is due: its timers have run down, the warm-up and cool-down apart, and the controls given
   * have asked for what it does.
   */
  enter(state: ControlState, target: number, phase: Phase, asked: readonly CompiledControl[] = []): void {
    const at = this.targetAt + TARGET_SLOTS * target;
    const { controls } = this.compiled.targets[target]!;
    for (const control of controls)
      state[this.controlAt + CONTROL_SLOTS * control.index] = asked.includes(control) ? 1 : 0;
    state[at] = phase;
    state[at + 1] =
      phase === PHASE.starting
        ? this.longest(state, this.compiled.targets[target]!, 'warmUp')
        : phase === PHASE.cooling
          ? this.longest(state, this.compiled.targets[target]!, 'coolDown')
          : 0;
    state[at + 2] = 0;
    state[at + 3] = phase === PHASE.off ? Infinity : this.shortestMost(state, this.compiled.targets[target]!);
  }

  /** Keeps a target in its phase for some more seconds. */
  hold(state: ControlState, target: number, seconds: number): void {
    state[this.targetAt + TARGET_SLOTS * target + 2] = seconds;
  }

  /** Lets a link be lost, with no silence left to wait for. */
  lose(state: ControlState, link: number): void {
    state[link] = 0;
  }

  /** Lets a timer run down. */
  expire(state: ControlState, { slot }: Timer): void {
    state[slot] = 0;
  }

  /**
   * A number that is the same for states that differ only in how far their timers have run, as long as links, world and time are the same.
   * For machines of at most thirty rules and ten controls of one target.
   */
  codeOf(state: ControlState): number {
    let code = 0;
    for (let slot = this.ruleAt + 1; slot < this.targetAt; slot += RULE_SLOTS)
      code = code * 2 + (state[slot]! > 0 ? 1 : 0);
    for (let slot = this.targetAt; slot < this.controlAt; slot += TARGET_SLOTS) {
      code = code * 4 + state[slot]!;
      for (let timer = slot + 1; timer < slot + TARGET_SLOTS; timer += 1) code = code * 2 + (state[timer]! > 0 ? 1 : 0);
    }
    for (let slot = this.controlAt; slot < this.size; slot += CONTROL_SLOTS) code = code * 2 + state[slot]!;
    return code;
  }

  phase(state: ControlState, target: number): Phase {
    return state[this.targetAt + TARGET_SLOTS * target] as Phase;
  }

  /** Seconds left of a warm-up or cool-down; 0 outside of them. */
  phaseLeft(state: ControlState, target: number): number {
    return state[this.targetAt + TARGET_SLOTS * target + 1]!;
  }

  /** Whether the target turns or carries current: on, or a generator that warms up or cools down. */
  isRunning(state: ControlState, target: number): boolean {
    return this.phase(state, target) !== PHASE.off;
  }

  /** Whether the target may carry load. */
  isLoaded(state: ControlState, target: number): boolean {
    return this.phase(state, target) === PHASE.on;
  }

  /** The index of what commands an instance; −1 where no control does. */
  targetOf(instance: Instance): number {
    return this.compiled.targets.findIndex(({ target }) => isOneMachine(target, instance));
  }

  /** Whether a link has been silent for its time-out. */
  isLost(state: ControlState, link: number): boolean {
    return state[link]! <= 0;
  }

  /** The rules in force of a control: its own, or those of a fallback. */
  setInForce(state: ControlState, control: CompiledControl): CompiledSet {
    return control.sets[state[this.controlAt + CONTROL_SLOTS * control.index + 1]!]!;
  }

  /** Whether a control asked its target to run, or a load to be off, and still does. */
  isLatched(state: ControlState, control: CompiledControl): boolean {
    return state[this.controlAt + CONTROL_SLOTS * control.index] === 1;
  }

  /** Whether a rule’s condition is true, whatever its dwell. */
  isTrue(state: ControlState, rule: CompiledRule): boolean {
    return state[this.ruleAt + RULE_SLOTS * rule.index] === TRUE;
  }

  /** Whether a rule holds: its condition has been true for its dwell. Only rules in force can. */
  holds(state: ControlState, rule: CompiledRule): boolean {
    const at = this.ruleAt + RULE_SLOTS * rule.index;
    return state[at] === TRUE && state[at + 1]! <= 0;
  }

  /** The state after some seconds in which the inputs stay as they are, the clock apart; the state given stays as it was. */
  advance(state: ControlState, inputs: ControlInputs, seconds: number): ControlState {
    const next = state.slice();
    this.step(next, inputs, seconds);
    return next;
  }

  /**
   * As `advance`, in place: first it takes in the inputs, then lets the seconds pass, and takes in what has come of timers and clock on
   * the way, each at its very instant. 0 s only takes in the inputs.
   */
  step(state: ControlState, inputs: ControlInputs, seconds: number): void {
    this.settle(state, inputs);
    if (seconds > 0) this.pass(state, inputs, seconds);
  }

  /** As `step`, for a state that has taken in these inputs at this very moment already. */
  pass(state: ControlState, inputs: ControlInputs, seconds: number): void {
    let left = seconds;
    let now = inputs;
    while (left > 0) {
      const until = this.untilChange(state, now);
      const passing = until < left ? until : left;
      this.tick(state, now, passing);
      left -= passing;
      const moment = later(now, passing);
      now = { truths: inputs.truths, links: inputs.links, day: moment.day, timeOfDay: moment.timeOfDay };
      this.settle(state, now);
    }
  }

  /** Seconds until something can change though the inputs, the clock apart, stay as they are. More than 0; Infinity for never. */
  nextTimer(state: ControlState, inputs: ControlInputs): number {
    return this.untilChange(state, inputs);
  }

  /** The timers that run down in a state while these links carry. */
  timers(state: ControlState, links: ArrayLike<number>): Timer[] {
    const running: Timer[] = [];
    const add = (kind: Timer['kind'], slot: number, of: number): void => {
      const left = state[slot]!;
      if (left > 0 && left < Infinity) running.push({ kind, slot, of });
    };
    for (let link = 0; link < this.links.length; link += 1) if (!links[link]) add('silence', link, link);
    for (const control of this.compiled.controls)
      for (const { index } of this.setInForce(state, control).rules) {
        const at = this.ruleAt + RULE_SLOTS * index;
        if (state[at] === TRUE) add('dwell', at + 1, index);
      }
    for (const { index } of this.compiled.targets) {
      const at = this.targetAt + TARGET_SLOTS * index;
      const phase = state[at];
      if (phase === PHASE.starting) add('warmUp', at + 1, index);
      if (phase === PHASE.cooling) add('coolDown', at + 1, index);
      if (phase !== PHASE.cooling) add(phase === PHASE.off ? 'minimumRest' : 'minimumRun', at + 2, index);
      if (phase === PHASE.starting || phase === PHASE.on) add('maximumRun', at + 3, index);
    }
    return running;
  }

  private untilChange(state: ControlState, inputs: ControlInputs): number {
    const { compiled } = this;
    let least = Infinity;
    for (let link = 0; link < compiled.links.length; link += 1) {
      if (inputs.links[link]) continue;
      const left = state[link]!;
      if (left > 0 && left < least) least = left;
    }
    for (const { comparison, input } of compiled.leaves) {
      if (input >= 0) continue;
      const left = untilClockChanges(comparison, inputs);
      if (left < least) least = left;
    }
    for (const control of compiled.controls) {
      const set = this.setInForce(state, control);
      for (const { index } of set.rules) {
        const at = this.ruleAt + RULE_SLOTS * index;
        const left = state[at + 1]!;
        if (state[at] === TRUE && left > 0 && left < least) least = left;
      }
      if (set.quiet && this.asksOn(state, set) && this.isQuiet(state, set, inputs)) {
        const left = untilEnd(set.quiet, inputs.timeOfDay);
        if (left < least) least = left;
      }
    }
    for (let target = 0; target < compiled.targets.length; target += 1) {
      const at = this.targetAt + TARGET_SLOTS * target;
      const phase = state[at];
      // Warm-up and cool-down run in slot 1, the least stay in slot 2 (not while cooling), the longest run in slot 3.
      const [left, stay, most] = [state[at + 1]!, state[at + 2]!, state[at + 3]!];
      if (left > 0 && left < least) least = left;
      if (phase !== PHASE.cooling && stay > 0 && stay < least) least = stay;
      if ((phase === PHASE.on || phase === PHASE.starting) && most > 0 && most < least) least = most;
    }
    return least;
  }

  private tick(state: ControlState, { links }: ControlInputs, seconds: number): void {
    const { compiled } = this;
    const lower = (slot: number): void => {
      const left = state[slot]! - seconds;
      state[slot] = left < SPENT ? 0 : left;
    };
    for (let link = 0; link < compiled.links.length; link += 1) if (!links[link]) lower(link);
    for (const control of compiled.controls)
      for (const { index } of this.setInForce(state, control).rules) {
        const at = this.ruleAt + RULE_SLOTS * index;
        if (state[at] === TRUE) lower(at + 1);
      }
    for (let target = 0; target < compiled.targets.length; target += 1) {
      const at = this.targetAt + TARGET_SLOTS * target;
      const phase = state[at];
      lower(at + 1);
      if (phase !== PHASE.cooling) lower(at + 2);
      if (phase === PHASE.on || phase === PHASE.starting) lower(at + 3);
    }
  }

  /** Takes in the inputs at an instant: nothing passes but what is due. */
  settle(state: ControlState, inputs: ControlInputs): void {
    this.hear(state, inputs);
    for (const control of this.compiled.controls) this.judge(state, control);
    // A target passes at most through cooling, off, starting and on in one instant: what has just been switched stays for a second.
    for (const target of this.compiled.targets)
      for (let round = 0; round < TARGET_SLOTS && this.move(state, target, inputs); round += 1);
  }

  /** Links and leaves. A silent link leaves the last value standing until its time-out; then what came over it is unknown. */
  private hear(state: ControlState, inputs: ControlInputs): void {
    const { links, leaves, timeOuts } = this.compiled;
    for (let link = 0; link < links.length; link += 1) {
      if (inputs.links[link]) state[link] = Infinity;
      else if (state[link] === Infinity) state[link] = timeOuts[link]!;
    }
    for (let index = 0; index < leaves.length; index += 1) {
      const { comparison, input, carriers } = leaves[index]!;
      let value = input < 0 ? (clockHolds(comparison, inputs) ? TRUE : FALSE) : inputs.truths[input] ? TRUE : FALSE;
      for (let each = 0; each < carriers.length; each += 1) {
        const link = carriers[each]!;
        if (inputs.links[link]) continue;
        if (state[link]! <= 0) {
          value = UNKNOWN;
          break;
        }
        value = state[this.leafAt + index]! as typeof value;
      }
      state[this.leafAt + index] = value;
    }
  }

  /** The set in force of a control, and the truth and dwell of its rules. */
  private judge(state: ControlState, control: CompiledControl): void {
    const at = this.controlAt + CONTROL_SLOTS * control.index;
    let inForce = 0;
    for (let index = 1; index < control.sets.length && inForce === 0; index += 1)
      if (this.isLost(state, control.sets[index]!.link)) inForce = index;
    if (state[at + 1] !== inForce) {
      for (const rule of control.sets[state[at + 1]!]!.rules) this.forget(state, rule);
      state[at + 1] = inForce;
      this.shorten(state, control);
    }
    for (const rule of control.sets[inForce]!.rules) {
      const slot = this.ruleAt + RULE_SLOTS * rule.index;
      const truth = rule.test ? this.value(state, rule.test) : UNKNOWN;
      state[slot] = truth;
      if (truth !== TRUE) state[slot + 1] = rule.dwell;
    }
  }

  /** A run goes on under other rules for their longest run at most, from when they come into force. */
  private shorten(state: ControlState, control: CompiledControl): void {
    for (const target of this.compiled.targets) {
      if (!target.controls.includes(control)) continue;
      const at = this.targetAt + TARGET_SLOTS * target.index;
      if (state[at] !== PHASE.starting && state[at] !== PHASE.on) continue;
      state[at + 3] = Math.min(state[at + 3]!, this.shortestMost(state, target));
    }
  }

  private forget(state: ControlState, rule: CompiledRule): void {
    const slot = this.ruleAt + RULE_SLOTS * rule.index;
    state[slot] = FALSE;
    state[slot + 1] = rule.dwell;
  }

  private value(state: ControlState, test: Test): number {
    switch (test.type) {
      case 'leaf':
        return state[this.leafAt + test.leaf]!;
      case 'not': {
        const value = this.value(state, test.of);
        return value === UNKNOWN ? UNKNOWN : 1 - value;
      }
      default: {
        const settles = test.type === 'all' ? FALSE : TRUE;
        let value: number = 1 - settles;
        for (const each of test.of) {
          const part = this.value(state, each);
          if (part === settles) return settles;
          if (part === UNKNOWN) value = UNKNOWN;
        }
        return value;
      }
    }
  }

  private anyHolds(state: ControlState, rules: readonly CompiledRule[]): boolean {
    for (const rule of rules) if (this.holds(state, rule)) return true;
    return false;
  }

  /** Whether a set’s rules ask for on: one that switches on holds, and none that switches off. */
  private asksOn(state: ControlState, set: CompiledSet): boolean {
    return this.anyHolds(state, set.on) && !this.anyHolds(state, set.off);
  }

  private asksOff(state: ControlState, set: CompiledSet): boolean {
    return this.anyHolds(state, set.off);
  }

  /** Whether quiet hours keep a set from switching on. */
  isQuiet(state: ControlState, { quiet }: CompiledSet, { timeOfDay }: Pick<Moment, 'timeOfDay'>): boolean {
    if (!quiet || !isWithin(quiet, timeOfDay)) return false;
    return !(quiet.exception && this.value(state, quiet.exception) === TRUE);
  }

  /** One change of a target’s phase, if one is due. */
  private move(state: ControlState, target: CompiledTarget, inputs: ControlInputs): boolean {
    const at = this.targetAt + TARGET_SLOTS * target.index;
    const phase = state[at] as Phase;
    if (phase === PHASE.starting && state[at + 1]! <= 0) {
      state[at] = PHASE.on;
      return true;
    }
    if (phase === PHASE.cooling && state[at + 1]! <= 0) return this.rest(state, target);
    return target.restsOff ? this.moveSet(state, target, inputs) : this.moveLoad(state, target, inputs);
  }

  /** A thing that is off unless asked for. Its latch says that a control has started it and has not stopped it since. */
  private moveSet(state: ControlState, target: CompiledTarget, inputs: ControlInputs): boolean {
    const at = this.targetAt + TARGET_SLOTS * target.index;
    const phase = state[at] as Phase;
    if (phase === PHASE.cooling || (phase === PHASE.off && state[at + 2]! > 0)) return false;
    const mayStop = phase === PHASE.on && state[at + 2]! <= 0;
    // At rest nothing is latched; what asks for on now is what would latch.
    for (const control of target.controls) {
      const set = this.setInForce(state, control);
      const slot = this.controlAt + CONTROL_SLOTS * control.index;
      if (this.asksOn(state, set) && !this.isQuiet(state, set, inputs)) state[slot] = 1;
      else if (mayStop && this.asksOff(state, set)) state[slot] = 0;
    }
    const wanted = this.decide(target, (control) => {
      if (this.isLatched(state, control)) return 'on';
      return this.asksOff(state, this.setInForce(state, control)) ? 'off' : undefined;
    });
    if (phase === PHASE.off) {
      if (wanted === 'on') return this.start(state, target);
      this.release(state, target);
      return false;
    }
    if (phase !== PHASE.on) return false;
    const isSpent = state[at + 3]! <= 0;
    if (!isSpent && (wanted === 'on' || !mayStop)) return false;
    this.release(state, target);
    const coolDown = this.longest(state, target, 'coolDown');
    if (coolDown <= 0) return this.rest(state, target);
    state[at] = PHASE.cooling;
    state[at + 1] = coolDown;
    return true;
  }

  /** A thing that is on unless switched off. Its latch says that a control has switched it off and not on since. */
  private moveLoad(state: ControlState, target: CompiledTarget, inputs: ControlInputs): boolean {
    const at = this.targetAt + TARGET_SLOTS * target.index;
    const isOn = state[at] === PHASE.on;
    const mayChange = state[at + 2]! <= 0;
    const isSpent = isOn && state[at + 3]! <= 0;
    if (!mayChange && !isSpent) return false;
    const goesOn = (control: CompiledControl): boolean => {
      const set = this.setInForce(state, control);
      return this.asksOn(state, set) && !this.isQuiet(state, set, inputs);
    };
    for (const control of target.controls) {
      const slot = this.controlAt + CONTROL_SLOTS * control.index;
      const set = this.setInForce(state, control);
      if (this.asksOff(state, set) || (isSpent && set.maximumRun < Infinity)) state[slot] = 1;
      else if (goesOn(control)) state[slot] = 0;
    }
    const wanted = this.decide(target, (control) => {
      if (this.isLatched(state, control)) return 'off';
      return goesOn(control) ? 'on' : undefined;
    });
    const isWantedOn = wanted !== 'off' && !isSpent;
    if (isWantedOn) this.release(state, target);
    if (isWantedOn === isOn) return false;
    return isWantedOn ? this.start(state, target) : this.rest(state, target);
  }

  /** The first word by rank; within a rank the word of a latch counts before that of a rule. */
  private decide(
    target: CompiledTarget,
    says: (control: CompiledControl) => 'on' | 'off' | undefined,
  ): 'on' | 'off' | undefined {
    const latched = target.restsOff ? 'on' : 'off';
    for (const rank of target.ranks) {
      let word: 'on' | 'off' | undefined;
      for (const control of rank) {
        const said = says(control);
        if (said === latched) return said;
        word ??= said;
      }
      if (word) return word;
    }
    return undefined;
  }

  private longest(
    state: ControlState,
    target: CompiledTarget,
    name: 'minimumRun' | 'minimumRest' | 'warmUp' | 'coolDown',
  ): number {
    let most = 0;
    for (const control of target.controls) {
      const seconds = this.setInForce(state, control)[name];
      if (seconds > most) most = seconds;
    }
    return most;
  }

  private shortestMost(state: ControlState, target: CompiledTarget): number {
    let most = Infinity;
    for (const control of target.controls) most = Math.min(most, this.setInForce(state, control).maximumRun);
    return most;
  }

  private start(state: ControlState, target: CompiledTarget): true {
    const at = this.targetAt + TARGET_SLOTS * target.index;
    const warmUp = this.longest(state, target, 'warmUp');
    state[at] = warmUp > 0 ? PHASE.starting : PHASE.on;
    state[at + 1] = warmUp;
    state[at + 2] = Math.max(LEAST_STAY, this.longest(state, target, 'minimumRun'));
    state[at + 3] = this.shortestMost(state, target);
    return true;
  }

  private rest(state: ControlState, target: CompiledTarget): true {
    const at = this.targetAt + TARGET_SLOTS * target.index;
    state[at] = PHASE.off;
    state[at + 1] = 0;
    state[at + 2] = Math.max(LEAST_STAY, this.longest(state, target, 'minimumRest'));
    state[at + 3] = Infinity;
    return true;
  }

  private release(state: ControlState, target: CompiledTarget): void {
    for (const { index } of target.controls) state[this.controlAt + CONTROL_SLOTS * index] = 0;
  }
}
