import type { Circuit, Complex, Solution } from './circuit.js';
import { NodalPattern, setsVoltage } from './nodal-pattern.js';

/**
 * What is kept from one solution of a network to the next: how it is joined, without its loads, and with them where they join what nothing else
 * does. Which of the two is used follows from the network alone, so that a solution is the same whatever was solved before.
 */
export interface KeptPattern {
  bare?: NodalPattern;
  loaded?: NodalPattern;
}

/** Steps after which the search counts as not converging; it takes four or five where there is a solution in reach. */
const MOST_ITERATIONS = 30;
/** Volts by which a step may still change the solution, relative to the largest source. */
export const STEP_TOLERANCE = 1e-12;
/** Steps this small that no longer shrink are rounding. */
export const ROUNDING_TOLERANCE = 1e-8;
/** Amperes of mismatch left at a node, relative to the largest current. */
export const BALANCE_TOLERANCE = 1e-10;
/** A source behind less than this, ohm, would be lost in rounding beside the others: its current has to be an unknown of its own. */
const LEAST_OHMS = 1e-5;

/**
 * The solution of a network by the voltages of its nodes alone, with the order of elimination kept from one solution to the next; undefined
 * where that is not certain to work (sources without impedance between nodes, pivots that are too small, no convergence): then the
 * equations have to be solved with the currents of the sources as unknowns.
 */
export function solveNodal(circuit: Circuit, kept: KeptPattern = {}): Solution | undefined {
  const { sources } = circuit;
  const setting = sources.filter(setsVoltage);
  if (new Set(setting.map(({ positive }) => positive)).size < setting.length) return undefined;
  if (setting.some(({ positive }) => positive === 0)) return undefined;
  const isSoft = ({ resistance, reactance = 0 }: { resistance: number; reactance?: number }): boolean =>
    Math.hypot(resistance, reactance) >= LEAST_OHMS;
  if (!sources.every((source) => setsVoltage(source) || isSoft(source)) || !circuit.branches.every(isSoft))
    return undefined;
  if (!kept.bare?.fits(circuit)) kept.bare = new NodalPattern(circuit, false);
  const stamps = kept.bare.stampsOf(circuit.loads);
  if (stamps) return new NodalNewton(circuit, kept.bare, stamps).solve();
  if (!kept.loaded?.fits(circuit)) kept.loaded = new NodalPattern(circuit, true);
  return new NodalNewton(circuit, kept.loaded, kept.loaded.stampsOf(circuit.loads)!).solve();
}

/** Siemens of everything with an impedance, in parts, and the voltages of nodes as they are found. */
class NodalNewton {
  private readonly re: Float64Array;
  private readonly im: Float64Array;
  /** Siemens of branches, then of sources; 0 for a source that sets the voltage of its node. */
  private readonly conductance: Float64Array;
  private readonly susceptance: Float64Array;
  /** Matrix without loads. */
  private readonly fixed: Float64Array;
  private readonly residual: Float64Array;
  private readonly scale: number;

  constructor(
    private readonly circuit: Circuit,
    private readonly pattern: NodalPattern,
    private readonly loadStamps: Int32Array,
  ) {
    const { branches, sources, nodes } = circuit;
    [this.re, this.im] = [new Float64Array(nodes), new Float64Array(nodes)];
    this.conductance = new Float64Array(branches.length + sources.length);
    this.susceptance = new Float64Array(this.conductance.length);
    for (let at = 0; at < this.conductance.length; at += 1) {
      const { resistance, reactance = 0 } = branches[at] ?? sources[at - branches.length]!;
      const square = resistance * resistance + reactance * reactance;
      if (square === 0) continue;
      this.conductance[at] = resistance / square;
      this.susceptance[at] = -reactance / square;
    }
    this.scale = 1e-9;
    for (const { voltage } of sources) this.scale = Math.max(this.scale, Math.hypot(voltage.re, voltage.im));
    this.start();
    this.residual = new Float64Array(2 * pattern.unknowns);
    this.fixed = new Float64Array(4 * pattern.entries);
    for (let at = 0; at < this.conductance.length; at += 1) {
      const g = this.conductance[at]!;
      const b = this.susceptance[at]!;
      if (g !== 0 || b !== 0) stamp(this.fixed, pattern.stamps, at, g, -b, b, g);
    }
  }

  /**
   * Every node at the voltage of the source that it is joined to: what nothing loads then stands at it to the last bit, and no current is
   * found where none flows.
   */
  private start(): void {
    const { re, im } = this;
    const { spread } = this.pattern;
    const { sources } = this.circuit;
    const soft = sources.filter((source) => source.negative === 0 && !setsVoltage(source));
    for (const { positive, voltage } of [...soft.toReversed(), ...sources.filter(setsVoltage)]) {
      re[positive] = voltage.re;
      im[positive] = voltage.im;
    }
    for (let at = 0; at < spread.length; at += 2) {
      re[spread[at]!] = re[spread[at + 1]!]!;
      im[spread[at]!] = im[spread[at + 1]!]!;
    }
  }

  solve(): Solution | undefined {
    const { pattern, residual, re, im } = this;
    const { loads, nodes } = this.circuit;
    const { unknownOf } = pattern;
    let before = Infinity;
    for (let iteration = 1; iteration <= MOST_ITERATIONS; iteration += 1) {
      // The first step leaves loads out and gives the voltages to start from.
      const withLoads = iteration > 1;
      this.balance(withLoads);
      const values = this.fixed.slice();
      if (withLoads) this.stampLoads(values);
      if (!pattern.factorise(values)) return undefined;
      pattern.solve(values, residual);
      const length = withLoads ? this.damping() : 1;
      let change = 0;
      for (let node = 1; node < nodes; node += 1) {
        const unknown = unknownOf[node]!;
        if (unknown < 0) continue;
        const byRe = residual[2 * unknown]! * length;
        const byIm = residual[2 * unknown + 1]! * length;
        re[node]! -= byRe;
        im[node]! -= byIm;
        change = Math.max(change, Math.abs(byRe), Math.abs(byIm));
      }
      if (!Number.isFinite(change)) return undefined;
      if (!withLoads) {
        if (loads.length === 0) return this.isBalanced() ? this.result(iteration) : undefined;
        continue;
      }
      const isSmall = change <= STEP_TOLERANCE * this.scale;
      const isRounding = change <= ROUNDING_TOLERANCE * this.scale && change >= before / 2;
      if (length === 1 && (isSmall || isRounding) && this.isBalanced()) return this.result(iteration);
      before = change;
    }
    return undefined;
  }

  /** What flows out of each unknown node, A, into `residual`. Answers the largest current. */
  private balance(withLoads: boolean): number {
    const { residual, re, im, conductance, susceptance } = this;
    const { branches, sources, loads } = this.circuit;
    const { ends } = this.pattern;
    residual.fill(0);
    let most = 0;
    for (let at = 0; at < conductance.length; at += 1) {
      const g = conductance[at]!;
      const b = susceptance[at]!;
      if (g === 0 && b === 0) continue;
      const from = ends[2 * at]!;
      const to = ends[2 * at + 1]!;
      let x = re[from]! - re[to]!;
      let y = im[from]! - im[to]!;
      if (at >= branches.length) {
        const { voltage } = sources[at - branches.length]!;
        x -= voltage.re;
        y -= voltage.im;
      }
      most = Math.max(most, this.flow(from, to, x * g - y * b, y * g + x * b));
    }
    if (withLoads)
      for (const load of loads) {
        const current = this.loadCurrent(load);
        most = Math.max(most, this.flow(load.from, load.to, current.re, current.im));
      }
    return most;
  }

  private flow(from: number, to: number, x: number, y: number): number {
    const { unknownOf } = this.pattern;
    const a = 2 * unknownOf[from]!;
    const b = 2 * unknownOf[to]!;
    if (a >= 0) {
      this.residual[a]! += x;
      this.residual[a + 1]! += y;
    }
    if (b >= 0) {
      this.residual[b]! -= x;
      this.residual[b + 1]! -= y;
    }
    return Math.max(Math.abs(x), Math.abs(y));
  }

  private loadCurrent(load: Circuit['loads'][number]): Complex {
    const x = this.re[load.from]! - this.re[load.to]!;
    const y = this.im[load.from]! - this.im[load.to]!;
    const square = x * x + y * y;
    if (square === 0) return { re: 0, im: 0 };
    if (load.kind === 'current') {
      const size = Math.sqrt(square);
      return { re: (load.current * x) / size, im: (load.current * y) / size };
    }
    const reactive = load.reactive ?? 0;
    // I = conj(S / V)
    return { re: (load.active * x + reactive * y) / square, im: (load.active * y - reactive * x) / square };
  }

  private stampLoads(values: Float64Array): void {
    const { loadStamps } = this;
    const { loads } = this.circuit;
    for (let index = 0; index < loads.length; index += 1) {
      const load = loads[index]!;
      const x = this.re[load.from]! - this.re[load.to]!;
      const y = this.im[load.from]! - this.im[load.to]!;
      const square = x * x + y * y;
      if (square === 0) continue;
      if (load.kind === 'current') {
        const cube = square * Math.sqrt(square);
        const across = (-load.current * x * y) / cube;
        stamp(values, loadStamps, index, (load.current * y * y) / cube, across, across, (load.current * x * x) / cube);
        continue;
      }
      const [p, q] = [load.active, load.reactive ?? 0];
      const fourth = square * square;
      const real = p * x + q * y;
      const imaginary = p * y - q * x;
      stamp(
        values,
        loadStamps,
        index,
        (p * square - 2 * x * real) / fourth,
        (q * square - 2 * y * real) / fourth,
        (-q * square - 2 * x * imaginary) / fourth,
        (p * square - 2 * y * imaginary) / fourth,
      );
    }
  }

  /** Shortens a step that would take a load's voltage through zero, where constant power has no meaning. */
  private damping(): number {
    const { residual, re, im } = this;
    const { unknownOf } = this.pattern;
    const stepOf = (node: number, part: 0 | 1): number =>
      unknownOf[node]! < 0 ? 0 : residual[2 * unknownOf[node]! + part]!;
    let length = 1;
    for (const { kind, from, to } of this.circuit.loads) {
      if (kind !== 'power') continue;
      const x = re[from]! - re[to]!;
      const y = im[from]! - im[to]!;
      const byX = stepOf(from, 0) - stepOf(to, 0);
      const byY = stepOf(from, 1) - stepOf(to, 1);
      const share = (byX * byX + byY * byY) / (x * x + y * y);
      if (share > 0.25) length = Math.min(length, 0.5 / Math.sqrt(share));
    }
    return length;
  }

  private isBalanced(): boolean {
    const { loads, branches } = this.circuit;
    const most = Math.max(1e-12, this.balance(loads.length > 0));
    const limit = BALANCE_TOLERANCE * most * Math.max(1, branches.length);
    return this.residual.every((left) => Math.abs(left) <= limit);
  }

  /** With `residual` as the balance of the solution left it. */
  private result(iterations: number): Solution {
    const { re, im, conductance, susceptance } = this;
    const { nodes, branches, sources, loads } = this.circuit;
    const voltages: Complex[] = new Array<Complex>(nodes);
    for (let node = 0; node < nodes; node += 1) voltages[node] = { re: re[node]!, im: im[node]! };
    const through = (from: number, to: number, at: number, by: Complex): Complex => {
      const [x, y] = [by.re - re[from]! + re[to]!, by.im - im[from]! + im[to]!];
      const [g, b] = [conductance[at]!, susceptance[at]!];
      return { re: x * g - y * b, im: y * g + x * b };
    };
    const none: Complex = { re: 0, im: 0 };
    const branchCurrents = branches.map(({ from, to }, at) => through(to, from, at, none));
    const loadCurrents = loads.map((load) => this.loadCurrent(load));
    const sourceCurrents = sources.map(({ positive, negative, voltage }, index) =>
      through(positive, negative, branches.length + index, voltage),
    );
    this.giveBySetting(branchCurrents, sourceCurrents, loadCurrents);
    return { solved: true, voltages, branchCurrents, sourceCurrents, loadCurrents, iterations };
  }

  /** A source that sets the voltage of its node gives all that leaves it. */
  private giveBySetting(branch: readonly Complex[], source: Complex[], load: readonly Complex[]): void {
    const { branches, sources, loads } = this.circuit;
    const setting = new Map(
      sources.flatMap((each, index) => (setsVoltage(each) ? [[each.positive, index]] : [])) as [number, number][],
    );
    if (setting.size === 0) return;
    const sums = new Map([...setting].map(([node]) => [node, { re: 0, im: 0 }]));
    const leaves = (node: number, sign: 1 | -1, { re, im }: Complex): void => {
      const sum = sums.get(node);
      if (!sum) return;
      sum.re += sign * re;
      sum.im += sign * im;
    };
    const both = (from: number, to: number, current: Complex): void => {
      leaves(from, 1, current);
      leaves(to, -1, current);
    };
    for (const [at, { from, to }] of branches.entries()) both(from, to, branch[at]!);
    for (const [at, { from, to }] of loads.entries()) both(from, to, load[at]!);
    for (const [at, each] of sources.entries()) if (!setsVoltage(each)) both(each.negative, each.positive, source[at]!);
    for (const [node, index] of setting) source[index] = sums.get(node)!;
  }
}

/** Adds the derivative of a current by the voltage across what it flows through, as a real block. */
function stamp(
  values: Float64Array,
  stamps: Int32Array,
  at: number,
  rr: number,
  ri: number,
  ir: number,
  ii: number,
): void {
  for (let place = 0; place < 4; place += 1) {
    const entry = 4 * stamps[4 * at + place]!;
    if (entry < 0) continue;
    const sign = place < 2 ? 1 : -1;
    values[entry]! += sign * rr;
    values[entry + 1]! += sign * ri;
    values[entry + 2]! += sign * ir;
    values[entry + 3]! += sign * ii;
  }
}
