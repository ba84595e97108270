import type { Instance, Run, Stop, System, Terminal } from './types.js';

/** One electrical node: a terminal of an instance. Gear in series is one node, since it conducts. */
export interface Node {
  readonly key: string;
  readonly instance: Instance;
  readonly terminal: Terminal;
}

/** One stretch of a run between neighbouring stops. */
export interface Segment {
  readonly run: Run;
  readonly from: Node;
  readonly to: Node;
}

/** The nodes on either side of a run: `near` at its `from` end, `far` at its far ends. `loop` when the sides meet elsewhere. */
export interface Sides {
  readonly near: readonly Node[];
  readonly far: readonly Node[];
  readonly loop: boolean;
}

/** The wiring of a design as nodes and segments, with quick look-up of what meets at a node. */
export class Graph {
  readonly nodes = new Map<string, Node>();
  readonly segments: Segment[] = [];
  private readonly at = new Map<string, Segment[]>();
  private readonly ofRun = new Map<Run, Segment[]>();
  private readonly sidesOf = new Map<Run, Sides>();

  constructor(system: System) {
    for (const instance of system.instances) for (const terminal of instance.terminals) this.add(instance, terminal);
    for (const run of system.runs) {
      const chain = [run.from, ...run.through].map((stop) => this.nodeOf(stop));
      for (let index = 1; index < chain.length; index += 1) this.join(run, chain[index - 1]!, chain[index]!);
      for (const far of run.to) this.join(run, chain.at(-1)!, this.nodeOf(far));
    }
  }

  private add(instance: Instance, terminal: Terminal): Node {
    const key = `${instance.name}.${terminal.name}`;
    let node = this.nodes.get(key);
    if (!node) this.nodes.set(key, (node = { key, instance, terminal }));
    return node;
  }

  private join(run: Run, from: Node, to: Node): void {
    const segment = { run, from, to };
    this.segments.push(segment);
    for (const node of [from, to]) this.listAt(node).push(segment);
    const own = this.ofRun.get(run);
    if (own) own.push(segment);
    else this.ofRun.set(run, [segment]);
  }

  private listAt(node: Node): Segment[] {
    let list = this.at.get(node.key);
    if (!list) this.at.set(node.key, (list = []));
    return list;
  }

  nodeOf(stop: Stop): Node {
    return this.add(stop.instance, stop.terminal ?? stop.instance.terminals[0]!);
  }

  nodesOf(instance: Instance): Node[] {
    return instance.terminals.map((terminal) => this.add(instance, terminal));
  }

  segmentsAt(node: Node): readonly Segment[] {
    return this.at.get(node.key) ?? [];
  }

  segmentsOf(run: Run): readonly Segment[] {
    return this.ofRun.get(run) ?? [];
  }

  /** Every node reached from `start` over segments other than those of `without`. */
  reach(start: Node, without?: Run): Map<string, Node> {
    const seen = new Map([[start.key, start]]);
    const queue = [start];
    for (let node = queue.pop(); node; node = queue.pop()) {
      for (const segment of this.segmentsAt(node)) {
        if (segment.run === without) continue;
        const other = segment.from === node ? segment.to : segment.from;
        if (seen.has(other.key)) continue;
        seen.set(other.key, other);
        queue.push(other);
      }
    }
    return seen;
  }

  /**
   * The nodes that hang on each stop of a run besides the run itself, in order from its `from` end; the far ends count as one. Gear the
   * run passes through has nodes of its own here where another run branches off at it.
   */
  groups(run: Run): { groups: Node[][]; loop: boolean } {
    const starts = [[run.from], ...run.through.map((stop) => [stop]), run.to];
    const seen = new Set<string>();
    let loop = false;
    const groups = starts.map((stops) => {
      const group = new Map<string, Node>();
      for (const stop of stops) for (const [key, node] of this.reach(this.nodeOf(stop), run)) group.set(key, node);
      for (const key of group.keys()) {
        loop ||= seen.has(key);
        seen.add(key);
      }
      return [...group.values()];
    });
    return { groups, loop };
  }

  /** The nodes on either side of a run, worked out once for each. */
  sides(run: Run): Sides {
    let sides = this.sidesOf.get(run);
    if (!sides) this.sidesOf.set(run, (sides = this.findSides(run)));
    return sides;
  }

  private findSides(run: Run): Sides {
    const near = this.reach(this.nodeOf(run.from), run);
    const far = new Map<string, Node>();
    for (const stop of run.to) for (const [key, node] of this.reach(this.nodeOf(stop), run)) far.set(key, node);
    const loop = [...far.keys()].some((key) => near.has(key));
    return { near: [...near.values()], far: [...far.values()], loop };
  }
}
