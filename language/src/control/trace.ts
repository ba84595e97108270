import { type Comparison, comparisonsOf } from '../model/conditions.js';
import { formatQuantity, quantity, siQuantity } from '../quantity/index.js';
import { PHASE, PHASE_NAMES, type Timer } from './automaton.js';
import { isOfClock } from './clock.js';
import { spanOf, termOf, type Variable } from './cells.js';
import type { Cause, Node } from './search.js';
import { conditionsOf, type Space } from './space.js';

/** One step of a trace: what happens, and how things stand then. */
export interface TraceStep {
  readonly event: string;
  /** By signal, and by the name of what is commanded: `soc(Bank)`: `below 40 %`; `Genset`: `on`. */
  readonly state: Readonly<Record<string, string>>;
  /** Rules that hold in it, by their index in the machine. */
  readonly rules: readonly number[];
}

/** Writes cells, instants and steps of a space in the words and units of its text. */
export class Teller {
  private readonly limits = new Map<string, string>();

  constructor(private readonly space: Space) {
    for (const [control, set] of space.sets)
      for (const comparison of conditionsOf(control, set).flatMap(comparisonsOf))
        if (!isOfClock(comparison)) this.note(comparison);
  }

  private note(comparison: Comparison): void {
    const { limit } = comparison;
    for (const value of new Set([limit.value, limit.low, limit.high])) {
      const term = termOf(comparison, value);
      this.limits.set(`${term.key}|${term.limit}`, formatQuantity(siQuantity(term.limit, limit.dimension, limit.unit)));
    }
  }

  private limit({ key }: Variable, value: number): string {
    return this.limits.get(`${key}|${value}`) ?? String(Number(value.toPrecision(6)));
  }

  /** `below 40 %`, `between 40 % and 85 %`, `at 85 %`. */
  cell(variable: Variable, cell: number): string {
    const { low, high, hasLow, hasHigh } = spanOf(variable, cell);
    if (low === high) return `at ${this.limit(variable, low)}`;
    if (low === -Infinity && high === Infinity) return 'anywhere';
    if (low === -Infinity)
      return hasHigh ? `at ${this.limit(variable, high)} or below` : `below ${this.limit(variable, high)}`;
    if (high === Infinity)
      return hasLow ? `at ${this.limit(variable, low)} or above` : `above ${this.limit(variable, low)}`;
    return `between ${this.limit(variable, low)} and ${this.limit(variable, high)}`;
  }

  time(moment: number): string {
    return clockText(this.space.moments[moment]!.timeOfDay);
  }

  private stateOf({ world, moment, state }: Pick<Node, 'world' | 'moment' | 'state'>): Record<string, string> {
    const { space } = this;
    const told: Record<string, string> = {};
    space.variables.forEach((variable, at) => {
      told[variable.key] = this.cell(variable, space.worlds[world]!.cells[at]!);
    });
    if (space.moments.length > 1) told.time = `from ${this.time(moment)}`;
    for (const link of space.mode.lost) told[space.machine.links[link]!.name] = 'lost';
    told[space.target.target.name] = PHASE_NAMES[space.machine.phase(state, space.target.index)];
    return told;
  }

  step(node: Pick<Node, 'world' | 'moment' | 'state'>, event: string): TraceStep {
    const rules = [...this.space.sets.values()].flatMap((set) =>
      set.rules.filter((rule) => this.space.machine.holds(node.state, rule)).map(({ index }) => index),
    );
    return { event, state: this.stateOf(node), rules };
  }

  /** `soc(Bank) above 85 %, Genset off`. */
  standing(node: Pick<Node, 'world' | 'moment' | 'state'>): string {
    return Object.entries(this.stateOf(node))
      .filter(([, value]) => value !== 'anywhere')
      .map(([key, value]) => (key === 'time' ? value : `${key} ${value}`))
      .join(', ');
  }

  /** A way of the search as steps. What only passes through a limit is left out. */
  steps(way: readonly Node[]): TraceStep[] {
    return way.flatMap((node, index) => {
      const next = way[index + 1];
      if (index > 0 && next && this.isPassage(way[index - 1]!, node, next)) return [];
      let before = way[index - 1];
      if (before && index > 1 && this.isPassage(way[index - 2]!, before, node)) before = way[index - 2]!;
      return [this.step(node, before ? this.event(before, node) : this.standing(node))];
    });
  }

  /** Whether a node is but the instant at which one signal passes a limit. */
  private isPassage(before: Node, node: Node, next: Node): boolean {
    if (node.cause.kind !== 'world' || next.cause.kind !== 'world') return false;
    const { machine, target, worlds } = this.space;
    if (machine.phase(before.state, target.index) !== machine.phase(node.state, target.index)) return false;
    const moved = (from: Node, to: Node): number[] =>
      worlds[from.world]!.cells.flatMap((cell, at) => (worlds[to.world]!.cells[at] === cell ? [] : [at]));
    const [first, second] = [moved(before, node), moved(node, next)];
    if (first.length !== 1 || second.length !== 1 || first[0] !== second[0]) return false;
    const at = first[0]!;
    const { low, high } = spanOf(this.space.variables[at]!, worlds[node.world]!.cells[at]!);
    return low === high && worlds[next.world]!.cells[at] !== worlds[before.world]!.cells[at];
  }

  private event(before: Node, node: Node): string {
    const { machine, target } = this.space;
    const name = target.target.name;
    const [was, is] = [machine.phase(before.state, target.index), machine.phase(node.state, target.index)];
    const reaction =
      was === is ? [] : [`${name} ${target.restsOff ? SET_GOES[is] : is === PHASE.on ? 'goes on' : 'goes off'}`];
    return [...this.change(before, node), ...reaction].join(', ');
  }

  private change(before: Node, node: Node): string[] {
    const { variables, worlds } = this.space;
    const changes = variables.flatMap((variable, at) => {
      const [from, to] = [worlds[before.world]!.cells[at]!, worlds[node.world]!.cells[at]!];
      if (from === to) return [];
      return [`${variable.key} ${to > from ? 'rises' : 'falls'}: ${this.cell(variable, to)}`];
    });
    const cause: Cause = node.cause;
    if (cause.kind === 'time') changes.unshift(`${this.time(node.moment)} comes`);
    if (cause.kind === 'timers') changes.unshift(...cause.timers.map((timer) => this.timer(timer)));
    return changes;
  }

  private timer({ kind, of }: Timer): string {
    const { machine, sets } = this.space;
    switch (kind) {
      case 'dwell': {
        const rule = machine.compiled.rules[of]!;
        return `\`${rule.rule.text}\` has been true for ${secondsText(rule.dwell)}`;
      }
      case 'silence':
        return `${machine.links[of]!.name} has been silent for its time-out`;
      default: {
        const longest = Math.max(...[...sets.values()].map((set) => (Number.isFinite(set[kind]) ? set[kind] : 0)));
        return longest > 0 ? `the ${TIMES[kind]} of ${secondsText(longest)} is over` : 'a second passes';
      }
    }
  }
}

const SET_GOES: Readonly<Record<number, string>> = {
  [PHASE.off]: 'is off',
  [PHASE.starting]: 'starts',
  [PHASE.on]: 'runs',
  [PHASE.cooling]: 'stops and cools down',
};

const TIMES = {
  warmUp: 'warm-up',
  coolDown: 'cool-down',
  minimumRun: 'least run',
  minimumRest: 'least rest',
  maximumRun: 'longest run',
} as const;

export const secondsText = (seconds: number): string => {
  const unit = seconds >= 5400 && seconds % 900 === 0 ? 'h' : seconds >= 120 && seconds % 30 === 0 ? 'min' : 's';
  return formatQuantity(quantity(seconds / { h: 3600, min: 60, s: 1 }[unit], unit));
};

export const clockText = (seconds: number): string => {
  const minutes = Math.round(seconds / 60);
  return `${String(Math.floor(minutes / 60) % 24).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
};

/** A trace in one line. */
export const traceText = (trace: readonly TraceStep[]): string => trace.map(({ event }) => event).join(' → ');
