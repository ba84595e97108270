/**
 * A network of resistive and inductive branches, sources behind an impedance and loads, solved for its voltages and currents in steady
 * state: direct current, or alternating current at one frequency as phasors (rms). All numbers are in SI: V, A, W, var, ohm.
 *
 * Direct current is the case without imaginary parts and is solved with half the unknowns.
 */

import { BALANCE_TOLERANCE, type KeptPattern, ROUNDING_TOLERANCE, STEP_TOLERANCE, solveNodal } from './nodal.js';
import { MatrixBuilder, SingularMatrix, factorise, minimumDegreeOrder } from './sparse.js';

/** A complex number; `im` is 0 for direct current. */
export interface Complex {
  readonly re: number;
  readonly im: number;
}

export interface Branch {
  readonly from: number;
  readonly to: number;
  /** ohm, 0 or more. */
  readonly resistance: number;
  /** ohm at the frequency of the network; 0 for direct current. */
  readonly reactance?: number;
}

/** An electromotive force from `negative` to `positive` behind an internal impedance, which may be zero. */
export interface Source {
  readonly positive: number;
  readonly negative: number;
  readonly voltage: Complex;
  readonly resistance: number;
  readonly reactance?: number;
}

/** A load between two nodes. `power`: constant power whatever the voltage; `current`: constant current in phase with its voltage; `impedance`: fixed ohms. */
export type Load =
  | {
      readonly kind: 'power';
      readonly from: number;
      readonly to: number;
      readonly active: number;
      readonly reactive?: number;
    }
  | { readonly kind: 'current'; readonly from: number; readonly to: number; readonly current: number };

/** Node 0 is the reference (0 V). */
export interface Circuit {
  readonly nodes: number;
  readonly branches: readonly Branch[];
  readonly sources: readonly Source[];
  readonly loads: readonly Load[];
}

export type Solution =
  | {
      readonly solved: true;
      /** Voltage of each node against node 0. */
      readonly voltages: readonly Complex[];
      /** Current in each branch from `from` to `to`. */
      readonly branchCurrents: readonly Complex[];
      /** Current out of the positive end of each source. */
      readonly sourceCurrents: readonly Complex[];
      readonly loadCurrents: readonly Complex[];
      readonly iterations: number;
    }
  | {
      readonly solved: false;
      readonly reason: 'singular' | 'no-convergence';
      readonly node: number;
      readonly iterations: number;
    };

/** Newton steps after which a network counts as having no solution: loads that ask for more than their supply can deliver. */
const MOST_ITERATIONS = 60;
const ZERO: Complex = { re: 0, im: 0 };
const magnitude = ({ re, im }: Complex): number => Math.hypot(re, im);

/**
 * Ohm below which the current of a branch is an unknown of its own: as the small difference of two node voltages over next to nothing it
 * would be lost in rounding. Such a branch may have no resistance at all.
 */
const NEARLY_NOTHING = 1e-5;

/**
 * Solves a network by Newton's method on its node equations, starting from the network without its constant-power loads. `kept` is how a network
 * solved before is joined, and is found out again only where this one is joined in another way.
 */
export function solveCircuit(circuit: Circuit, kept?: KeptPattern): Solution {
  const nodal = solveNodal(circuit, kept);
  if (nodal) return nodal;
  const isThin = ({ resistance, reactance = 0 }: Branch): boolean => Math.hypot(resistance, reactance) < NEARLY_NOTHING;
  if (!circuit.branches.some(isThin)) return solveNodes(circuit);
  // A source of 0 V behind the same impedance is the same branch, and its current is solved for.
  const thin = circuit.branches.filter(isThin);
  const others = circuit.branches.filter((branch) => !isThin(branch));
  const asSources = thin.map(({ from, to, ...impedance }) => ({
    positive: to,
    negative: from,
    voltage: ZERO,
    ...impedance,
  }));
  const solution = solveNodes({ ...circuit, branches: others, sources: [...circuit.sources, ...asSources] });
  if (!solution.solved) return solution;
  const count = circuit.sources.length;
  const currents = new Map([
    ...others.map((branch, at) => [branch, solution.branchCurrents[at]!] as const),
    ...thin.map((branch, at) => [branch, solution.sourceCurrents[count + at]!] as const),
  ]);
  return {
    ...solution,
    sourceCurrents: solution.sourceCurrents.slice(0, count),
    branchCurrents: circuit.branches.map((branch) => currents.get(branch)!),
  };
}

function solveNodes(circuit: Circuit): Solution {
  const isDirect =
    circuit.branches.every(({ reactance }) => !reactance) &&
    circuit.sources.every(({ voltage, reactance }) => voltage.im === 0 && !reactance) &&
    circuit.loads.every((load) => load.kind !== 'power' || !load.reactive);
  return new Newton(circuit, isDirect ? 1 : 2).solve();
}

/**
 * Unknowns: the voltages of nodes 1 … n−1 and the current of each source, in `width` real parts each (1 for direct current, 2 for
 * alternating). Residuals are node balances and source equations, written with branch voltage differences so that nearly equal node
 * voltages do not cancel.
 */
class Newton {
  private readonly nodeUnknowns: number;
  private readonly size: number;
  private readonly scaleVoltage: number;
  private readonly values: Float64Array;

  constructor(
    private readonly circuit: Circuit,
    private readonly width: 1 | 2,
  ) {
    this.nodeUnknowns = Math.max(0, circuit.nodes - 1) * width;
    this.size = this.nodeUnknowns + circuit.sources.length * width;
    this.scaleVoltage = Math.max(1e-9, ...circuit.sources.map(({ voltage }) => magnitude(voltage)));
    this.values = new Float64Array(this.size);
  }

  solve(): Solution {
    if (this.size === 0) return this.result(0);
    const isolated = this.isolatedNode();
    if (isolated !== undefined) return { solved: false, reason: 'singular', node: isolated, iterations: 0 };
    let order: Int32Array | undefined;
    const powered = this.circuit.loads.some((load) => load.kind === 'power' || load.kind === 'current');
    // The first solve leaves loads out and gives the voltages to start from.
    let withLoads = false;
    let worst = 1;
    let before = Infinity;
    for (let iteration = 1; iteration <= MOST_ITERATIONS; iteration += 1) {
      const { matrix, residual } = this.linearise(withLoads);
      order ??= minimumDegreeOrder(matrix);
      let step: Float64Array;
      try {
        step = factorise(matrix, order).solve(residual);
      } catch (error) {
        if (error instanceof SingularMatrix)
          return {
            solved: false,
            reason: withLoads ? 'no-convergence' : 'singular',
            node: this.nodeOf(error.column),
            iterations: iteration,
          };
        throw error;
      }
      const length = withLoads ? this.damping(step) : 1;
      let change = 0;
      for (let at = 0; at < this.size; at += 1) {
        const by = step[at]! * length;
        this.values[at]! -= by;
        if (at < this.nodeUnknowns && Math.abs(by) > change) [change, worst] = [Math.abs(by), at];
      }
      if (!withLoads) {
        withLoads = true;
        order = undefined;
        if (!powered) return this.result(iteration);
        continue;
      }
      if (!Number.isFinite(change)) break;
      const isSmall = change <= STEP_TOLERANCE * this.scaleVoltage;
      const isRounding = change <= ROUNDING_TOLERANCE * this.scaleVoltage && change >= before / 2;
      if (length === 1 && (isSmall || isRounding) && this.isBalanced()) return this.result(iteration);
      before = change;
    }
    return { solved: false, reason: 'no-convergence', node: this.nodeOf(worst), iterations: MOST_ITERATIONS };
  }

  /** The node an unknown belongs to; for a source its positive end. */
  private nodeOf(unknown: number): number {
    if (unknown < this.nodeUnknowns) return Math.floor(unknown / this.width) + 1;
    const source = this.circuit.sources[Math.floor((unknown - this.nodeUnknowns) / this.width)];
    return source?.positive ?? 0;
  }

  /** A node that nothing joins to the reference; its voltage would be undefined. */
  private isolatedNode(): number | undefined {
    const { nodes, branches, sources } = this.circuit;
    const parent = Array.from({ length: nodes }, (_, node) => node);
    const root = (node: number): number => {
      let at = node;
      while (parent[at] !== at) at = parent[at] = parent[parent[at]!]!;
      return at;
    };
    for (const { from, to } of branches) parent[root(from)] = root(to);
    for (const { positive, negative } of sources) parent[root(positive)] = root(negative);
    for (let node = 1; node < nodes; node += 1) if (root(node) !== root(0)) return node;
    return undefined;
  }

  private voltage(node: number): Complex {
    if (node === 0) return ZERO;
    const at = (node - 1) * this.width;
    return { re: this.values[at]!, im: this.width === 2 ? this.values[at + 1]! : 0 };
  }

  private across(from: number, to: number): Complex {
    const a = this.voltage(from);
    const b = this.voltage(to);
    return { re: a.re - b.re, im: a.im - b.im };
  }

  private sourceCurrent(index: number): Complex {
    const at = this.nodeUnknowns + index * this.width;
    return { re: this.values[at]!, im: this.width === 2 ? this.values[at + 1]! : 0 };
  }

  private branchCurrent({ from, to, resistance, reactance = 0 }: Branch): Complex {
    const drop = this.across(from, to);
    const square = resistance * resistance + reactance * reactance;
    return {
      re: (drop.re * resistance + drop.im * reactance) / square,
      im: (drop.im * resistance - drop.re * reactance) / square,
    };
  }

  private loadCurrent(load: Load): Complex {
    const voltage = this.across(load.from, load.to);
    const square = voltage.re * voltage.re + voltage.im * voltage.im;
    if (square === 0) return ZERO;
    if (load.kind === 'current') {
      const size = Math.sqrt(square);
      return { re: (load.current * voltage.re) / size, im: (load.current * voltage.im) / size };
    }
    const reactive = load.reactive ?? 0;
    // I = conj(S / V)
    return {
      re: (load.active * voltage.re + reactive * voltage.im) / square,
      im: (load.active * voltage.im - reactive * voltage.re) / square,
    };
  }

  private linearise(withLoads: boolean) {
    const builder = new MatrixBuilder(this.size);
    const residual = new Float64Array(this.size);
    const { width } = this;
    const row = (node: number): number => (node - 1) * width;
    /** Adds a 2×2 (or 1×1) block, leaving out the reference. */
    const block = (at: number, to: number, rr: number, ri: number, ir: number, ii: number): void => {
      builder.add(at, to, rr);
      if (width === 1) return;
      builder.add(at, to + 1, ri);
      builder.add(at + 1, to, ir);
      builder.add(at + 1, to + 1, ii);
    };
    const leaves = (node: number, current: Complex, sign: 1 | -1): void => {
      if (node === 0) return;
      residual[row(node)]! += sign * current.re;
      if (width === 2) residual[row(node) + 1]! += sign * current.im;
    };
    /** The derivative of a current from `from` to `to` by the voltage across it, as a real 2×2 block. */
    const stamp = (from: number, to: number, rr: number, ri: number, ir: number, ii: number): void => {
      for (const [node, sign] of [
        [from, 1],
        [to, -1],
      ] as const) {
        if (node === 0) continue;
        if (from !== 0) block(row(node), row(from), sign * rr, sign * ri, sign * ir, sign * ii);
        if (to !== 0) block(row(node), row(to), -sign * rr, -sign * ri, -sign * ir, -sign * ii);
      }
    };
    for (const branch of this.circuit.branches) {
      const { from, to, resistance, reactance = 0 } = branch;
      const square = resistance * resistance + reactance * reactance;
      const current = this.branchCurrent(branch);
      leaves(from, current, 1);
      leaves(to, current, -1);
      stamp(from, to, resistance / square, reactance / square, -reactance / square, resistance / square);
    }
    for (const [index, { positive, negative, voltage, resistance, reactance = 0 }] of this.circuit.sources.entries()) {
      const at = this.nodeUnknowns + index * width;
      const current = this.sourceCurrent(index);
      leaves(positive, current, -1);
      leaves(negative, current, 1);
      for (const [node, sign] of [
        [positive, 1],
        [negative, -1],
      ] as const) {
        if (node === 0) continue;
        block(row(node), at, -sign, 0, 0, -sign);
        block(at, row(node), sign, 0, 0, sign);
      }
      block(at, at, resistance, -reactance, reactance, resistance);
      const difference = this.across(positive, negative);
      residual[at] = difference.re - voltage.re + resistance * current.re - reactance * current.im;
      if (width === 2) residual[at + 1] = difference.im - voltage.im + resistance * current.im + reactance * current.re;
    }
    if (withLoads) {
      for (const load of this.circuit.loads) {
        const current = this.loadCurrent(load);
        leaves(load.from, current, 1);
        leaves(load.to, current, -1);
        const [rr, ri, ir, ii] = this.loadDerivative(load);
        stamp(load.from, load.to, rr, ri, ir, ii);
      }
    }
    return { matrix: builder.build(), residual };
  }

  private loadDerivative(load: Load): readonly [number, number, number, number] {
    const { re, im } = this.across(load.from, load.to);
    const square = re * re + im * im;
    if (square === 0) return [0, 0, 0, 0];
    if (load.kind === 'current') {
      const cube = square * Math.sqrt(square);
      return [
        (load.current * im * im) / cube,
        (-load.current * re * im) / cube,
        (-load.current * re * im) / cube,
        (load.current * re * re) / cube,
      ];
    }
    const p = load.active;
    const q = load.reactive ?? 0;
    const fourth = square * square;
    const real = p * re + q * im;
    const imaginary = p * im - q * re;
    return [
      (p * square - 2 * re * real) / fourth,
      (q * square - 2 * im * real) / fourth,
      (-q * square - 2 * re * imaginary) / fourth,
      (p * square - 2 * im * imaginary) / fourth,
    ];
  }

  /** Shortens a step that would take a load's voltage through zero, where constant power has no meaning. */
  private damping(step: Float64Array): number {
    let length = 1;
    const change = (node: number): Complex =>
      node === 0
        ? ZERO
        : { re: step[(node - 1) * this.width]!, im: this.width === 2 ? step[(node - 1) * this.width + 1]! : 0 };
    for (const load of this.circuit.loads) {
      if (load.kind !== 'power') continue;
      const voltage = magnitude(this.across(load.from, load.to));
      const a = change(load.from);
      const b = change(load.to);
      const by = Math.hypot(a.re - b.re, a.im - b.im);
      if (by > 0.5 * voltage) length = Math.min(length, (0.5 * voltage) / by);
    }
    return length;
  }

  private isBalanced(): boolean {
    const { residual } = this.linearise(true);
    let most = 1e-12;
    for (const branch of this.circuit.branches) most = Math.max(most, magnitude(this.branchCurrent(branch)));
    for (let index = 0; index < this.circuit.sources.length; index += 1)
      most = Math.max(most, magnitude(this.sourceCurrent(index)));
    for (const load of this.circuit.loads) most = Math.max(most, magnitude(this.loadCurrent(load)));
    for (let at = 0; at < this.nodeUnknowns; at += 1)
      if (Math.abs(residual[at]!) > BALANCE_TOLERANCE * most * Math.max(1, this.circuit.branches.length)) return false;
    return true;
  }

  private result(iterations: number): Solution {
    return {
      solved: true,
      voltages: Array.from({ length: this.circuit.nodes }, (_, node) => this.voltage(node)),
      branchCurrents: this.circuit.branches.map((branch) => this.branchCurrent(branch)),
      sourceCurrents: this.circuit.sources.map((_, index) => this.sourceCurrent(index)),
      loadCurrents: this.circuit.loads.map((load) => this.loadCurrent(load)),
      iterations,
    };
  }
}
