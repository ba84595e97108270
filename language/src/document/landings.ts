import type { DesignContext } from '../model/context.js';
import { isLoad } from '../model/roles.js';
import type { Instance, Run, Stop, System } from '../model/types.js';

/** One conductor end: what is landed where. */
export interface Landing {
  readonly thing: Instance;
  readonly terminal: string;
  readonly run: Run;
  /** What lies at the other end of the stretch. */
  readonly towards: readonly Instance[];
  /** The same for all ends of one stretch of a run. */
  readonly stretch: string;
}

/** What is landed in one enclosure; in none where its things do not state one. */
export interface EnclosureLandings {
  readonly enclosure: string | undefined;
  readonly landings: readonly Landing[];
}

/** Enclosure by enclosure, what is connected to which terminal, in the order of the design. What is mounted in none stands last. */
export function landingsByEnclosure(system: System, context: DesignContext): readonly EnclosureLandings[] {
  const all = system.runs.flatMap((run) => landingsOf(run, context));
  const named = [...new Set(system.instances.flatMap((each) => enclosureOf(each) ?? []))];
  const order = new Map(system.instances.map((instance, index) => [instance, index]));
  return [...named, undefined]
    .map((enclosure) => ({
      enclosure,
      landings: all
        .filter(({ thing }) => enclosureOf(thing) === enclosure)
        .sort((a, b) => order.get(a.thing)! - order.get(b.thing)!),
    }))
    .filter(({ landings }) => landings.length > 0);
}

export function enclosureOf({ properties }: Instance): string | undefined {
  const value = properties.get('enclosure')?.value;
  return value?.type === 'text' && value.text.trim() !== '' ? value.text : undefined;
}

/** The ends of a run: both sides of what it leads through, and what it begins and ends at. Loads are landed by their own sheets. */
function landingsOf(run: Run, context: DesignContext): Landing[] {
  const chain: Stop[] = [run.from, ...run.through];
  const ends = run.to.filter(({ instance }) => !isLoad(instance));
  const nameAt = (stop: Stop): string =>
    stop.instance.terminals.length > 1 ? context.graph.nodeOf(stop).terminal.name : '';
  const landing = (stop: Stop, side: string, next: readonly Stop[], stretch: number): Landing => ({
    thing: stop.instance,
    terminal: [nameAt(stop), side].filter(Boolean).join(' '),
    run,
    towards: next.map(({ instance }) => instance),
    stretch: `${run.name} ${stretch}`,
  });
  return [
    ...chain.flatMap((stop, index) => [
      ...(index > 0 ? [landing(stop, 'in', [chain[index - 1]!], index - 1)] : []),
      landing(stop, index > 0 ? 'out' : '', index + 1 < chain.length ? [chain[index + 1]!] : run.to, index),
    ]),
    ...ends.map((stop) => landing(stop, '', [chain.at(-1)!], chain.length - 1)),
  ];
}
