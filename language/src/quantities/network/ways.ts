import type { Graph, Node, Segment } from '../../model/graph.js';
import type { CircuitState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import type { QuantityContext } from '../define.js';
import { acrossGear } from '../supply/passage.js';
import { type Query, query } from '../../model/context.js';

/** A way through the wiring from one node to another: the runs passed, in order, and every node on it. */
export interface Way {
  readonly runs: readonly Run[];
  readonly nodes: readonly Node[];
}

/** A step along the shortest way from a start: the node that it comes to, and by which run. */
export interface Step {
  readonly node: Node;
  /** None at the start, and inside of things. */
  readonly run?: Run;
  readonly before?: Step;
  /** The first step of all ways from the same start. */
  readonly start?: Step;
}

type Steps = ReadonlyMap<Node, Step>;

/** A way with all that is on it, by its last step. */
export function wayOf(end: Step): Way {
  const runs: Run[] = [];
  const nodes: Node[] = [];
  for (let step: Step | undefined = end; step; step = step.before) {
    if (step.run && runs.at(-1) !== step.run) runs.push(step.run);
    nodes.push(step.node);
  }
  return { runs: runs.reverse(), nodes: nodes.reverse() };
}

/** The steps of a way from the first over a run on; none where it does not lead over it. */
export function stepsFrom(run: Run, end: Step): readonly Step[] {
  let first: Step | undefined;
  for (let step: Step | undefined = end; step; step = step.before) if (step.run === run) first = step;
  const steps: Step[] = [];
  for (let step: Step | undefined = end; first && step && step !== first.before; step = step.before) steps.push(step);
  return steps.reverse();
}

/** Whether the way to a step leads over a run. */
export function leadsOver(run: Run, end: Step): boolean {
  for (let step: Step | undefined = end; step; step = step.before) if (step.run === run) return true;
  return false;
}

/**
 * What is gathered along the way to a step, one step `further` after the other from `none` at its start. It is kept for every step, so that of
 * many things along one way each costs its own step only; unless values are going to change.
 */
export function gathered<T>(
  asked: Query<Step, Map<Step, T>>,
  end: Step,
  none: T,
  further: (so: T, step: Step) => T,
  context: QuantityContext,
): T {
  const known = context.watch ? new Map<Step, T>() : context.kept(asked, end.start ?? end, () => new Map<Step, T>());
  const ahead: Step[] = [];
  let step: Step | undefined = end;
  for (; step && !known.has(step); step = step.before) ahead.push(step);
  let so = step ? known.get(step)! : none;
  for (let next = ahead.pop(); next; next = ahead.pop()) {
    so = further(so, next);
    known.set(next, so);
  }
  return so;
}

/** For each node the last step of the shortest way to it (by stretches of run); `onward` adds where power goes on inside things. */
function shortest(starts: readonly Node[], graph: Graph, onward: (node: Node) => readonly Node[]): Steps {
  const steps = new Map<Node, Step>();
  for (const node of starts) steps.set(node, { node });
  // What is added while they are gone through is gone through behind them.
  for (const [node, before] of steps) {
    const start = before.start ?? before;
    const visit = (other: Node, run?: Run): void => {
      if (!steps.has(other)) steps.set(other, { node: other, before, start, ...(run ? { run } : {}) });
    };
    for (const segment of graph.segmentsAt(node)) visit(otherEnd(segment, node), segment.run);
    for (const other of onward(node)) visit(other);
  }
  return steps;
}

export const otherEnd = ({ from, to }: Segment, node: Node): Node => (from === node ? to : from);

const FROM_SOURCES = query<Instance, Steps>('the shortest ways from a source to everything');
const FROM_NODES = query<readonly [CircuitState, Node], Steps>('the shortest ways from a node through gear in a state');

const fromSource = (source: Instance, context: QuantityContext): Steps =>
  context.kept(FROM_SOURCES, source, () => {
    const starts = context.graph.nodesOf(source).filter(({ terminal }) => terminal.direction !== 'in');
    return shortest(starts, context.graph, () => []);
  });

/** The last step of the shortest way from an instance to a node; undefined when there is none. */
export const stepFrom = (source: Instance, target: Node, context: QuantityContext): Step | undefined =>
  fromSource(source, context).get(target);

/** The steps of the shortest ways from an instance to everything, each behind the step before it. */
export const stepsInOrder = (source: Instance, context: QuantityContext): Iterable<Step> =>
  fromSource(source, context).values();

/** The shortest way from an instance to a node; undefined when there is none. */
export function wayFrom(source: Instance, target: Node, context: QuantityContext): Way | undefined {
  const end = stepFrom(source, target, context);
  return end && wayOf(end);
}

/** The last step of the shortest way from a node to another through gear as it stands in a state. Starts are few: what feeds. */
export const stepTo = (start: Node, target: Node, circuit: CircuitState, context: QuantityContext): Step | undefined =>
  context
    .keptFor(FROM_NODES, circuit, start, () =>
      shortest([start], circuit.graph, (node) => acrossGear(node, circuit, context)),
    )
    .get(target);

/** The shortest way from a node to another through gear as it stands in a state. */
export function wayTo(start: Node, target: Node, circuit: CircuitState, context: QuantityContext): Way | undefined {
  const end = stepTo(start, target, circuit, context);
  return end && wayOf(end);
}

/** The wiring of an island without loops, seen from one of its nodes: the way to every other, and what lies beyond it. */
export class Outward {
  private readonly steps = new Map<Node, Step>();
  /** Positions at which the walk along the wiring enters and leaves each node. */
  private readonly enters = new Map<Node, number>();
  private readonly leaves = new Map<Node, number>();

  constructor(start: Node, context: QuantityContext) {
    const first = { node: start };
    this.steps.set(start, first);
    const stack = [start];
    let position = 0;
    while (stack.length > 0) {
      const node = stack.at(-1)!;
      if (this.enters.has(node)) {
        stack.pop();
        this.leaves.set(node, position);
        continue;
      }
      this.enters.set(node, (position += 1));
      const before = this.steps.get(node)!;
      for (const segment of context.graph.segmentsAt(node)) {
        const other = otherEnd(segment, node);
        if (this.steps.has(other)) continue;
        this.steps.set(other, { node: other, run: segment.run, before, start: first });
        stack.push(other);
      }
    }
  }

  /** The last step of the way to a node. */
  stepTo(node: Node): Step {
    return this.steps.get(node)!;
  }

  /** Whether the way to a node leads through another. */
  isBeyond(node: Node, through: Node): boolean {
    const at = this.enters.get(node)!;
    return at >= this.enters.get(through)! && at <= this.leaves.get(through)!;
  }
}
