import type { Dice } from '../helpers/random.js';
import {
  type CompiledRule,
  type CompiledSet,
  type ControlInputs,
  ControlMachine,
  type ControlState,
  DAY,
  isWithin,
  PHASE,
  type Phase,
} from '../../language/src/control/index.js';
import type { AnalysedDesign } from '../../language/src/index.js';
import { EndlessSwitching } from '../../language/src/simulate/engine-types.js';
import { Engine } from '../../language/src/simulate/engine.js';
import type { Plan, SpanPlan } from '../../language/src/simulate/plan.js';
import { prepare } from '../../language/src/simulate/prepare.js';
import { LOAD_SHARE, LOAD_WATTS, TURBINE } from './random-rules.js';

/*
 * Rules on the real engine: what a play shows of the faults that the search of the rules looks for. The machine of the rules is the engine's
 * own; it is only watched.
 */

/** An instant from which on something is other than before in what the machine does or holds true. */
interface Instant {
  readonly time: number;
  readonly was: Phase;
  readonly is: Phase;
  /** Rules that held, by control: those that start and those that stop. */
  readonly held: readonly { readonly on: readonly CompiledRule[]; readonly off: readonly CompiledRule[] }[];
  readonly isTrue: readonly number[];
  /** Sets of rules in force that have quiet hours, but for those whose exception holds. */
  readonly hushed: readonly CompiledSet[];
}

/** The machine of the rules, with somebody who looks on. */
class WatchedMachine extends ControlMachine {
  watch: ((was: Phase, state: ControlState, inputs: ControlInputs) => void) | undefined;

  override settle(state: ControlState, inputs: ControlInputs): void {
    const was = this.phase(state, 0);
    super.settle(state, inputs);
    this.watch?.(was, state, inputs);
  }
}

export type ShownKind = 'clash' | 'starved' | 'endless' | 'latched' | 'quiet' | 'chatter';

/** What a play showed. */
export interface Shown {
  /** So plainly that rules which are called free of it are wrongly called so. */
  readonly kinds: ReadonlyMap<ShownKind, string>;
  /** At least as much as an accusation means. */
  readonly hinted: ReadonlySet<ShownKind>;
  /** Sets of rules, by index, that switched the set on or off together. */
  readonly acted: readonly (readonly number[])[];
  /** Rules whose condition was true some time. */
  readonly everTrue: ReadonlySet<number>;
  /** Whether the engine gave up because rules switch without end. */
  readonly isEndlessSwitching: boolean;
  /** Whether it was broken off because it had switched so often that it shows nothing new. */
  readonly isBrokenOff: boolean;
}

/** The plan of a site, to be played with other courses. */
export function rulePlan({ context, system }: AnalysedDesign): Plan {
  const prepared = prepare(context, system.scenarios[0]!, {});
  if (prepared.kind !== 'ready') throw new Error(JSON.stringify(prepared));
  return prepared.plan;
}

/** Days: grid and link come and go, then all is steady without the grid, then with it. */
const MIXED = 2;
const ALONE = 7;
const TOGETHER = 5;
/** Share of the plays in which nothing else is there from the beginning, and of those with the loads that the design states. */
const AWAY = 0.25;
const STATED = 0.2;
/** Share of the plays in which the others come once more, within the first days of those without them. */
const VISITED = 0.4;
const VISIT_WITHIN = 2;
/** A run longer than this is one that does not end, an empty bank without a set for longer than this one that is left. */
const ENDLESS_DAYS = 3;
const STARVED_DAYS = 2;
/** For so long a set has been off that lets a bank run empty, s. */
const READY = 3600;
/** Runs shorter than this, so many in a row and with the charge all but still, chatter. */
const LEAST_RUN = 20 * 60;
const MOST_SHORT_RUNS = 6;
const STILL = 0.01;
/** So many short runs in a row are what an accusation of chatter means, whatever the charge does. */
const HINTED_RUNS = 3;
/** Charge at and below which the bank gives no more, and the reserve of the sites. */
const EMPTY = 0.01;
const RESERVE = 0.05;

interface Course {
  readonly plan: Plan;
  readonly soc: (time: number) => number;
  /** W that the load gets; it always wants some. */
  readonly power: (time: number) => number;
  /** From when on all is steady without the grid, and from when on with it, s. */
  readonly alone: number;
  readonly together: number;
}

/** What gives power beside the set, as indices. */
const othersOf = (plan: Plan): number[] =>
  ['Mains', TURBINE]
    .map((wanted) => plan.sources.findIndex(({ name }) => name === wanted))
    .filter((index) => index >= 0);

/** A plan with a random start, loads that change by the hour, and a grid and a link that are lost and come back. */
function course(plan: Plan, dice: Dice): Omit<Course, 'soc' | 'power'> {
  const away = MIXED * DAY;
  const together = away + ALONE * DAY;
  const duration = together + TOGETHER * DAY;
  const others = othersOf(plan);
  // In some plays they come once more for a short while, which charges an emptied bank a little.
  const from = away + dice.between(0, VISIT_WITHIN * DAY);
  const visit = dice.chance(VISITED) ? { from, to: from + dice.between(300, 2400) } : { from: away, to: away };
  const alone = visit.to;
  const spans: SpanPlan[] = others.flatMap((index) => [
    { of: 'source' as const, index, from: away, to: visit.from },
    { of: 'source' as const, index, from: visit.to, to: together },
  ]);
  const come = (of: SpanPlan['of'], index: number): void => {
    // Half of what comes and goes comes for a short while only.
    const isBrief = dice.chance(0.5);
    for (let time = 0, isLost = dice.chance(0.6); time < away;) {
      const to = Math.min(away, time + (isBrief && !isLost ? dice.between(300, 2400) : dice.between(600, 8 * 3600)));
      if (isLost) spans.push({ of, index, from: time, to });
      time = to + 60;
      isLost = isBrief ? !isLost : dice.chance(0.6);
    }
  };
  // In some plays nothing else is there from the beginning.
  const isAway = dice.chance(AWAY);
  if (isAway) spans.push(...others.map((index) => ({ of: 'source' as const, index, from: 0, to: away })));
  else for (const index of others) come('source', index);
  if (plan.links.length > 0) {
    if (!isAway) come('link', 0);
    // Where nothing is said for its loss, that is told of elsewhere, and the rules count as heard.
    const hasFallback = plan.control.machine.compiled.controls.some(({ sets }) => sets.length > 1);
    if (hasFallback && dice.chance(0.5)) spans.push({ of: 'link', index: 0, from: isAway ? 0 : away, to: duration });
  }
  const half = dice.between(0, DAY / 2);
  // Some days are busier than others, and somebody may be away.
  const use = dice.pick([1, 1, 1, 0.5, 0.15]);
  const share = use * dice.between(0.2, 1);
  const [bank] = plan.banks;
  // The loads that the design states are those of some plays.
  const isAsStated = dice.chance(STATED);
  return {
    alone,
    together,
    plan: {
      ...plan,
      duration,
      spans,
      timeOfDay: dice.between(0, DAY),
      banks: [
        {
          ...bank!,
          soc: dice.chance(0.2) ? dice.between(0, 0.1) : dice.between(0, 1),
          resistance: dice.between(0.016, 0.032),
        },
      ],
      loads: plan.loads.map((load) =>
        isAsStated
          ? load
          : {
              ...load,
              watts: LOAD_WATTS,
              shareFrom: Float64Array.of(0, half, half + DAY / 2),
              share: Float64Array.of(2 * use * LOAD_SHARE - share, share, 2 * use * LOAD_SHARE - share),
            },
      ),
    },
  };
}

/** What rules are proven by: a week from half full with the loads that the design states, the grid away or there, each link heard or lost. */
export interface StandardWeek {
  readonly isAlone: boolean;
  readonly isHeard: boolean;
  /** Ohm of the bank. */
  readonly resistance: number;
}

export const standardWeeks = ({ links }: Plan): StandardWeek[] =>
  [true, false].flatMap((isAlone) =>
    (links.length > 0 ? [true, false] : [true]).flatMap((isHeard) =>
      RESISTANCES.map((resistance) => ({ isAlone, isHeard, resistance })),
    ),
  );

const RESISTANCES = [0.016, 0.032];

function standardCourse(plan: Plan, { isAlone, isHeard, resistance }: StandardWeek): Omit<Course, 'soc' | 'power'> {
  const duration = ALONE * DAY;
  const spans: SpanPlan[] = [
    ...(isAlone ? othersOf(plan).map((index) => ({ of: 'source' as const, index, from: 0, to: duration })) : []),
    ...(isHeard ? [] : [{ of: 'link' as const, index: 0, from: 0, to: duration }]),
  ];
  return {
    alone: 0,
    together: isAlone ? duration : 0,
    plan: { ...plan, duration, spans, timeOfDay: 0, banks: [{ ...plan.banks[0]!, soc: 0.5, resistance }] },
  };
}

/** Plays a plan once, over a random course or a standard week, and tells what it showed. */
export function playRules(plan: Plan, dice: Dice, week?: StandardWeek): Shown {
  const way = week ? standardCourse(plan, week) : course(plan, dice);
  const { compiled } = plan.control.machine;
  const machine = new WatchedMachine(compiled);
  const diary = new Diary(machine, way.plan);
  machine.watch = (was, state, inputs) => diary.note(was, state, inputs);
  const engine = new Engine(
    { ...way.plan, control: { ...way.plan.control, machine } },
    { resolution: 900, seed: dice.whole(1, 1e6), run: 0, isRandom: true },
  );
  let soc: ((time: number) => number) | undefined;
  let power: (time: number) => number = () => 1;
  let isBrokenOff = false;
  try {
    const pieces = engine.playing();
    for (let piece = pieces.next(); !piece.done && !isBrokenOff; piece = pieces.next())
      isBrokenOff = diary.instants.length > MOST_INSTANTS || engine.recorder.length > MOST_ROWS;
    const { recorder } = engine;
    soc = courseOf(plan, 'soc(Bank)', recorder.time, (at) => recorder.column(at));
    power = courseOf(plan, 'power(Fan)', recorder.time, (at) => recorder.column(at));
  } catch (error) {
    if (!(error instanceof EndlessSwitching)) throw error;
  }
  const findings = new Findings();
  const { instants } = diary;
  // What was broken off says nothing of what would have come.
  const duration = isBrokenOff ? engine.recorder.time.at(-1)! : way.plan.duration;
  if (soc) look(instants, { ...way, plan: { ...way.plan, duration }, soc, power }, findings);
  return {
    kinds: findings.kinds,
    hinted: findings.hinted,
    acted: instants.flatMap((instant) => {
      const rules = actingAt(instant).map(({ index }) => index);
      return rules.length > 0 ? [rules] : [];
    }),
    everTrue: new Set(instants.flatMap(({ isTrue }) => isTrue)),
    isEndlessSwitching: soc === undefined,
    isBrokenOff,
  };
}

/** Changes, and rows of the recorder, after which a play has shown what it has to show: it must not fill the memory. */
const MOST_INSTANTS = 20_000;
const MOST_ROWS = 400_000;

/** What is kept of the instants of a play: those at which something is other than at the one before. */
class Diary {
  readonly instants: Instant[] = [];
  private readonly known: Float64Array;
  private readonly now: Float64Array;

  constructor(
    private readonly machine: ControlMachine,
    private readonly plan: Plan,
  ) {
    const { rules, controls } = machine.compiled;
    // Of each rule whether it is true and whether it holds, of each control what is in force and whether it is hushed, and the phase.
    const size = 2 * rules.length + 2 * controls.length + 1;
    [this.known, this.now] = [new Float64Array(size).fill(NaN), new Float64Array(size)];
  }

  note(was: Phase, state: ControlState, inputs: ControlInputs): void {
    const { machine, known, now } = this;
    const { rules, controls } = machine.compiled;
    let at = 0;
    for (const rule of rules) {
      now[at++] = machine.isTrue(state, rule) ? 1 : 0;
      now[at++] = machine.holds(state, rule) ? 1 : 0;
    }
    for (const control of controls) {
      const set = machine.setInForce(state, control);
      now[at++] = control.sets.indexOf(set);
      now[at++] = isHushed(machine, state, set) ? 1 : 0;
    }
    now[at] = machine.phase(state, 0);
    if (was === now[at] && now.every((value, each) => value === known[each])) return;
    known.set(now);
    this.instants.push(instantOf(machine, this.plan, was, state, inputs));
  }
}

/** Whether quiet hours, when they come, keep a set of rules from switching on. */
const isHushed = (machine: ControlMachine, state: ControlState, set: CompiledSet): boolean =>
  set.quiet !== undefined && machine.isQuiet(state, set, { timeOfDay: set.quiet.from });

/** The rules by which the set was switched at an instant; none where it was not. */
function actingAt({ was, is, held }: Instant): readonly CompiledRule[] {
  const side = was === PHASE.off && is !== PHASE.off ? 'on' : was === PHASE.on && is !== PHASE.on ? 'off' : undefined;
  return side ? held.flatMap((each) => each[side]) : [];
}

class Findings {
  readonly kinds = new Map<ShownKind, string>();
  readonly hinted = new Set<ShownKind>();

  show(kind: ShownKind, what: string): void {
    this.hinted.add(kind);
    if (!this.kinds.has(kind)) this.kinds.set(kind, what);
  }
}

function instantOf(
  machine: ControlMachine,
  plan: Plan,
  was: Phase,
  state: ControlState,
  { day, timeOfDay }: ControlInputs,
): Instant {
  const { controls, rules } = machine.compiled;
  return {
    time: (day - 1) * DAY + timeOfDay - plan.timeOfDay,
    was,
    is: machine.phase(state, 0),
    held: controls.map((control) => {
      const set = machine.setInForce(state, control);
      const holding = (of: readonly CompiledRule[]): CompiledRule[] => of.filter((rule) => machine.holds(state, rule));
      return { on: holding(set.on), off: holding(set.off) };
    }),
    isTrue: rules.filter((rule) => machine.isTrue(state, rule)).map(({ index }) => index),
    hushed: controls
      .map((control) => machine.setInForce(state, control))
      .filter((set) => isHushed(machine, state, set)),
  };
}

/** A signal at any time, from what was recorded. */
function courseOf(
  plan: Plan,
  signal: string,
  time: Float64Array,
  column: (at: number) => Float64Array,
): (time: number) => number {
  const values = column(plan.signals.findIndex(({ name }) => name === signal));
  return (wanted) => {
    let [low, high] = [0, time.length - 1];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (time[middle]! < wanted) low = middle + 1;
      else high = middle;
    }
    return values[low]!;
  };
}

/** A stretch in which the set did one thing, with the rules that began and ended it. */
interface Stretch {
  readonly from: number;
  readonly to: number;
  readonly runs: boolean;
  readonly on: readonly CompiledRule[];
  readonly off: readonly CompiledRule[];
}

function stretchesOf(instants: readonly Instant[], duration: number): Stretch[] {
  const found: Stretch[] = [];
  let [from, runs] = [0, false];
  let on: readonly CompiledRule[] = [];
  for (const instant of instants) {
    const turns = instant.is === PHASE.on || instant.is === PHASE.starting;
    if (turns === runs) continue;
    const acting = actingAt(instant);
    if (instant.time > from) found.push({ from, to: instant.time, runs, on, off: runs ? acting : [] });
    [from, runs, on] = [instant.time, turns, turns ? acting : []];
  }
  return [...found, { from, to: duration, runs, on, off: [] }];
}

function look(instants: readonly Instant[], way: Course, found: Findings): void {
  const { plan, alone, together } = way;
  const clash = instants.find(({ held }) => held.some(({ on, off }) => on.length > 0 && off.length > 0));
  if (clash) found.show('clash', `both hold after ${hours(clash.time)}`);
  const sets = plan.control.machine.compiled.controls.flatMap((control) => control.sets);
  const longest = 3 * Math.max(0, ...sets.flatMap(({ rules }) => rules.map(({ dwell }) => dwell)));
  const stretches = stretchesOf(instants, plan.duration);
  for (const { from, to, runs } of stretches) {
    const within = (low: number, high: number): number => Math.min(to, high) - Math.max(from, low);
    if (runs && within(alone, Math.min(together, plan.duration)) > ENDLESS_DAYS * DAY + longest)
      found.show('endless', `runs from ${hours(from)} on`);
    if (runs && within(together, plan.duration) > ENDLESS_DAYS * DAY + longest)
      found.show('latched', `runs from ${hours(from)} on with the grid there`);
    if (!runs)
      lookForEmpty(Math.max(from, alone), Math.min(to, together), STARVED_DAYS * DAY + longest, way, instants, found);
  }
  lookForChatter(stretches, way, found);
}

const hours = (seconds: number): string => `${(seconds / 3600).toFixed(1)} h`;

/** An empty bank without a set for days, or in quiet hours. */
function lookForEmpty(
  from: number,
  to: number,
  longest: number,
  { plan, soc, power }: Course,
  instants: readonly Instant[],
  found: Findings,
): void {
  let since: number | undefined;
  let at = 0;
  for (let time = from; time < to; time += 600) {
    const charge = soc(time);
    while (at < instants.length - 1 && instants[at + 1]!.time <= time) at += 1;
    const clock = (plan.timeOfDay + time) % DAY;
    const isQuiet = instants[at]?.hushed.some(({ quiet }) => isWithin(quiet!, clock)) ?? false;
    if (isQuiet && charge <= RESERVE) found.hinted.add('quiet');
    if (charge > EMPTY && power(time) > 0) since = undefined;
    else since ??= time;
    if (since === undefined) continue;
    // A set that has had the time to start and lets the bank run empty.
    if (!isQuiet && time - from > READY) found.hinted.add('starved');
    if (time - since > longest) found.show('starved', `empty and off from ${hours(since)} on`);
    // Rests and dwells pass; the hours themselves do not.
    if (isQuiet && time - since > 3600 + longest - STARVED_DAYS * DAY)
      found.show('quiet', `empty and off at ${hours(time)}`);
  }
}

/** Runs that follow one another without the charge moving. Two rules of one control on one signal are judged by the gap between them. */
function lookForChatter(stretches: readonly Stretch[], { plan, alone, together, soc }: Course, found: Findings): void {
  const controlOf = (rule: CompiledRule): number =>
    plan.control.machine.compiled.controls.findIndex(({ sets }) => sets.some(({ rules }) => rules.includes(rule)));
  const isPair = ({ on, off }: Stretch): boolean =>
    on.some((one) =>
      off.some(
        (other) =>
          controlOf(one) === controlOf(other) &&
          one.rule.thresholds.some((a) => other.rule.thresholds.some((b) => a.signal === b.signal)),
      ),
    );
  let [still, short] = [0, 0];
  let [low, high] = [1, 0];
  for (const stretch of stretches) {
    const { from, to, runs } = stretch;
    if (!runs) continue;
    const isShort = to - from < LEAST_RUN && to < plan.duration;
    short = isShort ? short + 1 : 0;
    if (short >= HINTED_RUNS) found.hinted.add('chatter');
    const [before, after] = [soc(from), soc(to)];
    if (from < alone || to > together || !isShort || isPair(stretch) || Math.abs(after - before) >= STILL) {
      [still, low, high] = [0, 1, 0];
      continue;
    }
    [low, high] = [Math.min(low, before, after), Math.max(high, before, after)];
    still = high - low < STILL ? still + 1 : 0;
    if (still >= MOST_SHORT_RUNS) found.show('chatter', `${still} short runs until ${hours(to)}`);
  }
}
