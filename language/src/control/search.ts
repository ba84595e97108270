import { type ControlState, type Phase, PHASE, type Timer } from './automaton.js';
import type { CompiledControl, CompiledRule } from './compile.js';
import type { Space } from './space.js';

/** What led from one node of the search to the next. */
export type Cause =
  | { readonly kind: 'start' }
  | { readonly kind: 'world' }
  | { readonly kind: 'time' }
  | { readonly kind: 'timers'; readonly timers: readonly Timer[] };

/** A state of the world and the machine, with the way it was first found. */
export interface Node {
  readonly world: number;
  readonly moment: number;
  readonly state: ControlState;
  readonly before: Node | undefined;
  readonly cause: Cause;
}

/** Two rules of one control that hold together, one on and one off. */
export interface Clash {
  readonly control: CompiledControl;
  readonly on: CompiledRule;
  readonly off: CompiledRule;
  readonly node: Node;
}

export interface Found {
  readonly clashes: readonly Clash[];
  /** For each rule of the sets in force: the sets of rules (as bits by index) that held with it when it acted. */
  readonly acts: ReadonlyMap<CompiledRule, ReadonlySet<number>>;
  /** Rules whose condition is true somewhere, and those whose dwell ends somewhere. */
  readonly everTrue: ReadonlySet<CompiledRule>;
  readonly nodes: number;
  /** Set when the search was given up: there are too many states. */
  readonly isCut: boolean;
}

/** More states than this are not searched: they take about a tenth of a second. */
const MOST_NODES = 6000;

/** With more timers at once than this, only one at a time is let run down. */
const MOST_TOGETHER = 4;

/**
 * Every state that the rules of one commanded thing can come into, breadth first, so that the way to each is a shortest one.
 *
 * The abstraction. Signals are known by cell only: between two limits of the rules, or at one. At any instant
 * - the state of charge may move to a neighbouring cell: up only while the thing runs or another source can charge, down always;
 * - every other signal may take any value its bounds allow (`Plant.span`), at the same instant as the charge;
 * - any timer that runs may run down, alone or with others, whatever their lengths;
 * - the next stretch of the day may come.
 * What the real system does is among these ways, so a state that is not found cannot occur; a state that is found need not.
 * Links are heard or lost for good in one search; a search with a lost link begins with the thing doing anything.
 */
export function search(space: Space): Found {
  const seen = space.worlds.map(() => space.moments.map(() => new Set<number>()));
  const queue: Node[] = [];
  const observer = new Observer(space);
  const inputs = space.worlds.map((_, world) => space.moments.map((_moment, at) => space.inputs(world, at)));
  let isCut = false;

  const settle = (before: Node | undefined, world: number, moment: number, state: ControlState, cause: Cause): void => {
    space.machine.settle(state, inputs[world]![moment]!);
    const code = space.machine.codeOf(state);
    const known = seen[world]![moment]!;
    const isNew = !known.has(code);
    if (isNew && queue.length >= MOST_NODES) {
      isCut = true;
      return;
    }
    // A change is noted each time, since each has rules of its own behind it; a state only once.
    if (!isNew && !(before && observer.isChange(before.state, state))) return;
    const node: Node = { world, moment, state, before, cause };
    observer.observe(before?.state, node);
    if (!isNew) return;
    known.add(code);
    queue.push(node);
  };
  let at = 0;
  const exhaust = (): void => {
    for (; at < queue.length && !isCut; at += 1) expand(space, queue[at]!, settle);
  };
  // First from a full bank, so that traces begin where a reader expects them; then from everywhere else.
  const starts = startsOf(space);
  for (const { world, state } of starts.usual) settle(undefined, world, 0, state.slice(), { kind: 'start' });
  exhaust();
  for (const { world, state } of starts.other)
    for (let moment = 0; moment < space.moments.length; moment += 1)
      settle(undefined, world, moment, state.slice(), { kind: 'start' });
  exhaust();
  return { ...observer.found, nodes: queue.length, isCut };
}

type Settle = (before: Node, world: number, moment: number, state: ControlState, cause: Cause) => void;

function expand(space: Space, node: Node, settle: Settle): void {
  const { world, moment, state } = node;
  const running = space.running(state);
  const following = space.following(world, running);
  if (space.isFeasible(world, running)) {
    for (const timers of together(space.timers(state))) {
      const next = state.slice();
      for (const timer of timers) space.machine.expire(next, timer);
      settle(node, world, moment, next, { kind: 'timers', timers });
    }
    if (space.moments.length > 1) {
      const later = (moment + 1) % space.moments.length;
      for (const other of [world, ...following]) settle(node, other, later, state.slice(), { kind: 'time' });
    }
  }
  for (const other of following) settle(node, other, moment, state.slice(), { kind: 'world' });
}

/** Every way in which some of the timers run down at the same instant. */
function together(timers: readonly Timer[]): Timer[][] {
  if (timers.length > MOST_TOGETHER) return [...timers.map((timer) => [timer]), [...timers]];
  return Array.from({ length: 2 ** timers.length - 1 }, (_, bits) =>
    timers.filter((_timer, index) => (bits + 1) & (1 << index)),
  );
}

interface Start {
  readonly world: number;
  readonly state: ControlState;
}

function startsOf(space: Space): { usual: Start[]; other: Start[] } {
  const rest = space.rest();
  const usual: Start[] = [];
  const other: Start[] = [];
  const states = [rest, ...(space.mode.lost.length > 0 || hasFallbacks(space) ? anyPhase(space) : [])];
  space.worlds.forEach((_, world) => {
    for (const state of states) {
      const isFull = state === rest && isFullest(space, world);
      if (!space.isFeasible(world, space.running(state))) continue;
      (isFull ? usual : other).push({ world, state });
    }
  });
  return { usual, other };
}

const hasFallbacks = (space: Space): boolean => space.target.controls.some(({ sets }) => sets.length > 1);

/** A link is lost and heard again in any phase: the target in each, asked for by any of its controls. */
function anyPhase(space: Space): ControlState[] {
  const { machine, target } = space;
  const phases: Phase[] = target.restsOff ? [PHASE.starting, PHASE.on, PHASE.cooling] : [PHASE.off];
  return phases.flatMap((phase) =>
    together2(target.controls).map((asked) => {
      const state = space.rest();
      machine.enter(state, target.index, phase, asked);
      return state;
    }),
  );
}

const together2 = (controls: readonly CompiledControl[]): CompiledControl[][] =>
  controls.length > MOST_TOGETHER
    ? [...controls.map((control) => [control]), [...controls]]
    : Array.from({ length: 2 ** controls.length - 1 }, (_, bits) =>
        controls.filter((_control, index) => (bits + 1) & (1 << index)),
      );

/** Whether every state of charge lies in the highest cell it can be in. */
function isFullest(space: Space, world: number): boolean {
  const soc = space.socOf(world);
  return space.variables.every(
    ({ signal }) => signal?.kind !== 'of' || signal.signal !== 'soc' || soc(signal.of).high >= 1,
  );
}

/** Notes what happens whenever the machine takes something in. */
class Observer {
  private readonly clashes = new Map<string, Clash>();
  private readonly acts = new Map<CompiledRule, Set<number>>();
  private readonly everTrue = new Set<CompiledRule>();

  constructor(private readonly space: Space) {}

  get found(): Pick<Found, 'clashes' | 'acts' | 'everTrue'> {
    return { clashes: [...this.clashes.values()], acts: this.acts, everTrue: this.everTrue };
  }

  /** Whether a phase, or what a control asks for, has changed. */
  isChange(before: ControlState, state: ControlState): boolean {
    const { machine, target } = this.space;
    if (machine.phase(before, target.index) !== machine.phase(state, target.index)) return true;
    return target.controls.some((control) => machine.isLatched(before, control) !== machine.isLatched(state, control));
  }

  observe(before: ControlState | undefined, node: Node): void {
    const { machine, target, sets } = this.space;
    const { state } = node;
    for (const control of target.controls) {
      const set = sets.get(control)!;
      for (const rule of set.rules) if (machine.isTrue(state, rule)) this.everTrue.add(rule);
      const on = set.on.filter((rule) => machine.holds(state, rule));
      const off = set.off.filter((rule) => machine.holds(state, rule));
      for (const each of on)
        for (const other of off) {
          const key = `${each.index}/${other.index}`;
          if (!this.clashes.has(key)) this.clashes.set(key, { control, on: each, off: other, node });
        }
      this.note(before, state, control, on, off);
    }
  }

  /** Which rules a change is owed to. */
  private note(
    before: ControlState | undefined,
    state: ControlState,
    control: CompiledControl,
    on: readonly CompiledRule[],
    off: readonly CompiledRule[],
  ): void {
    const { machine, target } = this.space;
    const [was, is] = [before && machine.isLatched(before, control), machine.isLatched(state, control)];
    const phaseWas = before && machine.phase(before, target.index);
    const phase = machine.phase(state, target.index);
    // What a search begins with has no past: a rule that holds there counts as having acted.
    const asked = is && !was;
    const content = (was ?? !is) && !is;
    const wentOff =
      phaseWas !== PHASE.off && (phase === PHASE.off || phase === PHASE.cooling) && phaseWas !== PHASE.cooling;
    const wentOn = phaseWas === PHASE.off && phase !== PHASE.off;
    const [turnsOn, turnsOff] = target.restsOff ? [asked, content || wentOff] : [content || wentOn, asked];
    if (turnsOn) this.act(on);
    if (turnsOff || on.length > 0) this.act(off);
  }

  private act(rules: readonly CompiledRule[]): void {
    if (rules.length === 0) return;
    const bits = rules.reduce((so, { index }) => so | (1 << index), 0);
    for (const rule of rules) {
      const known = this.acts.get(rule);
      if (known) known.add(bits);
      else this.acts.set(rule, new Set([bits]));
    }
  }
}

/** The nodes from the start of the search to a node. */
export function wayTo(node: Node): Node[] {
  const way: Node[] = [];
  for (let at: Node | undefined = node; at; at = at.before) way.push(at);
  return way.reverse();
}
