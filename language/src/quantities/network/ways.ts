import type { Graph, Node, Segment } from '../../model/graph.js';
import type { CircuitState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import type { QuantityContext } from '../define.js';
import { acrossGear } from '../supply/passage.js';
import { query } from '../../model/context.js';

/** A way through the wiring from one node to another: the runs passed, in order, and every node on it. */
export interface Way {
  readonly runs: readonly Run[];
  readonly nodes: readonly Node[];
}

type Before = ReadonlyMap<Node, { readonly node: Node; readonly run?: Run } | undefined>;

function trace(end: Node, before: Before): Way {
  const runs: Run[] = [];
  const nodes: Node[] = [end];
  for (let step = before.get(end); step; step = before.get(step.node)) {
    if (step.run && runs.at(-1) !== step.run) runs.push(step.run);
    nodes.push(step.node);
  }
  return { runs: runs.reverse(), nodes: nodes.reverse() };
}

/** For each node the one before it on the shortest way (by stretches of run); `onward` adds where power goes on inside things. */
function shortest(starts: readonly Node[], graph: Graph, onward: (node: Node) => readonly Node[]): Before {
  const before = new Map<Node, { readonly node: Node; readonly run?: Run } | undefined>();
  const queue = [...starts];
  for (const start of starts) before.set(start, undefined);
  for (let at = 0; at < queue.length; at += 1) {
    const node = queue[at]!;
    const visit = (other: Node, run?: Run): void => {
      if (before.has(other)) return;
      before.set(other, { node, ...(run ? { run } : {}) });
      queue.push(other);
    };
    for (const segment of graph.segmentsAt(node)) visit(otherEnd(segment, node), segment.run);
    for (const other of onward(node)) visit(other);
  }
  return before;
}

const wayIn = (before: Before, target: Node): Way | undefined =>
  before.has(target) ? trace(target, before) : undefined;

export const otherEnd = ({ from, to }: Segment, node: Node): Node => (from === node ? to : from);

const FROM_SOURCES = query<Instance, Before>('the shortest ways from a source to everything');
const FROM_NODES = query<readonly [CircuitState, Node], Before>(
  'the shortest ways from a node through gear in a state',
);

/** The shortest way from an instance to a node; undefined when there is none. */
export const wayFrom = (source: Instance, target: Node, context: QuantityContext): Way | undefined =>
  wayIn(
    context.kept(FROM_SOURCES, source, () => {
      const starts = context.graph.nodesOf(source).filter(({ terminal }) => terminal.direction !== 'in');
      return shortest(starts, context.graph, () => []);
    }),
    target,
  );

/** The shortest way from a node to another through gear as it stands in a state. Starts are few: what feeds. */
export const wayTo = (start: Node, target: Node, circuit: CircuitState, context: QuantityContext): Way | undefined =>
  wayIn(
    context.keptFor(FROM_NODES, circuit, start, () =>
      shortest([start], circuit.graph, (node) => acrossGear(node, circuit, context)),
    ),
    target,
  );

const TREES = query<ReadonlyMap<string, Node>, boolean>('whether an island has no loops');

/** Whether the wiring that a node belongs to has no two ways between any two of its points; worked out once. */
export function isTree(start: Node, context: QuantityContext): boolean {
  const island = context.graph.reach(start);
  return context.kept(TREES, island, () => {
    let ends = 0;
    for (const node of island.values()) ends += context.graph.segmentsAt(node).length;
    return ends / 2 === island.size - 1;
  });
}

/** The wiring of an island without loops, seen from one of its nodes: the way to every other, and what lies beyond it. */
export class Outward {
  private readonly before = new Map<Node, { readonly node: Node; readonly run?: Run } | undefined>();
  /** Positions at which the walk along the wiring enters and leaves each node. */
  private readonly enters = new Map<Node, number>();
  private readonly leaves = new Map<Node, number>();

  constructor(start: Node, context: QuantityContext) {
    this.before.set(start, undefined);
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
      for (const segment of context.graph.segmentsAt(node)) {
        const other = otherEnd(segment, node);
        if (this.before.has(other)) continue;
        this.before.set(other, { node, run: segment.run });
        stack.push(other);
      }
    }
  }

  wayTo(node: Node): Way {
    return trace(node, this.before);
  }

  /** Whether the way to a node leads through another. */
  isBeyond(node: Node, through: Node): boolean {
    const at = this.enters.get(node)!;
    return at >= this.enters.get(through)! && at <= this.leaves.get(through)!;
  }
}
