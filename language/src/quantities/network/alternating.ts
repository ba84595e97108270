import { type Derivation, type Result, derive, missing, numberIn, refused } from '../../derivation/index.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { AcSystem, Instance, Run } from '../../model/types.js';
import { type Branch, type Complex, type Load, type Source, solveCircuit } from '../../solve/circuit.js';
import type { KeptPattern } from '../../solve/nodal.js';
import type { QuantityContext } from '../define.js';
import { Joints } from './joints.js';
import type { Solved } from './direct.js';
import { impedanceOf, stretchesOf } from './stretches.js';
import { acrossGear } from '../supply/passage.js';
import {
  type Connection,
  type Leg,
  connect,
  legCurrentOf,
  lowestSupply,
  missingFrom,
  systemOf,
} from '../supply/supply.js';
import { collect } from '../worst.js';
import { alternatingOutputOf, isLoad, takesToCharge } from '../../model/roles.js';
import { query } from '../../model/context.js';
import { chargerInputOn } from '../supply/chargers.js';
import { inputPowerFactor } from '../plant/chargers.js';
import { inputSettingOn } from '../plant/input-setting.js';
import { leftByLoads, loadsBehind } from '../supply/passed-loads.js';

/** A conductor of a run: a leg or phase, or the neutral. */
export type Conductor = Leg | 'N';

export interface AlternatingSolution {
  readonly system: AcSystem;
  /** Volts between two conductors at a node; undefined where one of them does not reach it. */
  readonly voltage: (node: Node, from: Conductor, to: Conductor) => number | undefined;
  /** Amperes in a conductor of a run: the largest of its stretches; 0 where the run does not carry it. */
  readonly current: (run: Run, conductor: Conductor) => number;
  /** Volts of the source, line to neutral, as taken here: at the low end of its tolerance. */
  readonly sourceVoltage: Derivation;
  /** How each consumer stands on the supply. */
  readonly connections: ReadonlyMap<Instance, Connection>;
  /** Whether a node belongs to what the source feeds. */
  readonly reaches: (node: Node) => boolean;
  readonly inputs: readonly Derivation[];
}

const LEGS_OF: Readonly<Record<AcSystem['phases'], readonly Leg[]>> = {
  single: ['L1'],
  split: ['L1', 'L2'],
  three: ['L1', 'L2', 'L3'],
};

/** Direction of the voltage of a leg against neutral: split phase is one winding with its middle brought out. */
function phasor(system: AcSystem, index: number, volts: number): Complex {
  const angle = system.phases === 'split' ? Math.PI * index : (-2 * Math.PI * index) / 3;
  return { re: volts * Math.cos(angle), im: system.phases === 'three' ? volts * Math.sin(angle) : 0 };
}

/** How the equations of what a source feeds stand. */
const PATTERNS = query<Instance, KeptPattern>('equations of an alternating-current network');

/** The solutions of what a source feeds, by state. */
const SOLUTIONS = query<readonly [Instance, SourceState], Solved<AlternatingSolution>>('alternating-current networks');

/**
 * Solves what an AC source or inverter feeds in a source state, with the neutral as a conductor of its own; once for each. Every load
 * draws its power at once, every charger what it takes at its limit; the source stands at the low end of its tolerance.
 */
export function solveAlternating(
  source: Instance,
  state: SourceState,
  circuit: CircuitState,
  context: QuantityContext,
): Solved<AlternatingSolution> {
  return context.keptFor(SOLUTIONS, source, state, () =>
    new AlternatingNetwork(source, circuit, context, state.title).solve(),
  );
}

interface Consumer {
  readonly node: Node;
  readonly connection: Connection;
  /** W and var. */
  readonly active: number;
  readonly reactive: number;
  readonly from: Derivation;
}

class AlternatingNetwork {
  private readonly nodes: ReadonlySet<Node>;
  /** Nodes joined inside gear: transfer gear and passing inverters. */
  private readonly passages: readonly (readonly [Node, Node])[];

  constructor(
    private readonly source: Instance,
    private readonly circuit: CircuitState,
    private readonly context: QuantityContext,
    private readonly stateTitle: string,
  ) {
    const nodes = new Set<Node>();
    const passages: [Node, Node][] = [];
    const start = context.graph.nodes.get(`${source.name}.${alternatingOutputOf(source)}`);
    const queue = start ? [start] : [];
    for (let next = queue.pop(); next; next = queue.pop()) {
      if (nodes.has(next)) continue;
      for (const node of circuit.graph.reach(next).values()) {
        nodes.add(node);
        for (const beyond of acrossGear(node, circuit, context)) {
          passages.push([node, beyond]);
          queue.push(beyond);
        }
      }
    }
    this.nodes = nodes;
    this.passages = passages;
  }

  solve(): Solved<AlternatingSolution> {
    const { source, context } = this;
    const system = systemOf(source);
    const start = context.graph.nodes.get(`${source.name}.${alternatingOutputOf(source)}`);
    if (!system || !start) return { ok: false, result: missing(`voltage of ${source.name}`) };
    const others = [...this.nodes].flatMap((node) => [...(this.circuit.supply.get(node.key) ?? [])]);
    const other = others.find((feeder) => feeder !== source);
    if (other)
      return {
        ok: false,
        result: refused(`${source.name} and ${other.name} feed one network: how they share is open`),
      };
    const consumers = this.consumers();
    if (!consumers.ok) return consumers;
    const legs = LEGS_OF[system.phases];
    const wires = this.wires([...legs, 'N']);
    if (!wires.ok) return wires;

    const key = (node: Node, conductor: Conductor): string => `${node.key} ${conductor}`;
    const joints = new Joints();
    for (const [from, to] of this.passages)
      for (const conductor of [...legs, 'N'] as const) joints.join(key(from, conductor), key(to, conductor));
    for (const { from, to, conductor, resistance, reactance } of wires.solution)
      if (resistance === 0 && reactance === 0) joints.join(key(from, conductor), key(to, conductor));
    joints.number(key(start, 'N'));
    const at = (node: Node, conductor: Conductor): number => joints.number(key(node, conductor));
    const tolerance = context.maybe(source, 'tolerance');
    const volts = system.lineToNeutral * (1 - (tolerance ? numberIn(tolerance, '') : 0));
    const sources = legs.map((leg, index): Source => ({
      positive: at(start, leg),
      negative: 0,
      voltage: phasor(system, index, volts),
      resistance: 0,
    }));
    const live = wires.solution.filter(({ resistance, reactance }) => resistance > 0 || reactance > 0);
    const reached = this.reached(start, [...legs, 'N'], wires.solution, key);
    const branches: Branch[] = [];
    const carried: { run: Run; conductor: Conductor }[] = [];
    for (const { run, from, to, conductor, resistance, reactance } of live) {
      if (!reached.has(key(from, conductor))) continue;
      branches.push({ from: at(from, conductor), to: at(to, conductor), resistance, reactance });
      carried.push({ run, conductor });
    }
    const loads: Load[] = [];
    for (const { node, connection, active, reactive } of consumers.solution) {
      const pairs = pairsOf(connection);
      const lacking = pairs.flat().find((conductor) => !reached.has(key(node, conductor)));
      if (lacking)
        return {
          ok: false,
          result: refused(`${node.instance.name} stands on ${lacking}, which no run brings to it from ${source.name}`),
        };
      for (const [from, to] of pairs)
        loads.push({
          kind: 'power',
          from: at(node, from),
          to: at(node, to),
          active: active / pairs.length,
          reactive: reactive / pairs.length,
        });
    }
    const pattern = context.kept(PATTERNS, source, (): KeptPattern => ({}));
    const solution = solveCircuit({ nodes: joints.count, branches, sources, loads }, pattern);
    if (!solution.solved) {
      const place = [...this.nodes].find((node) =>
        [...legs, 'N' as const].some(
          (conductor) => reached.has(key(node, conductor)) && at(node, conductor) === solution.node,
        ),
      );
      return {
        ok: false,
        ...(place ? { collapsesAt: place } : {}),
        result: refused(
          `what ${source.name} feeds has no steady state with ${this.stateTitle}: the loads demand more than the cables can deliver at ${place?.instance.name ?? source.name}`,
        ),
      };
    }
    const currents = new Map<Run, Map<Conductor, number>>();
    for (const [index, { run, conductor }] of carried.entries()) {
      const { re, im } = solution.branchCurrents[index]!;
      const own = currents.get(run) ?? new Map<Conductor, number>();
      own.set(conductor, Math.max(own.get(conductor) ?? 0, Math.hypot(re, im)));
      currents.set(run, own);
    }
    return {
      ok: true,
      solution: {
        system,
        voltage: (node, from, to) => {
          if (!reached.has(key(node, from)) || !reached.has(key(node, to))) return undefined;
          const [a, b] = [solution.voltages[at(node, from)]!, solution.voltages[at(node, to)]!];
          return Math.hypot(a.re - b.re, a.im - b.im);
        },
        current: (run, conductor) => currents.get(run)?.get(conductor) ?? 0,
        sourceVoltage: derive('lowest source voltage, line to neutral', volts, 'V', {
          symbol: 'U_0',
          formula: 'U·(1 − tolerance)',
          inputs: tolerance ? [tolerance] : [],
          notes: [`${system.text} of ${source.name}`],
        }),
        connections: new Map(consumers.solution.map(({ node, connection }) => [node.instance, connection])),
        reaches: (node) => this.nodes.has(node),
        inputs: consumers.solution.map(({ from }) => from),
      },
    };
  }

  /** The conductors of every stretch with their impedance one way; a run that says its legs carries those and the neutral. */
  private wires(all: readonly Conductor[]): Solved<readonly Wire[]> {
    const { context } = this;
    const runs = new Set([...this.nodes].flatMap((node) => this.circuit.graph.segmentsAt(node).map(({ run }) => run)));
    const wires: Wire[] = [];
    const lacking: Result[] = [];
    for (const run of runs) {
      const stretches = stretchesOf(run, context);
      const whole = impedanceOf(run, context);
      if (!stretches.ok) lacking.push(stretches.result);
      if (!whole.ok) lacking.push(whole.result);
      if (!stretches.ok || !whole.ok) continue;
      const stated = run.properties.get('legs')?.value;
      const carries = (conductor: Conductor): boolean =>
        conductor === 'N' || stated?.type !== 'words' || stated.words.includes(conductor);
      const { resistance, reactance } = whole.impedance;
      for (const { from, to, share } of stretches.stretches)
        for (const conductor of all.filter(carries))
          wires.push({ run, from, to, conductor, resistance: resistance * share, reactance: reactance * share });
    }
    if (lacking.length === 0) return { ok: true, solution: wires };
    const facts = collect(lacking);
    return { ok: false, result: facts.ok ? missing(`facts of the runs behind ${this.source.name}`) : facts.result };
  }

  /** The conductors at nodes that hang together with those of the source. */
  private reached(
    start: Node,
    conductors: readonly Conductor[],
    wires: readonly Wire[],
    key: (node: Node, conductor: Conductor) => string,
  ): ReadonlySet<string> {
    const next = new Map<string, string[]>();
    const link = (a: string, b: string): void => {
      for (const [from, to] of [
        [a, b],
        [b, a],
      ] as const)
        (next.get(from) ?? next.set(from, []).get(from)!).push(to);
    };
    for (const { from, to, conductor } of wires) link(key(from, conductor), key(to, conductor));
    for (const [from, to] of this.passages)
      for (const conductor of conductors) link(key(from, conductor), key(to, conductor));
    const seen = new Set(conductors.map((conductor) => key(start, conductor)));
    const queue = [...seen];
    for (let at = queue.pop(); at !== undefined; at = queue.pop())
      for (const other of next.get(at) ?? [])
        if (!seen.has(other)) {
          seen.add(other);
          queue.push(other);
        }
    return seen;
  }

  /** Loads and chargers as constant power, in the order in which input limits need them: loads first. */
  private consumers(): Solved<readonly Consumer[]> {
    const { context, source } = this;
    const consumers: Consumer[] = [];
    const lacking: Result[] = [];
    const currents = new Map<Instance, Derivation>();
    const nodes = [...this.nodes].sort((a, b) => Number(!isLoad(a.instance)) - Number(!isLoad(b.instance)));
    const system = systemOf(source)!;
    for (const node of nodes) {
      const { instance } = node;
      const isCharger = takesToCharge(node);
      if (!isLoad(instance) && !isCharger) continue;
      const connection = connect(instance, system, context);
      if (missingFrom(connection)) {
        lacking.push(missing(connection.missing));
        continue;
      }
      const all = isCharger
        ? collect([chargerInputOn(instance, source, context).result, inputPowerFactor(instance, context)])
        : collect([context.quantity(instance, 'totalPower'), context.fact(instance, 'powerFactor')]);
      if (!all.ok) {
        lacking.push(all.result);
        continue;
      }
      const [first, factor] = all.derivations as [Derivation, Derivation];
      const cosine = numberIn(factor, '');
      let active: number;
      if (isCharger) {
        const bound = inputSettingOn(instance, source, context);
        const passed = bound ? [...loadsBehind(instance, context)].flatMap((load) => currents.get(load) ?? []) : [];
        const current = bound && passed.length > 0 ? leftByLoads(instance, first, bound, passed, 'A') : first;
        const lowest = numberIn(lowestSupply(connection, source, instance, context), 'V');
        active = numberIn(current, 'A') * connection.factor * lowest * cosine;
      } else {
        active = numberIn(first, 'W');
        currents.set(instance, legCurrentOf('current', first, connection.voltage, factor, connection));
      }
      const reactive = (active * Math.sqrt(Math.max(0, 1 - cosine * cosine))) / cosine;
      consumers.push({ node, connection, active, reactive, from: first });
    }
    const all = collect(lacking);
    return all.ok ? { ok: true, solution: consumers } : { ok: false, result: all.result };
  }
}

interface Wire {
  readonly run: Run;
  readonly from: Node;
  readonly to: Node;
  readonly conductor: Conductor;
  readonly resistance: number;
  readonly reactance: number;
}

/** The pairs of conductors a consumer stands between; three phases as three equal parts to neutral, which balances. */
function pairsOf({ legs }: Connection): readonly (readonly [Conductor, Conductor])[] {
  if (legs.length === 2) return [[legs[0]!, legs[1]!]];
  return legs.map((leg) => [leg, 'N'] as const);
}

/** Volts at a consumer between the conductors it stands on: the lowest of them. */
export function voltageAt(solution: AlternatingSolution, node: Node, connection: Connection): number | undefined {
  const { legs } = connection;
  if (legs.length === 1) return solution.voltage(node, legs[0]!, 'N');
  return lowestLineVoltage(solution, node, legs);
}

/** The lowest voltage between any two legs at a node. */
export function lowestLineVoltage(solution: AlternatingSolution, node: Node, legs: readonly Leg[]): number | undefined {
  let lowest: number | undefined;
  for (const [index, from] of legs.entries())
    for (const to of legs.slice(index + 1)) {
      const volts = solution.voltage(node, from, to);
      if (volts !== undefined && (lowest === undefined || volts < lowest)) lowest = volts;
    }
  return lowest;
}
