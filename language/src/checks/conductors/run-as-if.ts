import { type Derivation, numberIn } from '../../derivation/index.js';
import { type DesignContext, query } from '../../model/context.js';
import type { Property, Run } from '../../model/types.js';
import { createContext } from '../../quantities/context.js';
import { quantity } from '../../quantity/index.js';

/** A run with the design around it. */
export interface RunInDesign {
  readonly run: Run;
  readonly context: DesignContext;
}

/** A run with conductors of other sizes, by their area in mm². */
const OTHER_SIZES = query<readonly [Run, number], RunInDesign>('a run as if it had other sizes');

/**
 * A run as if its conductors were of another size, in a design that is else the same. Only where the run lies in a loop does its size
 * change what it carries: there the whole design is worked out anew, elsewhere run and design are what they are.
 */
export function asIf(run: Run, size: Derivation, context: DesignContext): RunInDesign {
  const own = context.maybe(run, 'size');
  const area = numberIn(size, 'mm2');
  if (!context.graph.sides(run).loop || (own && numberIn(own, 'mm2') === area)) return { run, context };
  return context.keptFor(OTHER_SIZES, run, area, () => substitute(run, area, context));
}

function substitute(run: Run, area: number, context: DesignContext): RunInDesign {
  const { runs, context: design } = withRuns(new Map([[run, { size: area }]]), context);
  return { run: runs.get(run)!, context: design };
}

/** Size (mm²) and length (m) that a run is to have. */
export interface RunChange {
  readonly size?: number;
  readonly length?: number;
}

/** A design as if some of its runs had other sizes and lengths, with what has become of these runs. */
export function withRuns(
  changes: ReadonlyMap<Run, RunChange>,
  context: DesignContext,
): { readonly runs: ReadonlyMap<Run, Run>; readonly context: DesignContext } {
  const runs = new Map(
    [...changes].map(([run, { size, length }]) => {
      const properties = new Map(run.properties);
      if (size !== undefined) properties.set('size', stated('size', size, 'mm2'));
      if (length !== undefined) properties.set('length', stated('length', length, 'm'));
      return [run, { ...run, properties }] as const;
    }),
  );
  const system = { ...context.system, runs: context.system.runs.map((run) => runs.get(run) ?? run) };
  return { runs, context: createContext(system, context.today, context.parts, context.watch) };
}

const stated = (name: string, value: number, unit: string): Property => ({
  name,
  value: { type: 'quantity', quantity: quantity(value, unit) },
  origin: 'stated',
  text: '',
});
