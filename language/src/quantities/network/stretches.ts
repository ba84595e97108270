import {
  type Derivation,
  type Result,
  derive,
  deriveFact,
  deriveQuantity,
  missing,
  numberIn,
} from '../../derivation/index.js';
import { callFunction } from '../../calculate/index.js';
import { query } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Run, Stop } from '../../model/types.js';
import { CONDUITS, iecVoltageDrop, necImpedance, rowAtSize } from '../../reference/index.js';
import { conductorFacts, parallelOf, racewayOf } from '../conductors/conductor-facts.js';
import type { QuantityContext } from '../define.js';
import { collect } from '../worst.js';
import { calculation } from '../calculation.js';

/** A piece of a run between two neighbouring stops, as a share of the run's length. */
export interface Stretch {
  readonly run: Run;
  readonly from: Node;
  readonly to: Node;
  /** Share of the run's length, 0 to 1; 0 for gear mounted directly on its neighbour. */
  readonly share: number;
}

/**
 * The stretches of a run. Gear whose distance is not stated lies anywhere between its neighbours: where nothing else is joined to it,
 * its place changes nothing; else the distance is missing. Several far ends hang on one point at the run's full length, as its voltage
 * drop is worked out.
 */
export function stretchesOf(
  run: Run,
  context: QuantityContext,
): { readonly ok: true; readonly stretches: readonly Stretch[] } | { readonly ok: false; readonly result: Result } {
  const facts = context.fact(run, 'length');
  if (facts.kind !== 'known') return { ok: false, result: facts };
  const length = numberIn(facts.derivation, 'm');
  const { graph } = context;
  const chain: readonly Stop[] = [run.from, ...run.through];
  const branches = (stop: Stop): boolean => graph.segmentsAt(graph.nodeOf(stop)).some((segment) => segment.run !== run);
  const unplaced = run.through.filter((stop) => !stop.distance && branches(stop));
  if (unplaced.length > 0)
    return {
      ok: false,
      result: missing(...unplaced.map(({ instance }) => `distance of ${instance.name} in ${run.name}`)),
    };
  const positions = chain.map((stop, index) =>
    index === 0 ? 0 : stop.distance && Math.min(length, numberIn(stop.distance, 'm')),
  );
  const placed = fillIn([...positions, length]);
  const nodes = chain.map((stop) => graph.nodeOf(stop));
  const stretches: Stretch[] = [];
  const shareAt = (index: number): number =>
    length === 0 ? 0 : Math.max(0, placed[index + 1]! - placed[index]!) / length;
  for (let index = 0; index + 1 < nodes.length; index += 1)
    stretches.push({ run, from: nodes[index]!, to: nodes[index + 1]!, share: shareAt(index) });
  const [fork, ...others] = run.to.map((stop) => graph.nodeOf(stop));
  stretches.push({ run, from: nodes.at(-1)!, to: fork!, share: shareAt(nodes.length - 1) });
  for (const other of others) stretches.push({ run, from: fork!, to: other, share: 0 });
  return { ok: true, stretches };
}

/** Puts what has no position evenly between its neighbours that have one. */
function fillIn(positions: readonly (number | undefined)[]): number[] {
  const placed: number[] = [];
  for (let at = 0; at < positions.length; at += 1) {
    const own = positions[at];
    if (own !== undefined) {
      placed.push(own);
      continue;
    }
    const next = positions.findIndex((position, index) => index > at && position !== undefined);
    const before = placed[at - 1]!;
    placed.push(before + (positions[next]! - before) / (next - at + 1));
  }
  return placed;
}

/** Resistance and reactance of one conductor of a whole run one way, warm (75 °C), conductors in parallel counted. In ohm. */
export interface Impedance {
  readonly resistance: number;
  readonly reactance: number;
}

/** What the drop of an alternating current depends on beside the conductors. */
function alternatingFacts(run: Run, context: QuantityContext): Record<string, Derivation> {
  const raceway = racewayOf(run, context);
  return { system: deriveFact('system', 'single', { origin: 'stated' }), ...(raceway ? { raceway } : {}) };
}

const ONE_AMPERE = derive('one ampere', 1, 'A');

type FoundImpedance =
  { readonly ok: true; readonly impedance: Impedance } | { readonly ok: false; readonly result: Result };

const IMPEDANCES = query<Run, FoundImpedance>('impedance of a run');

/** The impedance by the same function, tables and defaults as the voltage drop of the run. */
export const impedanceOf = (run: Run, context: QuantityContext): FoundImpedance =>
  context.kept(IMPEDANCES, run, () => findImpedance(run, context));

function findImpedance(run: Run, context: QuantityContext): FoundImpedance {
  const all = collect([context.fact(run, 'size'), context.fact(run, 'length')]);
  if (!all.ok) return { ok: false, result: all.result };
  const [size, length] = all.derivations;
  const isAlternating = run.carries === 'ac';
  const drop = callFunction(calculation('voltageDrop'), {
    current: ONE_AMPERE,
    size,
    length,
    ...(isAlternating ? alternatingFacts(run, context) : {}),
    ...conductorFacts(run, context),
  });
  if (drop.kind !== 'known') return { ok: false, result: drop };
  const count = parallelOf(run, context);
  const resistance = numberIn(drop.derivation, 'V') / 2 / count;
  if (!isAlternating) return { ok: true, impedance: { resistance, reactance: 0 } };
  return { ok: true, impedance: { resistance, reactance: reactanceOf(run, size!, length!, context) } };
}

/** Temperature of conductors that were fully loaded before a fault; undefined, which counts as 75 °C, where no insulation is stated. */
export function hotConductor(run: Run, context: QuantityContext): Derivation | undefined {
  const own = context.maybe(run, 'insulation');
  if (own) return own;
  const value = run.properties.get('type')?.value;
  const part = value?.type === 'part' ? value.part.properties : undefined;
  const rated = (part?.get('ampacityColumn') ?? part?.get('insulation'))?.value;
  return rated?.type === 'quantity'
    ? deriveQuantity('conductor temperature', rated.quantity, { notes: ['hot: its rated temperature'] })
    : undefined;
}

/** Reactance in ohm of one conductor of a length of a run one way, conductors in parallel counted. */
export const reactanceOf = (run: Run, size: Derivation, length: Derivation, context: QuantityContext): number =>
  (reactancePerMetre(run, numberIn(size, 'mm2'), context) * numberIn(length, 'm')) / parallelOf(run, context);

const METRES_PER_THOUSAND_FEET = 304.8;

/** Ohm per metre of one conductor: NEC Chapter 9 Table 9 by the raceway where it lists the size, else the general value of IEC 60364-5-52. */
function reactancePerMetre(run: Run, area: number, context: QuantityContext): number {
  const row = context.system.basis.practice === 'nec' ? rowAtSize(necImpedance, area) : undefined;
  const raceway = racewayOf(run, context)?.value;
  const conduit = CONDUITS.find((each) => each === raceway) ?? 'pvc';
  return row?.ok ? row.row[conduit].reactance / METRES_PER_THOUSAND_FEET : iecVoltageDrop.reactance / 1000;
}
