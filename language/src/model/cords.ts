/** Supplies that exclude each other: of the cords that lead to an inlet that takes one at a time, one is plugged in. */
import type { Node, Segment, Wiring } from './graph.js';
import { invertingOf, isAcSource, passingOf, sourceOf, takesOneCord } from './roles.js';
import type { Instance, Run, System } from './types.js';

/** One of the cords that can be plugged into an inlet. */
export interface Cord {
  readonly run: Run;
  readonly inlet: Instance;
  /** The stretch that ends at the inlet: open while another cord is plugged in. */
  readonly segment: Segment;
  /** The AC sources it can bring; none where it brings what an inverter makes. */
  readonly sources: readonly Instance[];
}

/** An inlet that takes one cord at a time, with those that lead to it in the order of the text. */
export interface Inlet {
  readonly at: Instance;
  readonly cords: readonly Cord[];
}

/**
 * The inlets of a design that take one cord at a time. A cord is what a run brings that ends at the inlet: the wiring behind it is written as
 * a run that starts there, and stays joined to it whatever is plugged in, so that a source of its own still meets the supply.
 */
export const inletsOf = (system: System, wiring: Wiring): Inlet[] =>
  inletsAmong(system.instances.filter(takesOneCord), wiring);

/** The inlets that these things are, or would be if they said that they take one cord at a time. */
export function inletsAmong(things: readonly Instance[], wiring: Wiring): Inlet[] {
  return things.flatMap((at) => {
    const segments = wiring.nodesOf(at).flatMap((node) => wiring.segmentsAt(node));
    if (!segments.some(({ from }) => from.instance === at)) return [];
    const cords = segments
      .filter(({ from, to }) => to.instance === at && from.instance !== at)
      .flatMap((segment): Cord[] => {
        const { sources, isSupply } = broughtTo(segment, at, wiring);
        return isSupply ? [{ run: segment.run, inlet: at, segment, sources }] : [];
      });
    return cords.length > 1 ? [{ at, cords }] : [];
  });
}

/** What comes over a stretch of run: followed away from the inlet, through transfer gear and inverters that pass a supply on. */
function broughtTo(
  segment: Segment,
  inlet: Instance,
  wiring: Wiring,
): { readonly sources: readonly Instance[]; readonly isSupply: boolean } {
  const seen = new Set<Node>([segment.from]);
  const queue = [segment.from];
  const sources = new Set<Instance>();
  let isSupply = false;
  for (let node = queue.pop(); node; node = queue.pop()) {
    const { instance, terminal } = node;
    if (instance === inlet) continue;
    if (isAcSource(instance) && sourceOf(instance)!.at === terminal.name) sources.add(instance);
    if (invertingOf(instance)?.to === terminal.name) isSupply = true;
    const passes = passingOf(instance);
    const inside = passes?.to === terminal.name ? passes.from : [];
    const beyond = [
      ...wiring.segmentsAt(node).map(({ from, to }) => (from === node ? to : from)),
      ...inside.flatMap((name) => wiring.nodes.get(`${instance.name}.${name}`) ?? []),
    ];
    for (const each of beyond) {
      if (seen.has(each)) continue;
      seen.add(each);
      queue.push(each);
    }
  }
  return { sources: [...sources], isSupply: isSupply || sources.size > 0 };
}

/** Which cords may be plugged in while some AC sources are there: those that bring one of them, else those that bring what an inverter makes. */
function fitting({ cords }: Inlet, sources: readonly Instance[]): readonly Cord[] {
  const bringing = cords.filter((cord) => cord.sources.some((source) => sources.includes(source)));
  return bringing.length > 0 ? bringing : cords.filter((cord) => cord.sources.length === 0);
}

/**
 * The ways in which cords are plugged in while some AC sources are there. Each cord that fits is plugged in in one of them; with several
 * inlets not every cord of one meets every cord of the others, so that there are no more ways than the inlet with the most cords has.
 */
export function waysPlugged(inlets: readonly Inlet[], sources: readonly Instance[]): (readonly Cord[])[] {
  const choices = inlets.map((inlet) => fitting(inlet, sources)).filter((cords) => cords.length > 0);
  const count = Math.max(1, ...choices.map(({ length }) => length));
  return Array.from({ length: count }, (_, way) => choices.map((cords) => cords[way % cords.length]!));
}
