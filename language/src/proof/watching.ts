import {
  type CompiledRule,
  type CompiledTarget,
  type ControlInputs,
  ControlMachine,
  type ControlState,
  DAY,
  type Hours,
  PHASE,
  type Phase,
} from '../control/index.js';
import { EndlessSwitching } from '../simulate/engine-types.js';
import { Engine } from '../simulate/engine.js';
import type { DirectSide } from '../simulate/direct-side.js';
import type { Plan } from '../simulate/plan.js';
import { Recorder } from '../simulate/recorder.js';
import { sentAt } from '../equipment/sent-limits.js';
import { isFedByAlternating } from '../simulate/plan-questions.js';

/** A target that was switched, and the rules that held then. */
export interface Switching {
  readonly time: number;
  readonly target: number;
  readonly is: Phase;
  readonly on: readonly CompiledRule[];
  readonly off: readonly CompiledRule[];
}

/** How things stand from a time on, until the next. */
export interface Standing {
  readonly time: number;
  /** By target of the machine. */
  readonly phases: readonly Phase[];
  /** Whether a rule that switches it on is true. */
  readonly isAsked: readonly boolean[];
  /** The quiet hours that keep it off as things stand: their exception does not hold. */
  readonly quiet: readonly (Hours | undefined)[];
  /** Whether all chargers that alternating current feeds have ended their absorption. */
  readonly isCharged: boolean;
  /** Whether the protection of every bank is open and stays so until somebody closes it. */
  readonly isOut: boolean;
  /** Whether a bank gives no more: empty, its protection open, its bus or an inverter on it cut off. */
  readonly isDark: boolean;
  /** Whether what wants power cannot be carried without alternating current from a source. */
  readonly isNeeded: boolean;
  /** By bank. */
  readonly soc: readonly number[];
}

/** Rules of one control that held together though one switches on and the other off. */
export interface Clash {
  readonly time: number;
  readonly target: number;
  readonly on: CompiledRule;
  readonly off: CompiledRule;
}

/** What a play of the rules showed. */
export interface Watched {
  /** The first time of each pair. */
  readonly clashes: readonly Clash[];
  readonly standings: readonly Standing[];
  readonly switchings: readonly Switching[];
  readonly duration: number;
  /** Whether rules or protections switched without end, so that the engine gave up. */
  readonly isEndlessSwitching: boolean;
  readonly time: Float64Array;
  /** Values of a recorded signal by its name: `soc(Bank)`. */
  readonly column: (name: string) => Float64Array | undefined;
}

/** The machine of the rules, with somebody who looks on. */
class WatchedMachine extends ControlMachine {
  state: ControlState | undefined;
  watch: ((before: readonly Phase[], inputs: ControlInputs) => void) | undefined;
  clash: ((on: CompiledRule, off: CompiledRule, target: number, inputs: ControlInputs) => void) | undefined;

  private lookForClashes(state: ControlState, inputs: ControlInputs): void {
    for (const { index, controls } of this.targets)
      for (const control of controls) {
        const set = this.setInForce(state, control);
        for (const on of set.on)
          if (this.holds(state, on))
            for (const off of set.off) if (this.holds(state, off)) this.clash?.(on, off, index, inputs);
      }
  }

  private phases(state: ControlState): Phase[] {
    return this.targets.map(({ index }) => this.phase(state, index));
  }

  override settle(state: ControlState, inputs: ControlInputs): void {
    const before = this.phases(state);
    super.settle(state, inputs);
    this.state = state;
    this.lookForClashes(state, inputs);
    if (this.watch && before.some((phase, target) => phase !== this.phase(state, target))) this.watch(before, inputs);
  }
}

/** Share of the capacity at and below which a bank gives no more. */
const EMPTY = 0.01;
/** Share from which a bank is full, whoever charges it. */
const FULL = 0.995;

/** Room for the course of what a proof looks at, for one play after the other of plans with the same signals. */
export const roomFor = ({ signals }: Plan): Recorder =>
  new Recorder(signals.flatMap(({ signal }, at) => (LOOKED_AT.includes(signal) ? [at] : [])));

/** Plays a plan once, watched. Yields the share that is done. The rows of what comes of it are those of `recorder`, until that is played into again. */
export function* watching(plan: Plan, recorder = roomFor(plan)): Generator<number, Watched> {
  const { compiled } = plan.control.machine;
  const machine = new WatchedMachine(compiled);
  const switchings: Switching[] = [];
  const standings: Standing[] = [];
  const timeOf = ({ day, timeOfDay }: ControlInputs): number =>
    (day - (plan.firstDay ?? 1)) * DAY + timeOfDay - plan.timeOfDay;
  const clashes = new Map<string, Clash>();
  machine.clash = (on, off, target, inputs) => {
    const key = `${on.index}/${off.index}`;
    if (!clashes.has(key)) clashes.set(key, { time: timeOf(inputs), target, on, off });
  };
  machine.watch = (before, inputs) => {
    const state = machine.state!;
    const time = timeOf(inputs);
    before.forEach((phase, target) => {
      const is = machine.phase(state, target);
      if (is === phase) return;
      const held = (which: 'on' | 'off'): CompiledRule[] =>
        machine.targets[target]!.controls.flatMap((control) =>
          machine.setInForce(state, control)[which].filter((rule) => machine.holds(state, rule)),
        );
      switchings.push({ time, target, is, on: held('on'), off: held('off') });
    });
  };
  const look = new Look(plan);
  const engine = new Engine(
    { ...plan, control: { ...plan.control, machine } },
    {
      resolution: RESOLUTION,
      longestStep: LONGEST_STEP,
      firstStep: LONGEST_STEP,
      closeness: CLOSENESS,
      recorder,
      seed: 1,
      run: 0,
      isRandom: false,
      looseness: LOOSENESS,
      watch: (time, timeOfDay, direct) => {
        const { state } = machine;
        if (state) standings.push(look.at(time, timeOfDay, direct, machine, state));
      },
    },
  );
  const pieces = engine.playing();
  let isEndlessSwitching = false;
  try {
    for (let piece = pieces.next(); !piece.done; piece = pieces.next()) {
      if (switchings.length > MOST_SWITCHINGS || standings.length > MOST_STANDINGS) break;
      yield piece.value;
    }
  } catch (error) {
    if (!(error instanceof EndlessSwitching)) throw error;
    isEndlessSwitching = true;
  }
  return {
    clashes: [...clashes.values()],
    standings,
    switchings,
    // What was broken off says nothing of what would have come.
    duration: Math.min(plan.duration, recorder.time.at(-1) ?? 0),
    isEndlessSwitching,
    time: recorder.time,
    column: (name) => {
      const at = plan.signals.findIndex((signal) => signal.name === name);
      return at < 0 ? undefined : recorder.column(at);
    },
  };
}

/** Tolerances of a proof over those of a scenario: a part in ten thousand of what a step moves. */
const LOOSENESS = 1000;

/** Switchings after which a week has shown what it has to show. */
const MOST_SWITCHINGS = 600;
/** The same of instants at which anything switches, gear included: a week of a sound site has some hundred. */
const MOST_STANDINGS = 20_000;

/** s between instants at which the sun is looked at: weeks are proven in the large. */
const RESOLUTION = 900;
/** Longest step of a week, s: between its rows a curve is read along straight lines. */
const LONGEST_STEP = 7200;
/** How closely it is known when something switches, s: a tenth of the time that control gear takes to look (common practice, no source). */
const CLOSENESS = 0.1;
/** Signals whose course a proof looks at. */
const LOOKED_AT: readonly string[] = ['soc', 'voltage'];

/** Reads a standing off the engine. */
class Look {
  private readonly inverterWatts: number;
  private readonly hasInverterPath: readonly boolean[];
  private readonly isEverQuiet: boolean;
  private readonly neverQuiet: readonly undefined[];

  constructor(private readonly plan: Plan) {
    this.inverterWatts = plan.inverters.reduce((sum, { limits }) => sum + limits.watts, 0);
    const { start } = plan.configuration(0).feeds;
    this.hasInverterPath = plan.loads.map((_, at) => start[at + 1]! > start[at]!);
    const { compiled, targets } = plan.control.machine;
    this.isEverQuiet = compiled.controls.some(({ sets }) => sets.some(({ quiet }) => quiet));
    this.neverQuiet = targets.map(() => undefined);
  }

  at(time: number, timeOfDay: number, direct: DirectSide, machine: ControlMachine, state: ControlState): Standing {
    const soc = this.plan.banks.map(({ capacity }, at) => direct.solvedAt[at]! / capacity);
    const isOut = this.isOut(direct);
    return {
      time,
      phases: machine.targets.map(({ index }) => machine.phase(state, index)),
      isAsked: machine.targets.map((target) => asks(machine, state, target)),
      quiet: this.isEverQuiet ? machine.targets.map((target) => quietOf(machine, state, target)) : this.neverQuiet,
      isCharged: !isOut && this.isCharged(direct, soc),
      isOut,
      isDark: this.isDark(direct, soc),
      isNeeded: this.isNeeded(timeOfDay),
      soc,
    };
  }

  private isCharged(direct: DirectSide, soc: readonly number[]): boolean {
    const { regulators, banks } = this.plan;
    let isAny = false;
    for (let at = 0; at < regulators.length; at += 1) {
      if (!isFedByAlternating(regulators[at]!) || !direct.isRegulatorOn[at]) continue;
      isAny = true;
      // A bank that tells a charger to give next to nothing is charged, too.
      const isFull = (bank: number): boolean =>
        soc[bank]! >= FULL ||
        (direct.isLinked[at] === 1 && sentAt(banks[bank]!.chargeBySoc, soc[bank]!) <= banks[bank]!.tail);
      if (!direct.gear.isFloating[at]) return banks.length > 0 && banks.every((_, bank) => isFull(bank));
    }
    return isAny;
  }

  private isOut({ gear }: DirectSide): boolean {
    const { banks } = this.plan;
    const isOpen = (at: number): boolean => gear.isOpenLow[at] === 1 || gear.isOpenHigh[at] === 1;
    return banks.length > 0 && banks.every(({ resetsItself }, at) => !resetsItself && isOpen(at));
  }

  private isDark(direct: DirectSide, soc: readonly number[]): boolean {
    const { banks, inverters, loads } = this.plan;
    const { gear, configuration } = direct;
    if (
      banks.some(
        ({ bus }, at) => soc[at]! <= EMPTY || gear.isOpenLow[at] === 1 || (bus >= 0 && gear.isBusDown[bus] === 1),
      )
    )
      return true;
    return loads.length > 0 && inverters.some((_, at) => gear.inverterRuns[at] === 0 && configuration.passes[at] === 0);
  }

  private isNeeded(timeOfDay: number): boolean {
    let watts = 0;
    for (const [at, { bus, shareFrom, share, watts: most }] of this.plan.loads.entries()) {
      if (bus >= 0) continue;
      let piece = shareFrom.length - 1;
      while (piece > 0 && shareFrom[piece]! > timeOfDay) piece -= 1;
      const wanted = most * share[piece]!;
      if (wanted > 0 && !this.hasInverterPath[at]) return true;
      watts += wanted;
    }
    return watts > 0 && watts > this.inverterWatts;
  }
}

/** The quiet hours that keep a thing off as things stand: their exception does not hold. */
const quietOf = (machine: ControlMachine, state: ControlState, { controls }: CompiledTarget): Hours | undefined =>
  controls
    .map((control) => machine.setInForce(state, control))
    .find((set) => set.quiet && machine.isQuiet(state, set, { timeOfDay: set.quiet.from }))?.quiet;

/** Whether a rule that switches a thing on is true. */
const asks = (machine: ControlMachine, state: ControlState, { controls }: CompiledTarget): boolean =>
  controls.some((control) => machine.setInForce(state, control).on.some((rule) => machine.isTrue(state, rule)));

export const isTurning = (phase: Phase): boolean => phase === PHASE.on || phase === PHASE.starting;
