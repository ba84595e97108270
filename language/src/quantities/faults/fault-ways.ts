import type { Node } from '../../model/graph.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import type { QuantityContext } from '../define.js';
import { lowEnd } from '../ends.js';
import { type DesignContext, query } from '../../model/context.js';
import type { Step } from '../network/ways.js';
import { flagIn, wordIn } from '../../model/stated-facts.js';
import { faultSourcesOf, isSet } from '../../model/roles.js';

/** Temperature of conductors without load where nothing says how cold it gets: that of the resistance tables. */
const UNSTATED_COLD = derive('conductor temperature', 20, 'degC', {
  fact: 'coldest',
  origin: 'default',
  notes: ['cold conductor: largest fault current; the lowest ambient of the site is not stated'],
});

const COLDEST = query<DesignContext, Derivation>('temperature of cold conductors');

/** Cold conductors give the largest fault current: without load they are as cold as the site gets, 20 °C at most. */
export const coldConductor = (context: QuantityContext): Derivation =>
  context.kept(COLDEST, context, () => {
    const ambient = context.siteFact('ambient');
    if (!ambient) return UNSTATED_COLD;
    const lowest = lowEnd(ambient);
    const celsius = Math.min(numberIn(lowest, 'degC'), numberIn(UNSTATED_COLD, 'degC'));
    return derive('conductor temperature', celsius, 'degC', {
      inputs: [lowest],
      notes: ['cold conductor, at the lowest ambient of the site: largest fault current'],
    });
  });

export const LARGEST = 'prospective short-circuit current';

export const stopOf = (thing: Instance, run: Run): Stop | undefined =>
  [run.from, ...run.through, ...run.to].find(({ instance }) => instance === thing);

/** The part of a run that lies between the node at which a current enters it and a thing in it, m; undefined where it is not said. */
export function stretchTo(thing: Instance, run: Run, entry: Node, context: QuantityContext): Derivation | undefined {
  const stop = stopOf(thing, run);
  const length = context.maybe(run, 'length');
  if (!stop || run.to.includes(stop) || stop === run.from) return length;
  if (entry === context.graph.nodeOf(run.from)) return stop.distance;
  if (!stop.distance || !length || !run.to.some((far) => context.graph.nodeOf(far) === entry)) return undefined;
  const left = Math.max(0, numberIn(length, 'm') - numberIn(stop.distance, 'm'));
  return derive(`way from the far end of ${run.name} to ${thing.name}`, left, 'm', {
    formula: 'L − distance',
    inputs: [length, stop.distance],
  });
}

/** The node of a way at which it enters its last run: the first of its nodes that is an end of that run. */
export function entryOf(run: Run, end: Step): Node {
  const ends = new Set([run.from, ...run.to].map(({ instance }) => instance));
  let first: Step | undefined;
  for (let step: Step | undefined = end; step; step = step.before) if (ends.has(step.node.instance)) first = step;
  return (first ?? end.start ?? end).node;
}

/** Whether a source is electronic, or protects itself: it shuts down at a short circuit and drives no lasting current into it. */
export const isElectronic = (source: Instance): boolean =>
  faultSourcesOf(source).some(({ as }) => as === 'electronics') ||
  flagIn(source.properties, 'integralProtection') === true ||
  (isSet(source) && wordIn(source.properties, 'waveform') === 'inverter');
