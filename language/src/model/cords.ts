/** Supplies that exclude each other: of the cords that lead to an inlet that takes one at a time, one is plugged in. */
import type { Node, Segment, Wiring } from './graph.js';
import {
  chargingOf,
  interlockOf,
  invertingOf,
  isAcSource,
  isDcSource,
  passingOf,
  sourceOf,
  takesOneCord,
} from './roles.js';
import type { Instance, Run, System } from './types.js';

/** One of the cords that can be plugged into an inlet, or one of the ways that an interlock lets be closed. */
export interface Cord {
  readonly run: Run;
  readonly inlet: Instance;
  /** The stretch that ends at the inlet: open while another cord is plugged in. */
  readonly segment: Segment;
  /** The AC sources it can bring; none where it brings what an inverter makes. */
  readonly sources: readonly Instance[];
  /** The DC sources it can bring. */
  readonly charging: readonly Instance[];
}

/** An inlet that takes one cord at a time, with those that lead to it in the order of the text; or breakers of which one is closed. */
export interface Inlet {
  readonly at: Instance;
  readonly cords: readonly Cord[];
  /** The name of the interlock, where it is one. */
  readonly interlock?: string;
}

/**
 * The inlets of a design that take one cord at a time, and its interlocks. A cord is what a run brings that ends at the inlet: the wiring
 * behind it is written as a run that starts there, and stays joined to it whatever is plugged in, so that a source of its own still meets
 * the supply.
 */
export const inletsOf = (system: System, wiring: Wiring): Inlet[] => [
  ...inletsAmong(system.instances.filter(takesOneCord), wiring),
  ...interlocksOf(system.instances, wiring),
];

/** The inlets that these things are, or would be if they said that they take one cord at a time. */
export function inletsAmong(things: readonly Instance[], wiring: Wiring): Inlet[] {
  return things.flatMap((at) => {
    const segments = wiring.nodesOf(at).flatMap((node) => wiring.segmentsAt(node));
    if (!segments.some(({ from }) => from.instance === at)) return [];
    const cords = segments
      .filter(({ from, to }) => to.instance === at && from.instance !== at)
      .flatMap((segment): Cord[] => {
        const { isSupply, ...brought } = broughtFrom(segment.from, new Set([at]), wiring);
        return isSupply ? [{ run: segment.run, inlet: at, segment, ...brought }] : [];
      });
    return cords.length > 1 ? [{ at, cords }] : [];
  });
}

/** The interlocks among some things, each with the stretches behind its breakers: those away from the supplies, where they meet. */
function interlocksOf(things: readonly Instance[], wiring: Wiring): Inlet[] {
  const byName = new Map<string, Instance[]>();
  for (const thing of things) {
    const name = interlockOf(thing);
    if (name !== undefined) byName.set(name, [...(byName.get(name) ?? []), thing]);
  }
  return [...byName].flatMap(([interlock, members]) => {
    const [at] = members;
    const cords = members.flatMap((member) => {
      const ways = wiring.nodesOf(member).flatMap((node) =>
        wiring.segmentsAt(node).map((segment) => ({
          segment,
          ...broughtFrom(segment.from === node ? segment.to : segment.from, new Set(members), wiring),
        })),
      );
      const supply =
        ways.find(({ sources, charging }) => sources.length + charging.length > 0) ??
        ways.find(({ isSupply }) => isSupply);
      if (!supply) return [];
      const beyond = ways.filter((way) => way !== supply);
      const { segment } = beyond.length === 1 ? beyond[0]! : supply;
      const { sources, charging } = supply;
      return [{ run: segment.run, inlet: at!, segment, sources, charging }];
    });
    return cords.length > 1 ? [{ at: at!, cords, interlock }] : [];
  });
}

/** What comes from a node: followed away from the inlet, through transfer gear, inverters that pass a supply on, and chargers. */
function broughtFrom(
  start: Node,
  ends: ReadonlySet<Instance>,
  wiring: Wiring,
): Pick<Cord, 'sources' | 'charging'> & { readonly isSupply: boolean } {
  const seen = new Set<Node>([start]);
  const queue = [start];
  const [sources, charging] = [new Set<Instance>(), new Set<Instance>()];
  let isSupply = false;
  for (let node = queue.pop(); node; node = queue.pop()) {
    const { instance, terminal } = node;
    if (ends.has(instance)) continue;
    if (sourceOf(instance)?.at === terminal.name) {
      if (isAcSource(instance)) sources.add(instance);
      else if (isDcSource(instance)) charging.add(instance);
    }
    if (invertingOf(instance)?.to === terminal.name) isSupply = true;
    const beyond = [
      ...wiring.segmentsAt(node).map(({ from, to }) => (from === node ? to : from)),
      ...insideOf(instance, terminal.name).flatMap((name) => wiring.nodes.get(`${instance.name}.${name}`) ?? []),
    ];
    for (const each of beyond) {
      if (seen.has(each)) continue;
      seen.add(each);
      queue.push(each);
    }
  }
  return {
    sources: [...sources],
    charging: [...charging],
    isSupply: isSupply || sources.size > 0 || charging.size > 0,
  };
}

/** The terminals from which what comes out of one is led through a thing: passed on, or of a charger by the sun behind it. */
function insideOf(instance: Instance, terminal: string): readonly string[] {
  const passes = passingOf(instance);
  if (passes?.to === terminal) return passes.from;
  const charger = chargingOf(instance);
  return charger?.at === terminal && charger.supply.kind === 'array' ? [charger.supply.at] : [];
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
