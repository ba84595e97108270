import type { Instance } from '../model/types.js';
import { type ControlState, PHASE } from './automaton.js';
import type { Span, Variable } from './cells.js';
import { DAY } from './clock.js';
import type { CompiledControl, CompiledRule } from './compile.js';
import { type BankPlant, isMissing, type Lasting, type Others, type Running } from './plant.js';
import { type Space, WHOLE } from './space.js';
import { isBank, isInverter, isLoad, sourceOf } from '../model/roles.js';

/** What keeps on for ever: the world that lasts, and what is known of it. */
export interface Ending {
  readonly world: number;
  readonly moment: number;
  readonly state: ControlState;
}

export type Verdict =
  | { readonly kind: 'ends' }
  | { readonly kind: 'lasts'; readonly ending: Ending }
  | { readonly kind: 'unknown'; readonly missing: readonly string[] };

/** An instant in which worlds are asked for: the charge of each bank, what runs, and for how long it is so. */
export interface Situation {
  readonly soc: (bank: Instance) => Span;
  readonly running: Running;
  readonly others: Others;
  readonly lasting: Lasting;
}

/** Seconds after which what has not happened in a world that stays as it is never will: two days and every timer once. */
export function horizonOf(space: Space): number {
  let longest = 0;
  for (const set of space.sets.values()) {
    for (const { dwell } of set.rules) longest = Math.max(longest, dwell);
    const most = Number.isFinite(set.maximumRun) ? set.maximumRun : 0;
    longest = Math.max(longest, set.minimumRun, set.minimumRest, set.warmUp + set.coolDown + most);
  }
  return 2 * DAY + 3 * longest;
}

/** Longest dwell of the rules in force, s. */
const longestDwell = (space: Space): number =>
  Math.max(0, ...[...space.sets.values()].flatMap((set) => set.rules.map(({ dwell }) => dwell)));

/** A generator at rest: once with all dwells to come, and once kept at rest until they are over, as they are after a long time. */
function atRest(space: Space): ControlState[] {
  const long = space.rest();
  space.machine.hold(long, space.target.index, longestDwell(space) + 1);
  return [space.rest(), long];
}

export interface Outcome {
  readonly seconds: number;
  readonly state: ControlState;
}

/** Lets a world stay as it is until something holds of the machine; undefined when it never does within the horizon. */
export function playUntil(
  space: Space,
  from: ControlState,
  world: number,
  moment: number,
  until: (state: ControlState) => boolean,
  horizon = horizonOf(space),
): Outcome | undefined {
  const state = from.slice();
  const { machine } = space;
  let inputs = space.inputs(world, moment);
  let seconds = 0;
  machine.settle(state, inputs);
  while (!until(state)) {
    const passing = machine.nextTimer(state, inputs);
    seconds += passing;
    if (!(seconds <= horizon)) return undefined;
    machine.step(state, inputs, passing);
    const time = inputs.timeOfDay + passing;
    inputs = { ...inputs, timeOfDay: time % DAY, day: inputs.day + Math.floor(time / DAY) };
  }
  return { seconds, state };
}

/** Things whose signals the model of a search bounds: what stores, brings in, inverts or uses energy. */
const isBounded = (thing: Instance): boolean =>
  isBank(thing) || isLoad(thing) || isInverter(thing) || sourceOf(thing) !== undefined;

/** Signals that nothing in the model bounds: whatever they are, a rule is given the benefit of it. */
const isFree = ({ signal }: Variable): boolean =>
  !signal || (signal.kind === 'of' && (signal.signal === 'temperature' || !isBounded(signal.of)));

/** The worlds of a situation, in groups that differ only in signals a rule is given the benefit of. */
function groups(space: Space, situation: Situation, free: (variable: Variable) => boolean): number[][] {
  const found = new Map<string, number[]>();
  const { soc, running, others, lasting } = situation;
  for (const world of space.within(soc, running, others, lasting)) {
    const key = space.variables
      .map((variable, at) => (free(variable) ? '*' : String(space.worlds[world]!.cells[at])))
      .join(',');
    const known = found.get(key);
    if (known) known.push(world);
    else found.set(key, [world]);
  }
  return [...found.values()];
}

/**
 * Whether something comes about in every world of a situation that lasts, from every one of some states. Signals whose bounds lack facts
 * leave it open where they decide.
 */
export function comesAbout(
  space: Space,
  starts: readonly ControlState[],
  situation: Situation,
  until: (state: ControlState) => boolean,
): Verdict {
  const lacking = (variable: Variable): readonly string[] =>
    variable.signal ? space.plant.missingFor(variable.signal) : [];
  const known = new Map<string, boolean>();
  const moment = Math.floor(space.moments.length / 2);
  const happens = (state: ControlState, at: number, world: number): boolean => {
    const key = `${at}/${world}`;
    let answer = known.get(key);
    if (answer === undefined) known.set(key, (answer = playUntil(space, state, world, moment, until) !== undefined));
    return answer;
  };
  const failing = (free: (variable: Variable) => boolean): Ending | undefined => {
    for (const group of groups(space, situation, free))
      for (const [at, state] of starts.entries())
        if (!group.some((world) => happens(state, at, world))) return { world: group[0]!, moment, state };
    return undefined;
  };
  const sure = failing((variable) => isFree(variable) || lacking(variable).length > 0);
  if (sure) return { kind: 'lasts', ending: sure };
  if (!failing(isFree)) return { kind: 'ends' };
  return { kind: 'unknown', missing: [...new Set(space.variables.flatMap(lacking))] };
}

const at = (value: number): Span => ({ low: value, high: value });

const socIs =
  (bank: Instance, span: Span) =>
  (other: Instance): Span =>
    other === bank ? span : WHOLE;

/** States in which a generator runs under load, asked for by each set of controls that the search found to ask together. */
export function runningStates(space: Space, phases: Iterable<string>): ControlState[] {
  const asked = new Set<number>();
  for (const key of phases) {
    const [phase, bits] = key.split('/').map(Number);
    if (phase === PHASE.on && bits! > 0) asked.add(bits!);
  }
  return [...asked].map((bits) => {
    const state = space.rest();
    space.machine.enter(
      state,
      space.target.index,
      PHASE.on,
      space.target.controls.filter((_, index) => bits & (1 << index)),
    );
    return state;
  });
}

/** Whether a generator starts for a bank that is empty, with no other source there. */
export function startsWhenEmpty(space: Space, bank: Instance): Verdict {
  const { machine, target } = space;
  return comesAbout(
    space,
    atRest(space),
    { soc: socIs(bank, at(0)), running: 'unloaded', others: 'absent', lasting: 'empty' },
    (state) => machine.phase(state, target.index) !== PHASE.off,
  );
}

/** Whether loads can take all that the chargers of a generator give, so that the bank need not fill. */
export function isEaten({ charge, loadFed }: BankPlant): boolean {
  return !isMissing(charge) && charge.value > 0 && !isMissing(loadFed) && loadFed.value >= charge.value;
}

/** Whether a generator that runs stops some time, with other sources away or there. */
export function stopsAtLast(space: Space, bank: BankPlant, running: readonly ControlState[], others: Others): Verdict {
  const { machine, target } = space;
  const stops = (state: ControlState): boolean => {
    const phase = machine.phase(state, target.index);
    return phase === PHASE.off || phase === PHASE.cooling;
  };
  if (isEaten(bank) && others === 'absent')
    return comesAbout(space, running, { soc: () => WHOLE, running: 'loaded', others, lasting: 'lasting' }, stops);
  const full = { low: Math.min(bank.top, FULL), high: 1 };
  return comesAbout(space, running, { soc: socIs(bank.bank, full), running: 'loaded', others, lasting: 'full' }, stops);
}

/** A charge counts as ended from here on: what a meter shows above it depends on the meter. Common practice, no source. */
const FULL = 0.99;

/** What charges a bank is needed again at the latest with next to nothing left in it. */
const EMPTY = 0.01;

/**
 * Whether what was switched off comes on again: a load when all is well, the bank full and every other source there; what charges the bank, and
 * without which it is not kept full, when that is empty.
 */
export function returnsAtLast(space: Space, bank: Instance, isCharging: boolean): Verdict {
  const { machine, target } = space;
  const starts = target.controls.map((control) => {
    const state = space.rest();
    machine.enter(state, target.index, PHASE.off, [control]);
    return state;
  });
  const soc = socIs(bank, isCharging ? { low: 0, high: EMPTY } : { low: FULL, high: 1 });
  const worlds = new Set([
    ...space.within(soc, 'unloaded', 'present', 'lasting'),
    ...space.within(soc, 'unloaded', 'absent', 'lasting'),
  ]);
  const moment = 0;
  for (const state of starts) {
    const returns = [...worlds].some(
      (world) =>
        playUntil(space, state, world, moment, (each) => machine.phase(each, target.index) === PHASE.on) !== undefined,
    );
    const [world] = worlds;
    if (!returns && world !== undefined) return { kind: 'lasts', ending: { world, moment, state } };
  }
  return { kind: 'ends' };
}

/** Runs or breaks that follow one another without the charge moving: the rules behind them and how long each lasts, s. */
export interface Chatter {
  readonly control: CompiledControl;
  readonly on: CompiledRule;
  readonly off: CompiledRule;
  readonly run: number;
  readonly rest: number;
  readonly worldOn: number;
  readonly worldOff: number;
  readonly soc: number;
  readonly state: ControlState;
}

/** The charge is looked at in steps of one percent, and just beside each limit. */
const STEPS = 100;
const BESIDE = 1e-6;

/**
 * Whether the thing can be switched on and off again and again while the charge of a bank stays where it is, or just beside a limit of it,
 * with loads and sources as they are. `isShort` says which runs and breaks are too short to be meant.
 */
export function chatters(
  space: Space,
  bank: Instance,
  isShort: (run: number, rest: number) => boolean,
  isJudgedElsewhere: (on: CompiledRule, off: CompiledRule) => boolean,
): Chatter | undefined {
  const { machine, target } = space;
  const isOff = (state: ControlState): boolean => machine.phase(state, target.index) === PHASE.off;
  const isOn = (state: ControlState): boolean => machine.phase(state, target.index) === PHASE.on;
  const horizon = horizonOf(space);
  const offState = space.rest();
  machine.enter(offState, target.index, PHASE.off, target.restsOff ? [] : target.controls);
  const tried = new Map<string, Outcome | undefined>();
  const play = (state: ControlState, world: number, name: 'on' | 'off'): Outcome | undefined => {
    const key = `${name}${world}`;
    if (!tried.has(key)) tried.set(key, playUntil(space, state, world, 0, name === 'on' ? isOn : isOff, horizon));
    return tried.get(key);
  };
  const fallen = new Map<string, { outcome: Outcome | undefined; from: Outcome }>();
  for (const [low, high] of placesOf(space, bank)) {
    const [socOff, socOn] = target.restsOff ? [low, high] : [high, low];
    for (const others of ['absent', 'present'] as const) {
      const offs = space.within(socIs(bank, at(socOff)), 'unloaded', others, 'lasting');
      const ons = space.within(socIs(bank, at(socOn)), 'loaded', others, 'lasting');
      for (const worldOff of offs) {
        const started = play(offState, worldOff, 'on');
        if (!started) continue;
        for (const worldOn of ons) {
          if (!sameButFor(space, worldOff, worldOn, bank)) continue;
          const key = `${worldOff}/${worldOn}`;
          let run = fallen.get(key);
          if (!run) {
            run = { outcome: playUntil(space, started.state, worldOn, 0, isOff, horizon), from: started };
            fallen.set(key, run);
          }
          if (!run.outcome) continue;
          const again = playUntil(space, run.outcome.state, worldOff, 0, isOn, horizon);
          if (!again || !isShort(run.outcome.seconds, again.seconds)) continue;
          const found = blame(space, again.state, run.outcome.state);
          if (!found || isJudgedElsewhere(found.on, found.off)) continue;
          return {
            ...found,
            run: run.outcome.seconds,
            rest: again.seconds,
            worldOn,
            worldOff,
            soc: socOff,
            state: run.outcome.state,
          };
        }
      }
    }
  }
  return undefined;
}

/** The limits on the charge of a bank, without its ends. */
const limitsOf = (space: Space, bank: Instance): number[] =>
  space.variables
    .filter(({ signal }) => signal?.kind === 'of' && signal.signal === 'soc' && signal.of === bank)
    .flatMap((variable) => variable.limits)
    .filter((limit) => limit > 0 && limit < 1);

/** The charge at which a thing is off and at which it is on, next to each other: every percent, and both sides of every limit. */
function placesOf(space: Space, bank: Instance): [number, number][] {
  const limits = limitsOf(space, bank);
  const steps = Array.from({ length: STEPS + 1 }, (_, step): [number, number] => [step / STEPS, step / STEPS]);
  return [
    ...limits.flatMap((limit): [number, number][] => [
      [limit - BESIDE, limit + BESIDE],
      [limit - BESIDE, limit - BESIDE],
      [limit + BESIDE, limit + BESIDE],
    ]),
    ...(space.variables.some(({ signal }) => signal?.kind === 'of' && signal.of === bank && signal.signal !== 'soc')
      ? steps
      : [[0.5, 0.5] as [number, number]]),
  ];
}

/** Whether two worlds differ only in what changes when the thing is switched: its own signals and those of the bank. */
function sameButFor(space: Space, left: number, right: number, bank: Instance): boolean {
  return space.variables.every(({ signal }, index) => {
    if (signal?.kind === 'of' && (signal.of === bank || signal.of === space.target.target)) return true;
    return space.worlds[left]!.cells[index] === space.worlds[right]!.cells[index];
  });
}

/** The rules that hold when the thing has gone on, and when it has gone off. */
function blame(
  space: Space,
  on: ControlState,
  off: ControlState,
): { control: CompiledControl; on: CompiledRule; off: CompiledRule } | undefined {
  for (const [control, set] of space.sets) {
    const starts = set.on.find((rule) => space.machine.holds(on, rule));
    const stops = set.off.find((rule) => space.machine.holds(off, rule));
    if (starts && stops) return { control, on: starts, off: stops };
    // A load goes off by its rule; it may come on by none.
  }
  return undefined;
}

/** Quiet hours are looked at for this long at a time: dwells of a minute or an hour may pass, the hours themselves do not. */
const WITHIN_QUIET = 3600;

/**
 * The lowest charge of a bank at which a generator may still be off when quiet hours begin, if nothing starts it within them before the
 * bank is empty; undefined when something does, or when it would not start outside of them either.
 */
export function quietFrom(space: Space, bank: Instance, within: number, outside: number): number | undefined {
  const { machine, target } = space;
  const runs = (state: ControlState): boolean => machine.phase(state, target.index) !== PHASE.off;
  const limits = limitsOf(space, bank);
  const steps = Array.from({ length: STEPS + 1 }, (_, step) => step / STEPS);
  const edges = [...new Set([...steps, ...limits])].sort((a, b) => a - b);
  const rests = atRest(space);
  const horizon = WITHIN_QUIET + longestDwell(space) + 1;
  const starts = (low: number, high: number, moment: number): boolean =>
    space
      .within(socIs(bank, at((low + high) / 2)), 'unloaded', 'absent', 'draining')
      .every((world) => rests.every((state) => playUntil(space, state, world, moment, runs, horizon) !== undefined));
  for (let index = 0; index + 1 < edges.length; index += 1) {
    const [low, high] = [edges[index]!, edges[index + 1]!];
    if (starts(low, high, within)) return undefined;
    if (!starts(low, high, outside)) return index === 0 ? undefined : low;
  }
  return undefined;
}
