import { type Derivation, derive } from '../../derivation/index.js';
import { query } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import type { QuantityContext } from '../define.js';
import { conductorType, parallelOf } from './conductor-facts.js';

/** Runs that join the same two points, by their ends. */
const SIDE_BY_SIDE = query<QuantityContext, ReadonlyMap<string, readonly Run[]>>('runs between the same two points');

const endsOf = (run: Run, context: QuantityContext): string =>
  [run.from, ...run.to]
    .map((stop) => context.graph.nodeOf(stop).key)
    .sort()
    .join(' ');

/** Conductors for each pole between the ends of a run: its own, and those of the runs that share its ends and its current. */
function conductorsPerPole(run: Run, context: QuantityContext): number {
  const byEnds = context.kept(SIDE_BY_SIDE, context, () => {
    const groups = new Map<string, Run[]>();
    for (const each of context.system.runs)
      groups.set(endsOf(each, context), [...(groups.get(endsOf(each, context)) ?? []), each]);
    return groups;
  });
  const group = byEnds.get(endsOf(run, context)) ?? [run];
  return group.reduce((sum, each) => sum + parallelOf(each, context), 0);
}

/**
 * What lies together where several conductors of each pole join two points and nothing says how they lie: all of them in one raceway or
 * bundle, under iec as so many circuits (IEC 60364-5-52 523.7). Cords lie each by itself, and so do single cores laid apart (method G).
 */
export function sideBySide(run: Run, poles: number, context: QuantityContext): Derivation | undefined {
  const { practice } = context.system.basis;
  const fact = practice === 'iec' ? 'circuits' : 'conductors';
  if (context.maybe(run, fact) || conductorType(run).cord) return undefined;
  const count = conductorsPerPole(run, context);
  if (count < 2 || context.maybe(run, 'method')?.value === 'G') return undefined;
  const parallel = derive('conductors in parallel', count, '', { symbol: 'n' });
  if (practice === 'iec')
    return derive(fact, count, '', {
      fact,
      origin: 'default',
      inputs: [parallel],
      notes: ['conductors in parallel taken as so many circuits grouped together; not stated'],
    });
  return derive(fact, poles * count, '', {
    fact,
    origin: 'default',
    formula: 'poles·n',
    inputs: [derive('poles', poles, ''), parallel],
    notes: [`all conductors of ${poles} poles taken to lie in one raceway; not stated`],
  });
}
