import { firstFew } from './wording.js';
import { passed } from '../verdicts.js';
import { type DesignContext, query } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance } from '../../model/types.js';
import { type Check, defineCheck, type Verdict, NO_LIMIT } from '../define.js';
import { LANGUAGE } from './sources.js';
import { isAcSource, isDcSource, chargesAt, isBank, isInverter, isLoad } from '../../model/roles.js';

const FED = query<ReadonlyMap<string, Node>, boolean>(
  'whether anything on an island of wiring can feed direct current',
);

/** Whether anything on the direct-current wiring of a load can feed it. */
const isFedDirectly = (load: Instance, context: DesignContext): boolean =>
  context.graph.nodesOf(load).some((node) => {
    const island = context.graph.reach(node);
    return context.kept(FED, island, () => [...island.values()].some(feedsDirectly));
  });

/** Whether a thing feeds direct current at a node. An inverter that charges has the bank it works from beside it. */
const feedsDirectly = (node: Node): boolean =>
  isBank(node.instance) || isDcSource(node.instance) || (chargesAt(node) && !isInverter(node.instance));

function* judgeLoad(load: Instance, context: DesignContext): Generator<Verdict> {
  const nodes = context.graph.nodesOf(load).filter((node) => context.graph.segmentsAt(node).length > 0);
  // A load without a run is the matter of `not-connected`.
  if (nodes.length === 0) return;
  const live = context.circuitStates.filter(({ circuit }) =>
    nodes.some(({ key }) => (circuit.supply.get(key)?.size ?? 0) > 0),
  );
  if (live.length > 0 || isFedDirectly(load, context)) return yield passed(load, NO_LIMIT);
  const sources = context.system.instances
    .filter((each) => isAcSource(each) || isDcSource(each) || isBank(each))
    .map(({ name }) => name);
  yield {
    verdict: 'failed',
    subject: load.path,
    place: load.place,
    headline: `No source reaches ${load.name} in any source state`,
    why: `states: ${firstFew(context.states.map(({ title }) => title))}`,
    advice: `Connect its run to ${sources.length > 0 ? `what ${firstFew(sources)} feed${sources.length === 1 ? 's' : ''}` : 'a source'}.`,
    use: NO_LIMIT,
  };
}

export const deadEnd: Check = defineCheck({
  id: 'dead-end',
  group: 'text',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A load that no source can reach in any source state.',
    guards: 'A load that is wired and never works, and is left out of every calculation.',
    how: 'From each load the wiring is followed, through transfer gear and inverters as they are in each source state, to a source or bank.',
    fix: 'Add the run, breaker or transfer that joins the load to a source, or remove the load.',
    sources: [LANGUAGE],
    failing: `design Hut {
  bus Panel {}
  load Lamp { power: 20 W }
  run Line: Panel -> Lamp { size: 2.5 mm2   length: 3 m }
}
`,
    passing: `design Hut {
  grid Mains { voltage: 230 V }
  bus Panel {}
  load Lamp { power: 20 W }
  run In: Mains -> Panel { size: 4 mm2   length: 3 m }
  run Line: Panel -> Lamp { size: 2.5 mm2   length: 3 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (isLoad(instance)) yield* judgeLoad(instance, context);
  },
});
