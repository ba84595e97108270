import { type Comparison, comparisonsOf, type Condition } from '../model/conditions.js';
import type { Instance } from '../model/types.js';
import type { ControlInputs, ControlMachine, ControlState, Timer } from './automaton.js';
import { PHASE } from './automaton.js';
import {
  cellsOf,
  cellsWithin,
  holdsIn,
  meets,
  type Span,
  spanOf,
  type Term,
  termOf,
  type Variable,
  variablesOf,
} from './cells.js';
import { DAY, isOfClock, type Moment } from './clock.js';
import type { CompiledControl, CompiledSet, CompiledTarget } from './compile.js';
import type { Lasting, Others, Plant, Running } from './plant.js';

/** Which links are lost, by their index in the machine, and which rules hold then. */
export interface Mode {
  readonly lost: readonly number[];
  /** `BmsLink lost`; empty while all links carry. */
  readonly title: string;
}

/** The values of a world at an instant: a cell for each variable, and how many there are of them. */
export interface World {
  readonly cells: readonly number[];
  readonly truths: Uint8Array;
}

/** More worlds than this are not searched: the rules compare too many things at once. */
const MOST_WORLDS = 600;

export const WHOLE: Span = { low: 0, high: 1 };

export const overlap = (left: Span, right: Span): Span => ({
  low: Math.max(left.low, right.low),
  high: Math.min(left.high, right.high),
});

/** Limits of comparisons, with each range taken at one of its ends or at its middle. */
export type LimitOf = (comparison: Comparison) => number;

/**
 * The worlds that the rules of one commanded thing can tell apart while some links are lost: every combination of cells of what the rules
 * in force compare, and every stretch of the day between the times they name.
 */
export class Space {
  readonly sets: ReadonlyMap<CompiledControl, CompiledSet>;
  readonly variables: readonly Variable[];
  readonly worlds: readonly World[];
  readonly moments: readonly Moment[];
  readonly links: Uint8Array;
  readonly isTooLarge: boolean;
  private readonly terms: ReadonlyMap<Comparison, Term>;
  private readonly feasible: Readonly<Record<Running, readonly boolean[]>>;
  private readonly next: Readonly<Record<Running, readonly (readonly number[])[]>>;

  constructor(
    readonly machine: ControlMachine,
    readonly target: CompiledTarget,
    readonly mode: Mode,
    readonly plant: Plant,
    limitOf: LimitOf,
  ) {
    this.links = Uint8Array.from(machine.links, (_, link) => (mode.lost.includes(link) ? 0 : 1));
    this.sets = new Map(
      target.controls.map((control) => [
        control,
        control.sets.find(({ link }) => link >= 0 && mode.lost.includes(link)) ?? control.sets[0]!,
      ]),
    );
    const watched = [...this.sets].flatMap(([control, set]) => conditionsOf(control, set).flatMap(comparisonsOf));
    this.terms = new Map(watched.filter((each) => !isOfClock(each)).map((each) => [each, termOf(each, limitOf(each))]));
    this.variables = variablesOf([...this.terms.values()]);
    this.moments = momentsOf(watched.filter(isOfClock), [...this.sets.values()]);
    const count = this.variables.reduce((product, variable) => product * cellsOf(variable), 1);
    this.isTooLarge = count > MOST_WORLDS;
    this.worlds = this.isTooLarge ? [] : this.listWorlds(count);
    const allowed = (running: Running): boolean[] =>
      this.worlds.map((_, world) => this.allows(world, this.socOf(world), running, 'any', 'momentary'));
    this.feasible = { loaded: allowed('loaded'), unloaded: allowed('unloaded') };
    const successors = (running: Running): number[][] =>
      this.worlds.map((_, world) => this.reachedFrom(world, running, this.feasible[running]));
    this.next = { loaded: successors('loaded'), unloaded: successors('unloaded') };
  }

  private listWorlds(count: number): World[] {
    // One comparison may stand in several rules: each of its copies among the machine’s inputs has the same term.
    const inputs = this.machine.comparisons.map((comparison) => {
      const own = [...this.terms].find(([each]) => each === comparison || sameComparison(each, comparison))?.[1];
      return own && { term: own, at: this.variables.findIndex(({ key }) => key === own.key) };
    });
    return Array.from({ length: count }, (_, index) => {
      let rest = index;
      const cells = this.variables.map((variable) => {
        const cell = rest % cellsOf(variable);
        rest = Math.floor(rest / cellsOf(variable));
        return cell;
      });
      const truths = Uint8Array.from(inputs, (input) =>
        input && holdsIn(this.variables[input.at]!, cells[input.at]!, input.term.sign, input.term.limit) ? 1 : 0,
      );
      return { cells, truths };
    });
  }

  /** The state of charge of each bank in a world. */
  socOf(world: number): (bank: Instance) => Span {
    const spans = new Map<Instance, Span>();
    this.variables.forEach((variable, at) => {
      if (variable.signal?.kind === 'of' && variable.signal.signal === 'soc')
        spans.set(variable.signal.of, overlap(spanOf(variable, this.worlds[world]!.cells[at]!), WHOLE));
    });
    return (bank) => spans.get(bank) ?? WHOLE;
  }

  /** The values a variable can have. A sum of signals can have any. */
  spanFor(
    variable: Variable,
    soc: (bank: Instance) => Span,
    running: Running,
    others: Others | 'any',
    lasting: Lasting,
  ): Span {
    const { signal } = variable;
    if (!signal) return { low: -Infinity, high: Infinity };
    return this.plant.span(signal, signal.kind === 'of' ? soc(signal.of) : WHOLE, running, others, lasting);
  }

  allows(
    world: number,
    soc: (bank: Instance) => Span,
    running: Running,
    others: Others | 'any',
    lasting: Lasting,
  ): boolean {
    return this.variables.every((variable, at) =>
      meets(variable, this.worlds[world]!.cells[at]!, this.spanFor(variable, soc, running, others, lasting)),
    );
  }

  /** The worlds with cells that hold a value of each variable’s span. */
  within(soc: (bank: Instance) => Span, running: Running, others: Others | 'any', lasting: Lasting): number[] {
    const cells = this.variables.map((variable) =>
      cellsWithin(variable, this.spanFor(variable, soc, running, others, lasting)),
    );
    return this.worlds.flatMap((world, index) =>
      world.cells.every((cell, at) => cells[at]!.includes(cell)) ? [index] : [],
    );
  }

  /** The worlds that can follow at once: charge moves to a neighbouring cell and only where something moves it, all else at will. */
  private reachedFrom(world: number, running: Running, feasible: readonly boolean[]): number[] {
    const from = this.worlds[world]!.cells;
    return this.worlds.flatMap(({ cells }, other) => {
      if (other === world || !feasible[other]) return [];
      const isNear = this.variables.every(({ signal }, at) => {
        if (signal?.kind !== 'of' || signal.signal !== 'soc') return true;
        const step = cells[at]! - from[at]!;
        return step === 0 || step === -1 || (step === 1 && this.canRise(signal.of, running));
      });
      return isNear ? [other] : [];
    });
  }

  private canRise(of: Instance, running: Running): boolean {
    const bank = this.plant.banks.get(of);
    if (!bank || bank.hasOthers || running === 'loaded') return true;
    return false;
  }

  isFeasible(world: number, running: Running): boolean {
    return this.feasible[running][world]!;
  }

  /** Worlds that can follow a world. A world that cannot be while the thing runs as it does gives way at once, at the same charge. */
  following(world: number, running: Running): readonly number[] {
    if (this.feasible[running][world]) return this.next[running][world]!;
    const from = this.worlds[world]!.cells;
    return this.next[running][world]!.filter((other) =>
      this.variables.every(
        ({ signal }, at) =>
          signal?.kind !== 'of' || signal.signal !== 'soc' || this.worlds[other]!.cells[at] === from[at],
      ),
    );
  }

  inputs(world: number, moment: number): ControlInputs {
    const { day, timeOfDay } = this.moments[moment]!;
    return { truths: this.worlds[world]!.truths, links: this.links, day, timeOfDay };
  }

  /** A state of the machine with the links of this mode lost and everything else at rest. */
  rest(): ControlState {
    const state = this.machine.initial();
    for (const link of this.mode.lost) this.machine.lose(state, link);
    return state;
  }

  running(state: ControlState): Running {
    return this.machine.phase(state, this.target.index) === PHASE.on ? 'loaded' : 'unloaded';
  }

  timers(state: ControlState): Timer[] {
    return this.machine.timers(state, this.links);
  }
}

const sameComparison = (left: Comparison, right: Comparison): boolean => {
  const [a, b] = [termOf(left), termOf(right)];
  return a.key === b.key && a.sign === b.sign && a.limit === b.limit && left.limit.low === right.limit.low;
};

/** The conditions of a set: those of its rules, and the exception of its quiet hours. */
export function conditionsOf(control: CompiledControl, set: CompiledSet): Condition[] {
  const quiet = (set.fallback?.properties.get('quiet') ?? control.control.properties.get('quiet'))?.value;
  return [
    ...set.rules.flatMap(({ rule }) => (rule.condition ? [rule.condition] : [])),
    ...(quiet?.type === 'quiet' && quiet.exception ? [quiet.exception] : []),
  ];
}

/** One moment of every stretch of the day, and of the days, that the rules tell apart. */
function momentsOf(comparisons: readonly Comparison[], sets: readonly CompiledSet[]): Moment[] {
  const hours = new Set<number>([0]);
  const days = new Set<number>([1]);
  for (const { terms, limit } of comparisons)
    for (const { factor, signal } of terms) {
      const at = limit.value / factor;
      if (signal.signal === 'duty') {
        for (let turn = 0; turn < signal.among; turn += 1) days.add(1 + turn * signal.days);
      } else if (signal.signal === 'hour') {
        if (at > 0 && at < DAY) hours.add(at);
      } else for (const day of [Math.ceil(at) - 1, Math.ceil(at), Math.floor(at) + 1]) if (day >= 1) days.add(day);
    }
  for (const { quiet } of sets) if (quiet) for (const time of [quiet.from, quiet.to]) hours.add(time % DAY);
  const times = [...hours].sort((a, b) => a - b);
  return [...days].sort((a, b) => a - b).flatMap((day) => times.map((timeOfDay): Moment => ({ day, timeOfDay })));
}
