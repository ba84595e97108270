import { type DesignContext, query } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Run } from '../../model/types.js';
import { impedanceOf } from '../network/stretches.js';
import type { Facts } from './facts.js';
import { chargesAt, isArray, isBank, isBusCharger, isJoint, takesToConvert, takesToInvert } from '../../model/roles.js';

type Island = ReadonlyMap<string, Node>;

/** A terminal that makes a direct-current network a bus of the play: all but the array side of charge controllers. */
const holdsBus = (node: Node): boolean =>
  isBank(node.instance) ||
  takesToInvert(node) ||
  takesToConvert(node) ||
  (chargesAt(node) && !isBusCharger(node.instance) && !isArray(node.instance));

/** The direct-current buses of a design: networks of conductors that banks, converters and loads share. */
export class Buses {
  readonly islands: Island[] = [];
  private readonly indexOf = new Map<Island, number>();
  private readonly distances = new Map<number, ReadonlyMap<string, ReadonlySet<Run>>>();

  constructor(
    private readonly context: DesignContext,
    private readonly facts: Facts,
  ) {
    for (const node of context.graph.nodes.values()) {
      if (!holdsBus(node)) continue;
      const island = context.graph.reach(node);
      if (this.indexOf.has(island)) continue;
      this.indexOf.set(island, this.islands.length);
      this.islands.push(island);
    }
  }

  /** The bus a terminal lies on; −1 for none. */
  of(instance: Instance, terminal: string): number {
    const node = this.context.graph.nodes.get(`${instance.name}.${terminal}`);
    return node ? (this.indexOf.get(this.context.graph.reach(node)) ?? -1) : -1;
  }

  /** The bus that anything of a thing lies on; −1 for none. */
  ofAny(instance: Instance): number {
    for (const { name } of instance.terminals) {
      const bus = this.of(instance, name);
      if (bus >= 0) return bus;
    }
    return -1;
  }

  things(bus: number): Instance[] {
    return [...new Set([...this.islands[bus]!.values()].map(({ instance }) => instance))];
  }

  /** Ohm out and back between a terminal and the point where the bus comes together: its first bus bar, else its first bank. */
  leads(instance: Instance, terminal: string): number {
    const bus = this.of(instance, terminal);
    if (bus < 0) return 0;
    let runs = this.distances.get(bus);
    if (!runs) this.distances.set(bus, (runs = this.runsFrom(bus)));
    let sum = 0;
    for (const run of runs.get(`${instance.name}.${terminal}`) ?? []) sum += this.loopOf(run);
    return sum;
  }

  /** Ohm out and back between two terminals of a network that is no bus by itself, such as behind a converter. */
  between(from: Node, to: Node): number {
    const runs = this.runsOn([...this.context.graph.reach(from).values()], from).get(to.key);
    return [...(runs ?? [])].reduce((sum, run) => sum + this.loopOf(run), 0);
  }

  private loopOf(run: Run): number {
    return this.context.keptFor(LOOPS, run, this, () => {
      const found = impedanceOf(run, this.context);
      if (!found.ok) this.facts.assume(`${run.name} is taken without resistance: its size or length is not stated`);
      return found.ok ? 2 * found.impedance.resistance : 0;
    });
  }

  /** For each node of a bus, the runs on the way to its middle. */
  private runsFrom(bus: number): ReadonlyMap<string, ReadonlySet<Run>> {
    const nodes = [...this.islands[bus]!.values()];
    const middle =
      nodes.find(({ instance }) => isJoint(instance)) ?? nodes.find(({ instance }) => isBank(instance)) ?? nodes[0]!;
    return this.runsOn(nodes, middle);
  }

  /** For each node of a network, the runs on the way to one of them. */
  private runsOn(nodes: readonly Node[], middle: Node): ReadonlyMap<string, ReadonlySet<Run>> {
    const known = new Set(nodes.map(({ key }) => key));
    const found = new Map<string, ReadonlySet<Run>>([[middle.key, new Set()]]);
    const queue = [middle];
    for (let node = queue.shift(); node; node = queue.shift()) {
      const here = found.get(node.key)!;
      for (const { run, from, to } of this.context.graph.segmentsAt(node)) {
        const other = from === node ? to : from;
        if (found.has(other.key) || !known.has(other.key)) continue;
        found.set(other.key, here.has(run) ? here : new Set([...here, run]));
        queue.push(other);
      }
    }
    return found;
  }
}

const LOOPS = query<readonly [Run, Buses], number>('ohm out and back of a run on a bus');

const BUSES = query<'all', Buses>('direct-current buses of a design');

/** The buses of a design, made once. Runs without resistance are noted where they are first asked for. */
export const busesOf = (context: DesignContext, facts: Facts): Buses =>
  context.kept(BUSES, 'all', () => new Buses(context, facts));
