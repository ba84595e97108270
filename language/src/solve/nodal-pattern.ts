import type { Circuit, Load, Source } from './circuit.js';
import { minimumDegreeElimination } from './sparse.js';

/** A source without impedance against the reference: it sets the voltage of its node. */
export const setsVoltage = ({ negative, resistance, reactance = 0 }: Source): boolean =>
  negative === 0 && resistance === 0 && reactance === 0;

/** A pivot below this share of the largest entry of its column, or of what stood in its place at first, has lost too many digits. */
const PIVOT_SHARE = 1e-6;
const LOST_SHARE = 1e-10;

/**
 * Where the numbers of a network stand while its node equations are solved: which node is which unknown, in which order unknowns are eliminated,
 * and what each step changes. It depends on what is joined to what alone, so that networks whose values differ share it. Every entry is
 * a block of 2 × 2 real numbers, since loads answer differently to the two parts of a voltage.
 */
export class NodalPattern {
  /** For each node its unknown; -1 for the reference and for nodes whose voltage a source sets. */
  readonly unknownOf: Int32Array;
  readonly unknowns: number;
  /** Entries of the factors, the diagonal first. */
  readonly entries: number;
  /** For each branch and source (and load) in this order the entries of its `from`, its `to` and of the two across; -1 for none. */
  readonly stamps: Int32Array;
  /** The ends of branches and sources, two nodes each; behind them those of loads where they count. */
  readonly ends: Int32Array;
  /** Each node with the one from which a walk along branches comes to it, away from the sources and the reference. */
  readonly spread: Int32Array;
  /** Entries by row and column. */
  private readonly entryAt = new Map<number, number>();
  /** For each source whether it sets the voltage of its node. */
  private readonly sets: readonly boolean[];
  private readonly nodes: number;
  /** Unknowns in the order in which they are eliminated, and where the entries of each step begin. */
  private readonly order: Int32Array;
  private readonly start: Int32Array;
  /** Entries below the pivot and to the right of it, by step; the unknown they belong to; what each step changes, one after the other. */
  private readonly lower: Int32Array;
  private readonly upper: Int32Array;
  private readonly other: Int32Array;
  private readonly changed: Int32Array;

  /** `withLoads` where loads join nodes that nothing else does. */
  constructor(
    circuit: Circuit,
    private readonly withLoads: boolean,
  ) {
    this.nodes = circuit.nodes;
    this.ends = endsOf(circuit, withLoads);
    this.sets = circuit.sources.map(setsVoltage);
    this.spread = spreadOf(circuit);
    this.unknownOf = new Int32Array(circuit.nodes);
    this.unknownOf[0] = -1;
    for (const source of circuit.sources) if (setsVoltage(source)) this.unknownOf[source.positive] = -1;
    let unknowns = 0;
    for (let node = 0; node < circuit.nodes; node += 1)
      if (this.unknownOf[node]! >= 0) this.unknownOf[node] = unknowns++;
    this.unknowns = unknowns;

    const pairs: (readonly [number, number])[] = [];
    for (let at = 0; at < this.ends.length; at += 2) {
      const [a, b] = [this.unknownOf[this.ends[at]!]!, this.unknownOf[this.ends[at + 1]!]!];
      if (a >= 0 && b >= 0 && a !== b) pairs.push([a, b]);
    }
    const { order, cliques } = minimumDegreeElimination(unknowns, pairs);
    this.order = order;
    const count = cliques.reduce((sum, clique) => sum + clique.length, 0);
    this.start = new Int32Array(unknowns + 1);
    [this.lower, this.upper, this.other] = [new Int32Array(count), new Int32Array(count), new Int32Array(count)];
    this.changed = new Int32Array(cliques.reduce((sum, { length }) => sum + length * length, 0));
    const { entryAt } = this;
    for (let unknown = 0; unknown < unknowns; unknown += 1) entryAt.set(unknown * unknowns + unknown, unknown);
    let [entries, filled] = [unknowns, 0];
    for (const [step, clique] of cliques.entries()) {
      const pivot = order[step]!;
      for (const other of clique) {
        entryAt.set(other * unknowns + pivot, entries);
        entryAt.set(pivot * unknowns + other, entries + 1);
        [this.lower[filled], this.upper[filled], this.other[filled]] = [entries, entries + 1, other];
        entries += 2;
        filled += 1;
      }
      this.start[step + 1] = filled;
    }
    this.entries = entries;
    let change = 0;
    for (const clique of cliques)
      for (const row of clique)
        for (const column of clique) this.changed[change++] = entryAt.get(row * unknowns + column)!;

    this.stamps = new Int32Array(2 * this.ends.length);
    for (let at = 0; at < this.ends.length; at += 2)
      this.stampOf(this.ends[at]!, this.ends[at + 1]!, this.stamps, 2 * at);
  }

  /** Writes down the entries of what joins two nodes. False where nothing stood between them when the pattern was made. */
  private stampOf(from: number, to: number, stamps: Int32Array, at: number): boolean {
    const [a, b] = [this.unknownOf[from]!, this.unknownOf[to]!];
    stamps.fill(-1, at, at + 4);
    // What leads back to its own node carries nothing into it.
    if (a === b) return true;
    stamps[at] = a;
    stamps[at + 1] = b;
    if (a < 0 || b < 0) return true;
    const across = this.entryAt.get(a * this.unknowns + b);
    if (across === undefined) return false;
    stamps[at + 2] = across;
    stamps[at + 3] = this.entryAt.get(b * this.unknowns + a)!;
    return true;
  }

  /** The entries of loads, as those of branches; undefined where one stands between nodes that nothing joined before. */
  stampsOf(loads: readonly Load[]): Int32Array | undefined {
    const stamps = new Int32Array(4 * loads.length);
    for (let index = 0; index < loads.length; index += 1) {
      const { from, to } = loads[index]!;
      if (!this.stampOf(from, to, stamps, 4 * index)) return undefined;
    }
    return stamps;
  }

  /** Whether a network is joined in the same way. */
  fits(circuit: Circuit): boolean {
    if (circuit.nodes !== this.nodes || circuit.sources.length !== this.sets.length) return false;
    const ends = endsOf(circuit, this.withLoads);
    if (ends.length !== this.ends.length) return false;
    for (let at = 0; at < ends.length; at += 1) if (ends[at] !== this.ends[at]) return false;
    return circuit.sources.every((source, index) => setsVoltage(source) === this.sets[index]);
  }

  /** Factorises the entries in place; false where a pivot is too small to be divided by. */
  factorise(values: Float64Array): boolean {
    const { order, start, lower, upper, changed } = this;
    const first = Float64Array.from({ length: order.length }, (_, unknown) => largestOf(values, 4 * unknown));
    let change = 0;
    for (let step = 0; step < order.length; step += 1) {
      const pivot = 4 * order[step]!;
      const a = values[pivot]!;
      const b = values[pivot + 1]!;
      const c = values[pivot + 2]!;
      const d = values[pivot + 3]!;
      const determinant = a * d - b * c;
      const from = start[step]!;
      const to = start[step + 1]!;
      let least = LOST_SHARE * first[order[step]!]!;
      for (let at = from; at < to; at += 1) least = Math.max(least, PIVOT_SHARE * largestOf(values, 4 * lower[at]!));
      // Written so that what is not a number is refused as well.
      if (!(Math.abs(determinant) > least * least)) return false;
      const p = d / determinant;
      const q = -b / determinant;
      const r = -c / determinant;
      const s = a / determinant;
      values[pivot] = p;
      values[pivot + 1] = q;
      values[pivot + 2] = r;
      values[pivot + 3] = s;
      for (let at = from; at < to; at += 1) {
        const entry = 4 * lower[at]!;
        const e = values[entry]!;
        const f = values[entry + 1]!;
        const g = values[entry + 2]!;
        const h = values[entry + 3]!;
        const k = e * p + f * r;
        const l = e * q + f * s;
        const m = g * p + h * r;
        const n = g * q + h * s;
        values[entry] = k;
        values[entry + 1] = l;
        values[entry + 2] = m;
        values[entry + 3] = n;
        for (let beside = from; beside < to; beside += 1) {
          const right = 4 * upper[beside]!;
          const t = values[right]!;
          const u = values[right + 1]!;
          const v = values[right + 2]!;
          const w = values[right + 3]!;
          const into = 4 * changed[change++]!;
          values[into]! -= k * t + l * v;
          values[into + 1]! -= k * u + l * w;
          values[into + 2]! -= m * t + n * v;
          values[into + 3]! -= m * u + n * w;
        }
      }
    }
    return true;
  }

  /** Solves for a right-hand side, in its place: two real numbers for each unknown. */
  solve(values: Float64Array, side: Float64Array): void {
    const { order, start, lower, upper, other } = this;
    for (let step = 0; step < order.length; step += 1) {
      const pivot = 2 * order[step]!;
      const re = side[pivot]!;
      const im = side[pivot + 1]!;
      if (re === 0 && im === 0) continue;
      for (let at = start[step]!; at < start[step + 1]!; at += 1) {
        const entry = 4 * lower[at]!;
        const into = 2 * other[at]!;
        side[into]! -= values[entry]! * re + values[entry + 1]! * im;
        side[into + 1]! -= values[entry + 2]! * re + values[entry + 3]! * im;
      }
    }
    for (let step = order.length - 1; step >= 0; step -= 1) {
      const pivot = order[step]!;
      let re = side[2 * pivot]!;
      let im = side[2 * pivot + 1]!;
      for (let at = start[step]!; at < start[step + 1]!; at += 1) {
        const entry = 4 * upper[at]!;
        const from = 2 * other[at]!;
        re -= values[entry]! * side[from]! + values[entry + 1]! * side[from + 1]!;
        im -= values[entry + 2]! * side[from]! + values[entry + 3]! * side[from + 1]!;
      }
      const entry = 4 * pivot;
      side[2 * pivot] = values[entry]! * re + values[entry + 1]! * im;
      side[2 * pivot + 1] = values[entry + 2]! * re + values[entry + 3]! * im;
    }
  }
}

const largestOf = (values: Float64Array, at: number): number =>
  Math.max(Math.abs(values[at]!), Math.abs(values[at + 1]!), Math.abs(values[at + 2]!), Math.abs(values[at + 3]!));

function spreadOf({ nodes, branches, sources }: Circuit): Int32Array {
  const beside: number[][] = Array.from({ length: nodes }, () => []);
  for (const { from, to } of branches) {
    beside[from]!.push(to);
    beside[to]!.push(from);
  }
  const starts = sources.flatMap(({ positive, negative }) => (negative === 0 ? [positive] : []));
  const reached = new Set([...starts, 0]);
  const pairs: number[] = [];
  // What is added while they are gone through is gone through behind them.
  for (const from of reached)
    for (const node of beside[from]!) {
      if (reached.has(node)) continue;
      reached.add(node);
      pairs.push(node, from);
    }
  return Int32Array.from(pairs);
}

/** The ends of branches and sources, and of loads where they count, two numbers each. */
function endsOf({ branches, sources, loads }: Circuit, withLoads: boolean): Int32Array {
  const ends = new Int32Array(2 * (branches.length + sources.length + (withLoads ? loads.length : 0)));
  let at = 0;
  for (const { from, to } of branches) {
    ends[at++] = from;
    ends[at++] = to;
  }
  for (const { positive, negative } of sources) {
    ends[at++] = positive;
    ends[at++] = negative;
  }
  for (const { from, to } of withLoads ? loads : []) {
    ends[at++] = from;
    ends[at++] = to;
  }
  return ends;
}
