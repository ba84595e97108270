import type { DesignContext } from '../../model/context.js';
import type { CircuitState } from '../../model/network.js';
import { alternatingOutputOf } from '../../model/roles.js';
import type { Instance, Run } from '../../model/types.js';
import type { Lines } from '../../solve/conductor-losses.js';
import { systemOf } from '../supply/supply.js';
import { impedanceOf } from './stretches.js';
import { wayTo } from './ways.js';

/** Something that takes alternating current, and from whom. */
export interface Taker {
  /** Position among the entries of the feed plan, or among the regulators. */
  readonly at: number;
  readonly of: 'entry' | 'charger';
  /** `Lamp.ac`. */
  readonly key: string;
  readonly feeder: Instance;
}

/** The conductors that lose, and whether any that carry current do not state what it takes. */
export interface FoundLines {
  readonly lines: Lines;
  readonly isAnyUnknown: boolean;
}

/** The runs over which each taker is fed, with the resistance of one conductor, warm (75 °C), by the function that judges the drop of voltage. */
export function linesOf(takers: readonly Taker[], circuit: CircuitState, context: DesignContext): FoundLines {
  const lines = new Map<Run, { readonly ohms: number; readonly isThreePhase: boolean; readonly takers: Taker[] }>();
  let isAnyUnknown = false;
  for (const taker of takers) {
    const { graph } = context;
    const [start, end] = [
      graph.nodes.get(`${taker.feeder.name}.${alternatingOutputOf(taker.feeder)}`),
      graph.nodes.get(taker.key),
    ];
    const way = start && end && wayTo(start, end, circuit, context);
    for (const run of way?.runs ?? []) {
      const known = lines.get(run);
      if (known) {
        known.takers.push(taker);
        continue;
      }
      const found = impedanceOf(run, context);
      if (!found.ok) isAnyUnknown = true;
      else if (found.impedance.resistance > 0)
        lines.set(run, {
          ohms: found.impedance.resistance,
          isThreePhase: systemOf(taker.feeder)?.phases === 'three',
          takers: [taker],
        });
    }
  }
  const all = [...lines.values()];
  const of = (what: Taker['of']): { readonly start: Int32Array; readonly list: Int32Array } => {
    const lists = all.map(({ takers: through }) => through.filter((each) => each.of === what).map(({ at }) => at));
    const start = new Int32Array(lists.length + 1);
    lists.forEach((list, line) => (start[line + 1] = start[line]! + list.length));
    return { start, list: Int32Array.from(lists.flat()) };
  };
  const [entries, chargers] = [of('entry'), of('charger')];
  return {
    lines: {
      ohms: Float64Array.from(all, ({ ohms }) => ohms),
      isThreePhase: Uint8Array.from(all, ({ isThreePhase }) => (isThreePhase ? 1 : 0)),
      entryStart: entries.start,
      entry: entries.list,
      chargerStart: chargers.start,
      charger: chargers.list,
    },
    isAnyUnknown,
  };
}
