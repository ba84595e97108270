import { type Result, missing, refused } from '../../derivation/index.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState } from '../../model/network.js';
import type { Run } from '../../model/types.js';
import { type Factors, MatrixBuilder, SingularMatrix, factorise, minimumDegreeOrder } from '../../solve/sparse.js';
import type { QuantityContext } from '../define.js';
import { Joints } from '../network/joints.js';
import { stretchesOf } from '../network/stretches.js';
import { otherEnd } from '../network/ways.js';
import { acrossGear } from '../supply/passage.js';
import { query } from '../../model/context.js';

/** Impedance of a whole run out and back, in ohm. */
export interface LoopOhms {
  readonly resistance: number;
  readonly reactance: number;
}

/** What a fault sees where several ways lead to it: the impedance of all of them together, and how much of the current one run carries. */
export interface FaultShare {
  /** ohm. */
  readonly impedance: number;
  /** 0 to 1. */
  readonly share: number;
}

/** Ohm that stands for none: gear mounted on its neighbour, whose current is asked for all the same. */
const NEXT_TO_NOTHING = 1e-8;

/** Solutions that are kept; ends of neighbouring runs ask for the same ones. */
const MOST_KEPT = 64;

interface Branch {
  readonly run: Run;
  readonly from: Node;
  readonly to: Node;
  /** Siemens. */
  readonly conductance: number;
  readonly susceptance: number;
}

/**
 * All runs that a source can reach, in one state, as a network of their impedances out and back: worked out once, and then asked how a
 * fault current divides over it.
 */
class WaysFrom {
  private readonly joints = new Joints();
  private readonly branches: Branch[] = [];
  private readonly factors: Factors;
  private readonly columns = new Map<number, Float64Array>();
  private readonly branchesAt = new Map<Node, Branch[]>();
  /** Real parts of an unknown: 1 for direct current, 2 where reactance counts. */
  private readonly width: 1 | 2;

  constructor(
    private readonly start: Node,
    nodes: ReadonlySet<Node>,
    pieces: readonly (LoopOhms & Pick<Branch, 'run' | 'from' | 'to'>)[],
    circuit: CircuitState,
    context: QuantityContext,
  ) {
    for (const node of nodes)
      for (const other of acrossGear(node, circuit, context)) this.joints.join(node.key, other.key);
    // Voltages count from the source, which is no unknown.
    this.joints.number(start.key);
    for (const { run, from, to, resistance, reactance } of pieces) {
      const square = resistance ** 2 + reactance ** 2;
      const branch: Branch =
        square > NEXT_TO_NOTHING ** 2
          ? { run, from, to, conductance: resistance / square, susceptance: -reactance / square }
          : { run, from, to, conductance: 1 / NEXT_TO_NOTHING, susceptance: 0 };
      this.branches.push(branch);
      for (const node of [from, to]) this.branchesAt.set(node, [...(this.branchesAt.get(node) ?? []), branch]);
    }
    for (const node of nodes) this.joints.number(node.key);
    this.width = this.branches.some(({ susceptance }) => susceptance !== 0) ? 2 : 1;
    this.factors = this.factorised();
  }

  private factorised(): Factors {
    const { width } = this;
    const builder = new MatrixBuilder((this.joints.count - 1) * width);
    const add = (row: number, column: number, sign: 1 | -1, { conductance, susceptance }: Branch): void => {
      if (row < 0 || column < 0) return;
      builder.add(row * width, column * width, sign * conductance);
      if (width === 1) return;
      builder.add(row * width + 1, column * width + 1, sign * conductance);
      builder.add(row * width, column * width + 1, -sign * susceptance);
      builder.add(row * width + 1, column * width, sign * susceptance);
    };
    for (const branch of this.branches) {
      const [a, b] = [this.unknown(branch.from), this.unknown(branch.to)];
      if (a === b) continue;
      add(a, a, 1, branch);
      add(b, b, 1, branch);
      add(a, b, -1, branch);
      add(b, a, -1, branch);
    }
    const matrix = builder.build();
    return factorise(matrix, minimumDegreeOrder(matrix));
  }

  private unknown(node: Node): number {
    return this.joints.number(node.key) - 1;
  }

  /** Voltages against the source while one ampere is led in at a node and taken out at the source. */
  private column(end: number): Float64Array {
    let column = this.columns.get(end);
    if (!column) {
      if (this.columns.size >= MOST_KEPT) this.columns.clear();
      const ampere = new Float64Array((this.joints.count - 1) * this.width);
      ampere[end * this.width] = 1;
      this.columns.set(end, (column = this.factors.solve(ampere)));
    }
    return column;
  }

  /** Undefined where no current arrives at the end over the run. */
  shareOf(end: Node, run: Run): FaultShare | Result | undefined {
    const { width } = this;
    const at = this.unknown(end);
    if (at < 0) return undefined;
    const column = this.column(at);
    const volts = (node: Node): readonly [number, number] => {
      const from = this.unknown(node) * width;
      return from < 0 ? [0, 0] : [column[from]!, width === 2 ? column[from + 1]! : 0];
    };
    const own = volts(end);
    const impedance = Math.hypot(...own);
    if (!(impedance > 0)) return missing(`a resistance between ${this.start.instance.name} and ${end.instance.name}`);
    let [re, im] = [0, 0];
    for (const { run: of, from, to, conductance, susceptance } of this.branchesAt.get(end) ?? []) {
      if (of !== run) continue;
      const other = volts(from === end ? to : from);
      const [real, imaginary] = [own[0] - other[0], own[1] - other[1]];
      re += conductance * real - susceptance * imaginary;
      im += conductance * imaginary + susceptance * real;
    }
    // What flows the other way comes over other runs and goes on.
    return re > 1e-9 ? { impedance, share: Math.min(1, Math.hypot(re, im)) } : undefined;
  }
}

const WAYS = query<readonly [CircuitState, Node], WaysFrom | Result>(
  'ways of fault currents in a state, by where they start',
);

function waysFrom(
  start: Node,
  circuit: CircuitState,
  context: QuantityContext,
  ohmsOf: (run: Run) => Result | LoopOhms,
): WaysFrom | Result {
  return context.keptFor(WAYS, circuit, start, () => findWays(start, circuit, context, ohmsOf));
}

function findWays(
  start: Node,
  circuit: CircuitState,
  context: QuantityContext,
  ohmsOf: (run: Run) => Result | LoopOhms,
): WaysFrom | Result {
  const nodes = new Set([start]);
  const runs = new Set<Run>();
  for (const node of nodes) {
    for (const segment of circuit.graph.segmentsAt(node)) {
      runs.add(segment.run);
      nodes.add(otherEnd(segment, node));
    }
    for (const other of acrossGear(node, circuit, context)) nodes.add(other);
  }
  const pieces: (LoopOhms & Pick<Branch, 'run' | 'from' | 'to'>)[] = [];
  for (const run of runs) {
    const ohms = ohmsOf(run);
    if (!('resistance' in ohms)) return ohms;
    const stretches = stretchesOf(run, context);
    if (!stretches.ok) return stretches.result;
    for (const { from, to, share } of stretches.stretches)
      pieces.push({ run, from, to, resistance: ohms.resistance * share, reactance: ohms.reactance * share });
  }
  try {
    return new WaysFrom(start, nodes, pieces, circuit, context);
  } catch (error) {
    if (!(error instanceof SingularMatrix)) throw error;
    return refused(`how a fault current from ${start.instance.name} divides over its ways is not known`);
  }
}

/**
 * What a source at `start` sees of a fault at `end`, and the share of the fault current that arrives over `run`. `ohmsOf` gives the
 * impedance of a run out and back, the same at every call. Undefined where no current arrives over it.
 */
export function faultShareOf(
  start: Node,
  end: Node,
  run: Run,
  circuit: CircuitState,
  context: QuantityContext,
  ohmsOf: (run: Run) => Result | LoopOhms,
): Result | FaultShare | undefined {
  const ways = waysFrom(start, circuit, context, ohmsOf);
  return ways instanceof WaysFrom ? ways.shareOf(end, run) : ways;
}
