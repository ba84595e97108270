import { type Apart, walkApart } from './apart.js';
import { type Cord, type Inlet, inletsOf } from './cords.js';
import { type Piece, type Tree, Walks } from './tree.js';
import type { Instance, Run, Stop, System } from './types.js';
import type { Terminal } from '../equipment/index.js';

/** One electrical node: a terminal of an instance. Gear in series is one node, since it conducts. */
export interface Node {
  readonly key: string;
  /** Position among the nodes of its graph. */
  readonly index: number;
  readonly instance: Instance;
  readonly terminal: Terminal;
}

/** One stretch of a run between neighbouring stops. */
export interface Segment {
  readonly run: Run;
  readonly from: Node;
  readonly to: Node;
}

/**
 * The nodes on either side of a run: `near` at its `from` end, `far` at its far ends; each looked up when it is first asked for. `loop`
 * when the sides meet elsewhere.
 */
export interface Sides {
  readonly near: readonly Node[];
  readonly far: readonly Node[];
  readonly loop: boolean;
  /** Whether a node is on a side; without looking up all of its nodes. */
  readonly holds: (side: 'near' | 'far', node: Node) => boolean;
}

/** What hangs on a stop of a run. */
export interface Branch {
  /** Its nodes, in the order of the text; looked up when they are asked for. */
  readonly nodes: readonly Node[];
  /** Whether it is the stop itself and nothing else. */
  readonly isBare: boolean;
  /** Whether a node is in it; without looking up all of its nodes. */
  readonly holds: (node: Node) => boolean;
  /** What it is of an island without loops. */
  readonly pieces?: readonly Piece[];
}

/** What hangs on each stop of a run. `loop` when two groups share a node. */
export interface Groups {
  readonly groups: readonly Branch[];
  readonly loop: boolean;
}

/** What following conductors needs of a graph. */
export type Wiring = Pick<Graph, 'nodes' | 'nodesOf' | 'segmentsAt'>;

const inTextOrder = (one: Node, other: Node): number => one.index - other.index;

/** Whether a piece is one node alone. */
const isOfOne = ({ from, to, without }: Piece): boolean =>
  to - from === without.reduce((sum, [first, last]) => sum + last - first + 1, 0);

const byKey = (nodes: readonly Node[]): ReadonlyMap<string, Node> => new Map(nodes.map((node) => [node.key, node]));

/**
 * The wiring of a design as nodes and segments, with quick look-up of what meets at a node. All cords count as plugged in; `plugged` gives
 * the wiring with some of them.
 */
export class Graph {
  readonly nodes: Map<string, Node>;
  readonly segments: Segment[];
  /** The inlets that take one cord at a time. */
  readonly inlets: readonly Inlet[];
  private readonly at: Segment[][];
  private readonly ofRun: Map<Run, Segment[]>;
  /** Stretches that are open in this view of the wiring: the ends of cords that are not plugged in. */
  private readonly isOpen: ((segment: Segment) => boolean) | undefined;
  /** The cord that a stretch is the end of. */
  private readonly cordOf: ReadonlyMap<Segment, Cord>;
  /** The sources that come over any cord. */
  readonly broughtByCord: ReadonlySet<Instance>;
  private readonly views = new Map<string, Graph>();
  private readonly sidesOf = new Map<Run, Sides>();
  private readonly groupsOf = new Map<Run, Groups>();
  /** For each node, by its index, everything it is joined to. */
  private readonly joined: ReadonlyMap<string, Node>[] = [];
  private readonly trees = new Map<ReadonlyMap<string, Node>, Tree | undefined>();
  private readonly walks = new Walks((node) => this.segmentsAt(node));
  private readonly instancesOf = new Map<ReadonlyMap<string, Node>, readonly Instance[]>();

  constructor(of: System | Graph, isOpen?: (segment: Segment) => boolean) {
    this.isOpen = isOpen;
    if (of instanceof Graph) {
      ({ nodes: this.nodes, segments: this.segments, at: this.at, ofRun: this.ofRun, inlets: this.inlets } = of);
      this.cordOf = of.cordOf;
      this.broughtByCord = of.broughtByCord;
      return;
    }
    const system = of;
    this.nodes = new Map();
    this.segments = [];
    this.at = [];
    this.ofRun = new Map();
    for (const instance of system.instances) for (const terminal of instance.terminals) this.add(instance, terminal);
    for (const run of system.runs) {
      const chain = [run.from, ...run.through].map((stop) => this.nodeOf(stop));
      for (let index = 1; index < chain.length; index += 1) this.join(run, chain[index - 1]!, chain[index]!);
      for (const far of run.to) this.join(run, chain.at(-1)!, this.nodeOf(far));
    }
    this.inlets = inletsOf(system, this);
    const cords = this.inlets.flatMap((inlet) => inlet.cords);
    this.cordOf = new Map(cords.map((cord) => [cord.segment, cord]));
    this.broughtByCord = new Set(cords.flatMap(({ sources, charging }) => [...sources, ...charging]));
  }

  /** The wiring with these cords plugged in and all others not; itself where no inlet takes one cord at a time. */
  plugged(cords: readonly Cord[]): Graph {
    if (this.inlets.length === 0) return this;
    const key = cords.map(({ run, inlet }) => `${inlet.name} ${run.name}`).join();
    return this.view(key, () => {
      const plugged = new Set(cords);
      return (cord) => !plugged.has(cord);
    });
  }

  /** The wiring as it is while a run carries anything: with it plugged in, and no other cord of its inlet, where it is a cord. */
  around(run: Run): Graph {
    const own = this.cordsOf(run);
    if (own.length === 0) return this;
    return this.view(`around ${run.name}`, () => {
      const inlets = new Set(own.map(({ inlet }) => inlet));
      return (cord) => !own.includes(cord) && (inlets.has(cord.inlet) || this.isOpen?.(cord.segment) === true);
    });
  }

  private view(key: string, isUnplugged: () => (cord: Cord) => boolean): Graph {
    let view = this.views.get(key);
    if (view) return view;
    const isOut = isUnplugged();
    view = new Graph(this, (segment) => {
      const cord = this.cordOf.get(segment);
      return cord !== undefined && isOut(cord);
    });
    this.views.set(key, view);
    return view;
  }

  /** The inlets that a run leads to as a cord, each with the stretch that ends there. */
  private cordsOf(run: Run): readonly Cord[] {
    return (this.ofRun.get(run) ?? []).flatMap((segment) => this.cordOf.get(segment) ?? []);
  }

  private add(instance: Instance, terminal: Terminal): Node {
    const key = `${instance.name}.${terminal.name}`;
    let node = this.nodes.get(key);
    if (!node) {
      this.nodes.set(key, (node = { key, index: this.nodes.size, instance, terminal }));
      this.at.push([]);
    }
    return node;
  }

  private join(run: Run, from: Node, to: Node): void {
    const segment = { run, from, to };
    this.segments.push(segment);
    for (const node of [from, to]) this.at[node.index]!.push(segment);
    const own = this.ofRun.get(run);
    if (own) own.push(segment);
    else this.ofRun.set(run, [segment]);
  }

  nodeOf(stop: Stop): Node {
    return this.add(stop.instance, stop.terminal ?? stop.instance.terminals[0]!);
  }

  nodesOf(instance: Instance): Node[] {
    return instance.terminals.map((terminal) => this.add(instance, terminal));
  }

  segmentsAt(node: Node): readonly Segment[] {
    const segments = this.at[node.index] ?? [];
    return this.isOpen ? segments.filter((segment) => !this.isOpen!(segment)) : segments;
  }

  segmentsOf(run: Run): readonly Segment[] {
    return this.ofRun.get(run) ?? [];
  }

  /** Every node reached from `start` over segments other than those of `without`, each once, in the order of the text. */
  reached(start: Node, without?: Run): Node[] {
    const isSeen = new Uint8Array(this.nodes.size);
    isSeen[start.index] = 1;
    const found = [start];
    const queue = [start];
    for (let node = queue.pop(); node; node = queue.pop()) {
      for (const segment of this.at[node.index]!) {
        if (segment.run === without || this.isOpen?.(segment)) continue;
        const other = segment.from === node ? segment.to : segment.from;
        if (isSeen[other.index]) continue;
        isSeen[other.index] = 1;
        found.push(other);
        queue.push(other);
      }
    }
    return found.sort(inTextOrder);
  }

  /**
   * What is reached from `start` over segments other than those of `without`, by key. Without `without` it is the same for every node
   * that is joined to `start`, in the same order, and worked out once.
   */
  reach(start: Node, without?: Run): ReadonlyMap<string, Node> {
    if (without) return byKey(this.reached(start, without));
    let joined = this.joined[start.index];
    if (!joined) {
      const nodes = this.reached(start);
      joined = byKey(nodes);
      for (const node of nodes) this.joined[node.index] = joined;
    }
    return joined;
  }

  /** The island of a node as a walk along it; undefined where there are two ways between any of its points. */
  treeAt(start: Node): Tree | undefined {
    const island = this.reach(start);
    if (!this.trees.has(island)) this.trees.set(island, this.walks.treeOf(island));
    return this.trees.get(island);
  }

  /** The things whose terminals `start` is joined to, each once. */
  joinedTo(start: Node): readonly Instance[] {
    const joined = this.reach(start);
    let instances = this.instancesOf.get(joined);
    if (!instances)
      this.instancesOf.set(joined, (instances = [...new Set([...joined.values()].map(({ instance }) => instance))]));
    return instances;
  }

  /** Every node reached from any of some nodes, each once, in the order of the text. */
  private reachedFrom(starts: readonly Node[], without: Run): Node[] {
    const [first, ...rest] = starts.map((start) => this.reached(start, without));
    return rest.length === 0 ? (first ?? []) : [...new Set([first!, ...rest].flat())].sort(inTextOrder);
  }

  /**
   * The nodes that hang on each stop of a run besides the run itself, in order from its `from` end; the far ends count as one. Gear the
   * run passes through has nodes of its own here where another run branches off at it.
   */
  groups(run: Run): Groups {
    let groups = this.groupsOf.get(run);
    if (!groups) this.groupsOf.set(run, (groups = this.around(run).findGroups(run)));
    return groups;
  }

  private findGroups(run: Run): Groups {
    const stops = [[run.from], ...run.through.map((stop) => [stop]), run.to];
    const starts = stops.map((each) => each.map((stop) => this.nodeOf(stop)));
    const tree = this.treeAt(starts[0]![0]!);
    if (tree) return { loop: false, groups: starts.map((own) => this.branchOf(tree, own, run)) };
    const { meet: loop, found } = this.apart(starts, run);
    // The places of all that is found but on the one branch that has not been walked to its end.
    const known = new Map<Node, number>();
    if (!loop) for (const [index, nodes] of found.entries()) for (const node of nodes ?? []) known.set(node, index);
    return {
      loop,
      groups: starts.map((own, index) => {
        const [start] = own;
        const walked = own.length === 1 && !loop ? found[index] : undefined;
        let nodes: readonly Node[] | undefined;
        const branch: Branch = {
          get nodes() {
            return (nodes ??= walked ? walked.toSorted(inTextOrder) : reachedFrom());
          },
          isBare: own.length === 1 && !this.at[start!.index]!.some((segment) => this.leads(segment, start!, run)),
          holds: (node) => {
            if (loop) return branch.nodes.includes(node);
            const place = known.get(node);
            if (place !== undefined) return place === index;
            return found[index] === undefined && own.some((each) => this.reach(each).has(node.key));
          },
        };
        const reachedFrom = (): readonly Node[] => this.reachedFrom(own, run);
        return branch;
      }),
    };
  }

  /** What hangs on one or several stops of a run in an island without loops. */
  private branchOf(tree: Tree, stops: readonly Node[], run: Run): Branch {
    const pieces = this.piecesAt(tree, stops, run);
    const nodes = (): readonly Node[] => this.reachedFrom(stops, run);
    return {
      pieces,
      // Kept nowhere: in a long chain of runs every one has half of it on either side.
      get nodes() {
        return nodes();
      },
      isBare: pieces.length === 1 && isOfOne(pieces[0]!),
      holds: (node) => pieces.some((piece) => tree.holds(piece, node)),
    };
  }

  private piecesAt(tree: Tree, stops: readonly Node[], run: Run): Piece[] {
    const stretches = this.segmentsOf(run).filter((segment) => !this.isOpen?.(segment));
    return stops.map((stop) => tree.pieceAt(stop, run, stretches));
  }

  /** Whether a segment leads away from a node, other than over a run. */
  private leads(segment: Segment, node: Node, without: Run): boolean {
    const { run, from, to } = segment;
    return run !== without && !this.isOpen?.(segment) && (from !== node || to !== node);
  }

  /** What is reached from each of several places without a run, as far as it takes to know whether they are apart. */
  private apart(starts: readonly (readonly Node[])[], without: Run): Apart {
    return walkApart(
      starts,
      (node) => this.at[node.index]!,
      (segment) => segment.run !== without && !this.isOpen?.(segment),
    );
  }

  /** The nodes on either side of a run, worked out once for each. */
  sides(run: Run): Sides {
    let sides = this.sidesOf.get(run);
    if (!sides) this.sidesOf.set(run, (sides = this.around(run).findSides(run)));
    return sides;
  }

  private findSides(run: Run): Sides {
    const [near, far] = [[this.nodeOf(run.from)], run.to.map((stop) => this.nodeOf(stop))];
    const tree = this.treeAt(near[0]!);
    if (tree) {
      const branches = { near: this.branchOf(tree, near, run), far: this.branchOf(tree, far, run) };
      return {
        loop: false,
        holds: (side, node) => branches[side].holds(node),
        get near() {
          return branches.near.nodes;
        },
        get far() {
          return branches.far.nodes;
        },
      };
    }
    const { meet: loop } = this.apart([near, far], run);
    const found: { near?: readonly Node[]; far?: readonly Node[] } = {};
    const onNear = (): readonly Node[] => this.reachedFrom(near, run);
    const onFar = (): readonly Node[] => this.reachedFrom(far, run);
    const known: { near?: ReadonlySet<Node>; far?: ReadonlySet<Node> } = {};
    return {
      loop,
      holds: (side, node) =>
        (known[side] ??= new Set(side === 'near' ? (found.near ??= onNear()) : (found.far ??= onFar()))).has(node),
      get near() {
        return (found.near ??= onNear());
      },
      get far() {
        return (found.far ??= onFar());
      },
    };
  }
}
