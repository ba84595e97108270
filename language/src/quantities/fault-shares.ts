import { type Result, missing, refused } from '../derivation/index.js';
import type { Node } from '../model/graph.js';
import type { CircuitState } from '../model/network.js';
import type { Run } from '../model/types.js';
import { solveCircuit } from '../solve/circuit.js';
import type { QuantityContext } from './define.js';
import { Joints } from './network-joints.js';
import { type Stretch, stretchesOf } from './network-stretches.js';
import { otherEnd } from './network-ways.js';
import { acrossGear } from './passage.js';

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

/** Everything that a node is joined to: its nodes and runs, gear as it stands in a state included. */
function joinedTo(start: Node, circuit: CircuitState, context: QuantityContext): { nodes: Set<Node>; runs: Set<Run> } {
  const nodes = new Set([start]);
  const runs = new Set<Run>();
  for (const node of nodes) {
    for (const segment of context.graph.segmentsAt(node)) {
      runs.add(segment.run);
      nodes.add(otherEnd(segment, node));
    }
    for (const other of acrossGear(node, circuit, context)) nodes.add(other);
  }
  return { nodes, runs };
}

/**
 * What a source at `start` sees of a fault at `end`, solved as a network of all runs between them, and the share of the fault current
 * that arrives over `run`. `ohmsOf` gives the impedance of a run. Undefined where no current arrives over it.
 */
export function faultShareOf(
  start: Node,
  end: Node,
  run: Run,
  circuit: CircuitState,
  context: QuantityContext,
  ohmsOf: (run: Run) => Result | LoopOhms,
): Result | FaultShare | undefined {
  const { nodes, runs } = joinedTo(start, circuit, context);
  if (!nodes.has(end)) return undefined;
  const pieces: { readonly stretch: Stretch; readonly resistance: number; readonly reactance: number }[] = [];
  for (const each of runs) {
    const ohms = ohmsOf(each);
    if (!('resistance' in ohms)) return ohms;
    const stretches = stretchesOf(each, context);
    if (!stretches.ok) return stretches.result;
    for (const stretch of stretches.stretches)
      pieces.push({
        stretch,
        resistance: ohms.resistance * stretch.share,
        reactance: ohms.reactance * stretch.share,
      });
  }
  const joints = new Joints();
  for (const node of nodes) for (const other of acrossGear(node, circuit, context)) joints.join(node.key, other.key);
  // What has no impedance is one point, but for the run whose current is asked for.
  const isJoint = ({ stretch, resistance, reactance }: (typeof pieces)[number]): boolean =>
    stretch.run !== run && resistance === 0 && reactance === 0;
  for (const piece of pieces) if (isJoint(piece)) joints.join(piece.stretch.from.key, piece.stretch.to.key);
  // The reference: what the current comes back to.
  const back = joints.number('');
  const branches = [];
  const arriving: { readonly at: number; readonly sign: 1 | -1 }[] = [];
  for (const piece of pieces.filter((each) => !isJoint(each))) {
    const { from, to } = piece.stretch;
    if (piece.stretch.run === run && (from === end || to === end))
      arriving.push({ at: branches.length, sign: to === end ? 1 : -1 });
    branches.push({
      from: joints.number(from.key),
      to: joints.number(to.key),
      resistance: piece.resistance,
      reactance: piece.reactance,
    });
  }
  const [source, fault] = [joints.number(start.key), joints.number(end.key)];
  if (source === fault) return undefined;
  const solution = solveCircuit({
    nodes: joints.count,
    branches,
    sources: [
      { positive: source, negative: back, voltage: { re: 1, im: 0 }, resistance: 0 },
      { positive: fault, negative: back, voltage: { re: 0, im: 0 }, resistance: 0 },
    ],
    loads: [],
  });
  if (!solution.solved)
    return refused(`how a fault current at ${end.instance.name} divides over its ways is not known`);
  const total = solution.sourceCurrents[0]!;
  const amperes = Math.hypot(total.re, total.im);
  if (!(amperes > 0)) return missing(`a resistance between ${start.instance.name} and ${end.instance.name}`);
  let over = { re: 0, im: 0 };
  for (const { at, sign } of arriving) {
    const current = solution.branchCurrents[at]!;
    over = { re: over.re + sign * current.re, im: over.im + sign * current.im };
  }
  // What flows the other way comes over other runs and goes on.
  const along = (over.re * total.re + over.im * total.im) / amperes ** 2;
  return along > 1e-9 ? { impedance: 1 / amperes, share: Math.hypot(over.re, over.im) / amperes } : undefined;
}
