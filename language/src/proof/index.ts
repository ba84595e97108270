import {
  type CompiledRule,
  type ControlMachine,
  DAY,
  PHASE,
  PHASE_NAMES,
  type Searched,
  type TraceStep,
  searchControls,
  secondsText,
} from '../control/index.js';
import { numberIn } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import { isBank } from '../model/roles.js';
import { formatQuantity, quantity } from '../quantity/index.js';
import { BooksOpen } from '../simulate/engine-types.js';
import type { Plan } from '../simulate/plan.js';
import type { Recorder } from '../simulate/recorder.js';
import { MOST, READY, type Shown, type ShownKind, horizonOf, judged, setsIn } from './judging.js';
import { drawnWorlds } from './draws.js';
import { type Watched, isTurning, roomFor, watching } from './watching.js';
import { Planner, type World, hasRules, worldTitle, worldsOf } from './worlds.js';

export type { ShownKind };

/** A week of the play that shows a fault: s, and what a bank had then. */
export interface Curve {
  readonly bank: string;
  readonly time: readonly number[];
  readonly soc: readonly number[];
  readonly volts: readonly number[];
}

/** A rule of a design by where it stands: its control, the rules that hold together (0: the control’s own, then its fallbacks), its place among them. */
export interface RuleAt {
  readonly control: string;
  readonly set: number;
  readonly rule: number;
}

/** A fault of rules that a play shows. It knows no place of the text, so that it outlives edits that change nothing. Times in s. */
export interface ProofFault {
  readonly kind: ShownKind;
  readonly control: string;
  readonly set: number;
  readonly bank: string;
  /** When it begins and ends in the week that was played. */
  readonly from: number;
  readonly to: number;
  /** Of a run: when the bank was charged, where it was, and for how long it went on then with nothing that needed it. */
  readonly charged?: number;
  readonly past?: number;
  /** Of chatter: how many runs, the rules that switch, and how long the last run and rest were. Of a clash: the two rules. */
  readonly count?: number;
  readonly on?: RuleAt;
  readonly off?: RuleAt;
  readonly run?: number;
  readonly rest?: number;
  /** Of a bank left in the dark: whether only quiet hours keep the set off. */
  readonly isHushed?: boolean;
  /** The world it was shown in, in words. */
  readonly title: string;
  readonly trace: readonly TraceStep[];
  readonly curve?: Curve;
}

/** What playing the rules showed, or why they were not played. */
type Weeks =
  | { readonly kind: 'proven'; readonly faults: readonly ProofFault[] }
  | { readonly kind: 'missing'; readonly missing: readonly string[] }
  | { readonly kind: 'refused'; readonly reason: string };

/** What is known of the rules of a design: what playing them showed, and what a search of them without running time has found. */
export type Proof = Weeks & { readonly searched: readonly Searched[] };

/** Whether a design has rules that can be proven. */
export const isProvable = ({ system }: DesignContext): boolean => system.controls.length > 0;

/** Searches the rules of a design and plays them. Yields the share that is done. */
export function* proving(context: DesignContext): Generator<number, Proof> {
  const searched = searchControls(context);
  yield 0;
  if (!context.system.instances.some(isBank)) return { kind: 'proven', faults: [], searched };
  try {
    return { ...(yield* playingWeeks(context)), searched };
  } catch (error) {
    // As of a scenario: a fault of the engine is told, and takes nothing else with it.
    if (!(error instanceof BooksOpen)) throw error;
    return { kind: 'refused', reason: `the energy of a simulation does not add up: ${error.message}`, searched };
  }
}

/**
 * Plays the rules of a design on its own equipment, a week in each of many worlds: with every link heard and with each lost, from half
 * full, with the loads of the design and others, other sources away, there, and coming and going. Yields the share that is done.
 */
function* playingWeeks(context: DesignContext): Generator<number, Weeks> {
  const planner = new Planner(context);
  const first = planner.prepared({ sun: 'none', cells: 'warm' });
  if (first.kind === 'missing') return first;
  if (first.kind === 'refused') return first;
  const { machine } = first.plan.control;
  if (machine.compiled.rules.some(({ test }) => !test) || !hasRules(machine)) return { kind: 'proven', faults: [] };
  const horizon = horizonOf(machine);
  const setting = context.setting('leastRun');
  const reserves = context.system.instances.filter(isBank).map((bank) => {
    const stated = context.maybe(bank, 'reserve');
    return stated ? numberIn(stated, '') : 0;
  });
  const limits = { leastRun: setting ? numberIn(setting, 's') : 0, reserves };
  const worlds = [
    ...worldsOf(machine, first.plan, planner.hasTwoEnds),
    ...drawnWorlds(machine, first.plan, planner.hasTwoEnds),
  ];
  // A fault may show in several worlds; one that may never come about must not hide it in one that does.
  const faults = new Map<string, Accusation[]>();
  // Things that a rule has started, by what is lost: a run that no rule begins is nobody’s fault.
  const started = new Set<string>();
  // How full the banks have been while it ran so, and whether such a run has ended: what was not reached is nobody’s fault either.
  const reached = new Map<string, number>();
  const stopped = new Set<string>();
  const lowest = new Map<string, number>();
  // Where its bank has been in the dark for a while: only there can something charge it a little and leave it so.
  const dark = new Set<string>();
  const followed = new Map<string, number>();
  const rooms = new Map<Plan, Recorder>();
  // Worlds that follow from what others show come behind them.
  for (const [at, world] of worlds.entries()) {
    const prepared = planner.prepared(world);
    if (prepared.kind === 'missing') return prepared;
    if (prepared.kind === 'refused') return prepared;
    let plan = { ...planner.plan(world, prepared.plan), duration: Math.min(horizon, (world.days ?? Infinity) * DAY) };
    const room = rooms.get(prepared.plan) ?? roomFor(prepared.plan);
    rooms.set(prepared.plan, room);
    const played = function* (): Generator<number, Watched> {
      const pieces = watching(plan, room);
      let piece = pieces.next();
      for (; !piece.done; piece = pieces.next()) yield (at + piece.value) / worlds.length;
      return piece.value;
    };
    let watched = yield* played();
    if (world.isDrawn && isUnfinished(watched, machine)) {
      plan = { ...plan, duration: Math.min(MOST, horizon + (world.unsettled?.until ?? 0)) };
      watched = yield* played();
    }
    const lost = world.lost.join();
    for (const { target, on, is } of watched.switchings) {
      if (on.length > 0 && isTurning(is)) started.add(`${target}/${lost}`);
      if (!isTurning(is)) stopped.add(`${target}/${lost}`);
    }
    for (const { index } of machine.targets) {
      // Chance may begin emptier than rules ever let a bank become, or take their link away without a word on what they do then.
      const isInUse = !world.isCutOff && !world.isDrawn;
      if (isInUse && longestDark(watched, index, mayEnd(machine, index)) > READY) dark.add(`${index}/${lost}`);
      if (world.asked !== index) {
        const key = `${index}/${lost}`;
        reached.set(key, Math.max(reached.get(key) ?? 0, fullestRun(watched, index)));
        if (world.days === undefined && world.soc >= HALF)
          lowest.set(key, Math.min(lowest.get(key) ?? 1, lowestRest(watched, index)));
      }
    }
    for (const shown of judged(watched, world, plan, limits)) {
      if (world.isDrawn && shown.kind === 'latched') {
        const times = followed.get(`${shown.target}/${lost}`) ?? 0;
        followed.set(`${shown.target}/${lost}`, times + 1);
        if (times < MOST_FOLLOWED) worlds.push({ ...world, others: 'absent', sun: 'none' });
      }
      // Each sky and end has a machine of its own, alike in all but identity.
      const { machine } = prepared.plan.control;
      const place = placeOf(shown, machine, world);
      const pair = shown.kind === 'clash' ? ` ${shown.on.index}/${shown.off.index}` : '';
      const key = `${shown.kind} ${place.control} ${place.set}${pair}`;
      const known = faults.get(key) ?? [];
      if (known.some(({ isCertain }) => isCertain)) continue;
      const isFromRun = world.asked === shown.target && machine.targets[shown.target]!.restsOff;
      known.push({
        isCertain: !world.isCutOff && shown.kind !== 'quiet' && !isFromRun,
        fault: { ...place, ...told(shown, watched, world, machine, context) },
        isBorne: () => {
          const key = `${shown.target}/${lost}`;
          if (world.isCutOff) return dark.has(key);
          // Quiet hours keep a set off that has stopped before, and meet a bank that comes down so far outside of them.
          if (shown.kind === 'quiet')
            return stopped.has(key) && (world.days === undefined || (lowest.get(key) ?? 1) <= world.soc + NEARBY);
          if (!isFromRun) return true;
          return started.has(key) && (reached.get(key) ?? 0) >= world.soc - NEAR;
        },
      });
      faults.set(key, known);
    }
    yield (at + 1) / worlds.length;
  }
  const borne = [...faults.values()].flatMap((known) => known.find(({ isBorne }) => isBorne())?.fault ?? []);
  // What never ends is not told of again as what ends late.
  const isTold = ({ control, set }: ProofFault, kind: ShownKind): boolean =>
    borne.some((each) => each.kind === kind && each.control === control && each.set === set);
  const isNews = (fault: ProofFault): boolean =>
    !(LATE.includes(fault.kind) && isTold(fault, 'endless')) &&
    !(fault.kind === 'stranded' && (isTold(fault, 'starved') || (fault.isHushed && isTold(fault, 'quiet'))));
  return { kind: 'proven', faults: borne.filter(isNews) };
}

/** Runs that do not end with other sources there are looked at without them, so many times. */
const MOST_FOLLOWED = 2;

/** A fault that a world shows, and whether that world can come about: known once all are played, where it is not certain. */
interface Accusation {
  readonly fault: ProofFault;
  readonly isCertain: boolean;
  readonly isBorne: () => boolean;
}

/** Whether a play ends with something that might go on for ever: a run of a day or more, or a bank in the dark. */
function isUnfinished({ standings, duration }: Watched, { targets }: ControlMachine): boolean {
  const last = standings.at(-1);
  if (!last) return false;
  if (last.isDark) return true;
  return targets.some(
    ({ index, restsOff }) =>
      restsOff &&
      isTurning(last.phases[index]!) &&
      duration - (standings.findLast(({ phases }) => !isTurning(phases[index]!))?.time ?? 0) > DAY,
  );
}

/** Share of the charge by which a state may miss one that was reached. */
const NEAR = 0.02;

/** The same where the loads of a day move it. */
const NEARBY = 0.05;
const HALF = 0.5;

/** The lowest charge of a bank to which a set at rest let it come, quiet hours apart. */
function lowestRest({ standings }: Watched, target: number): number {
  const isKept = (at: number): boolean => standings[at]!.isAsked[target]! && standings[at]!.quiet[target] !== undefined;
  return standings.reduce((least, { phases, soc }, at) => {
    const isAtRest = phases[target] === PHASE.off && !isKept(at);
    const hasStarted = at > 0 && isTurning(phases[target]!) && !isTurning(standings[at - 1]!.phases[target]!);
    return isAtRest || (hasStarted && !isKept(at - 1)) ? Math.min(least, ...soc) : least;
  }, 1);
}

/** Whether a run of a set may end with its bank still dark: by its longest run. */
const mayEnd = ({ targets }: ControlMachine, target: number): boolean =>
  targets[target]!.controls.some(({ sets }) => sets.some(({ maximumRun }) => maximumRun < Infinity));

/** The longest time for which a bank is dark with its set off, or with it running too, s. */
function longestDark({ standings, duration }: Watched, target: number, isRunningToo: boolean): number {
  let [longest, since]: [number, number | undefined] = [0, undefined];
  for (const { time, isDark, phases } of standings) {
    const isLeft = isDark && (isRunningToo || phases[target] === PHASE.off);
    if (since !== undefined) longest = Math.max(longest, time - since);
    since = isLeft ? (since ?? time) : undefined;
  }
  return since === undefined ? longest : Math.max(longest, duration - since);
}

/** The highest charge of the least charged bank while a set ran that a rule had started. */
const fullestRun = ({ standings }: Watched, target: number): number =>
  standings.reduce(
    (most, { phases, soc }) => (isTurning(phases[target]!) ? Math.max(most, Math.min(...soc)) : most),
    0,
  );

/** The control and the rules in force that a fault is about: those of the rule that acted, else the first that start the thing. */
function placeOf(shown: Shown, machine: ControlMachine, world: World): Pick<ProofFault, 'control' | 'set'> {
  const { controls } = machine.targets[shown.target]!;
  const sets = setsIn(machine, shown.target, world);
  const wanted =
    shown.kind === 'chatter' || shown.kind === 'clash'
      ? sets.findIndex(({ rules }) => rules.includes(shown.on))
      : sets.findIndex(({ on }) => on.length > 0);
  const at = Math.max(0, wanted);
  return { control: controls[at]!.control.name, set: controls[at]!.sets.indexOf(sets[at]!) };
}

function ruleAt({ compiled }: ControlMachine, rule: CompiledRule): RuleAt {
  for (const { control, sets } of compiled.controls)
    for (const [set, { rules }] of sets.entries())
      if (rules.includes(rule)) return { control: control.name, set, rule: rules.indexOf(rule) };
  throw new RangeError('a rule of another machine');
}

const LATE: readonly ShownKind[] = ['overrun', 'latched', 'unreset'];

/** Points of a curve. */
const POINTS = 120;

function told(
  shown: Shown,
  watched: Watched,
  world: World,
  machine: ControlMachine,
  context: DesignContext,
): Omit<ProofFault, 'control' | 'set'> {
  const bank = context.system.instances.find(isBank)!;
  const { name } = machine.targets[shown.target]!.target;
  const title = worldTitle(world, machine);
  const [soc, volts] = [watched.column(`soc(${bank.name})`), watched.column(`voltage(${bank.name})`)];
  const rowAt = (time: number): number => {
    const found = watched.time.findIndex((each) => each >= time - 1e-3);
    return found < 0 ? watched.time.length - 1 : found;
  };
  const stateAt = (time: number): Record<string, string> => {
    const row = rowAt(time);
    const standing = watched.standings.findLast((each) => each.time <= time + 1e-3) ?? watched.standings[0];
    return {
      ...(soc ? { [`soc(${bank.name})`]: formatQuantity(quantity(Number((soc[row]! * 100).toFixed(1)), '%')) } : {}),
      ...(volts ? { [`voltage(${bank.name})`]: formatQuantity(quantity(Number(volts[row]!.toFixed(2)), 'V')) } : {}),
      [name]: standing ? PHASE_NAMES[standing.phases[shown.target]!] : '',
    };
  };
  const step = (time: number, event: string): TraceStep => ({ event, state: stateAt(time), rules: [] });
  const curve: Curve | undefined =
    soc && volts
      ? sampled(
          bank.name,
          watched.time,
          soc,
          volts,
          Math.max(0, shown.from - DAY / 4),
          Math.min(watched.duration, shown.to + DAY / 4),
        )
      : undefined;
  const { kind, from, to } = shown;
  return {
    kind,
    bank: bank.name,
    from,
    to,
    ...('past' in shown
      ? { past: shown.past, ...(shown.charged === undefined ? {} : { charged: shown.charged }) }
      : {}),
    ...('isHushed' in shown && shown.isHushed ? { isHushed: true } : {}),
    ...(kind === 'clash' ? { on: ruleAt(machine, shown.on), off: ruleAt(machine, shown.off) } : {}),
    ...(kind === 'chatter'
      ? {
          count: shown.count,
          run: shown.run,
          rest: shown.rest,
          on: ruleAt(machine, shown.on),
          off: ruleAt(machine, shown.off),
        }
      : {}),
    title,
    trace: stepsOf(shown, name, bank.name, title, step),
    ...(curve ? { curve } : {}),
  };
}

function stepsOf(
  shown: Shown,
  name: string,
  bank: string,
  title: string,
  step: (time: number, event: string) => TraceStep,
): TraceStep[] {
  const after = (seconds: number): string => (seconds < 1 ? '' : ` after ${spanText(seconds)}`);
  const begins = step(shown.from, '');
  const opening = (what: string): TraceStep => ({
    ...begins,
    event: `${title}: with ${bank} at ${begins.state[`soc(${bank})`] ?? ''} ${what}${after(shown.from)}`,
  });
  switch (shown.kind) {
    case 'endless':
    case 'latched':
    case 'overrun':
    case 'forced': {
      const { charged, to, from } = shown;
      const full = charged === undefined ? [] : [step(charged, `${spanText(charged - from)} later ${bank} is charged`)];
      const last = step(
        to,
        shown.kind === 'overrun' || shown.kind === 'forced'
          ? `it stops ${spanText(to - from)} after its start`
          : `it still runs ${spanText(to - from)} after its start`,
      );
      return [opening(`${name} runs`), ...full, last];
    }
    case 'unreset':
      return [
        opening(`${name} runs`),
        step(
          shown.to,
          `${bank} is disconnected, and ${name} still runs ${spanText(shown.to - shown.from)} after its start`,
        ),
      ];
    case 'starved':
    case 'stranded':
    case 'quiet':
      return [
        opening(`nothing is left with ${name} off`),
        step(shown.to, `${spanText(shown.to - shown.from)} later it is still so`),
      ];
    case 'stays-off':
      return [opening(`${name} is off`), step(shown.to, `${spanText(shown.to - shown.from)} later it is still off`)];
    case 'clash':
      return [opening(`both hold`)];
    case 'chatter':
      return [
        opening(`${name} goes on`),
        step(shown.to, `${shown.count} runs within ${spanText(shown.to - shown.from)}`),
      ];
  }
}

/** A time in the unit that suits it. */
const spanText = (seconds: number): string =>
  seconds >= 2 * DAY
    ? formatQuantity(quantity(Number((seconds / DAY).toFixed(1)), 'd'))
    : seconds >= 5400
      ? formatQuantity(quantity(Number((seconds / 3600).toFixed(1)), 'h'))
      : secondsText(Math.round(seconds));

function sampled(
  bank: string,
  time: Float64Array,
  soc: Float64Array,
  volts: Float64Array,
  from: number,
  to: number,
): Curve {
  const rows: number[] = [];
  let next = from;
  for (let row = 0; row < time.length; row += 1) {
    if (time[row]! < next || time[row]! > to) continue;
    rows.push(row);
    next = time[row]! + (to - from) / POINTS;
  }
  return {
    bank,
    time: rows.map((row) => time[row]!),
    soc: rows.map((row) => soc[row]!),
    volts: rows.map((row) => volts[row]!),
  };
}
