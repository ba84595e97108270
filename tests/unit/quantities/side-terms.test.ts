import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { DesignContext } from '../../../language/src/model/context.js';
import { Graph, type Node } from '../../../language/src/model/graph.js';
import { dcDemand, dcSupply } from '../../../language/src/quantities/flow/direct-flows.js';
import { sideTermsOf } from '../../../language/src/quantities/flow/side-terms.js';
import { type Step, gathered, leadsOver, stepFrom, wayFrom } from '../../../language/src/quantities/network/ways.js';
import { query } from '../../../language/src/model/context.js';
import { analyseText } from '../../helpers/analyse.js';
import { designText, randomDesign } from '../../fuzz/arbitrary-design.js';

/* What hangs on a side of a run, and what lies along a way, is told without walking; here it is held against the plain walk. */

const GATHERED = query<Step, Map<Step, readonly string[]>>('names along a way');

function holdsTerms(context: DesignContext): number {
  let compared = 0;
  for (const run of context.system.runs.filter(({ carries }) => carries === 'dc')) {
    const { groups, loop } = context.graph.groups(run);
    if (loop) continue;
    for (const { state, circuit } of context.circuitStates) {
      const { demand, supply } = sideTermsOf(run, { key: 'all', counts: () => true }, state, circuit, context);
      for (let cut = 1; cut < groups.length; cut += 1)
        for (const branches of [groups.slice(0, cut), groups.slice(cut)]) {
          const nodes = branches.flatMap((branch) => branch.nodes).sort((a, b) => a.index - b.index);
          const drawn = nodes.flatMap((node) => dcDemand(node, circuit, context) ?? []);
          const given = nodes.flatMap((node) => dcSupply(node, state, circuit, context) ?? []);
          expect(demand().on(branches)).toEqual(drawn);
          expect(supply().on(branches)).toEqual(given);
          compared += drawn.length + given.length;
        }
    }
  }
  return compared;
}

function holdsWays(context: DesignContext): void {
  for (const bank of context.system.instances.filter(({ kind }) => kind === 'battery'))
    for (const node of context.graph.nodes.values()) {
      const end = stepFrom(bank, node, context);
      const way = wayFrom(bank, node, context);
      expect(end === undefined).toBe(way === undefined);
      if (!end || !way) continue;
      const names = gathered<readonly string[]>(GATHERED, end, [], (so, step) => [...so, step.node.key], context);
      expect(names).toEqual(way.nodes.map(({ key }) => key));
      for (const run of context.system.runs) expect(leadsOver(run, end)).toBe(way.runs.includes(run));
    }
}

describe('any wiring', () => {
  it('has on each side of a run what a walk finds there, in the order of the text', { timeout: 600_000 }, async () => {
    let compared = 0;
    await fc.assert(
      fc.asyncProperty(randomDesign, async ({ members }) => {
        const context = (await analyseText(designText(members))).designs[0]?.context;
        if (!context) return;
        compared += holdsTerms(context);
        holdsWays(context);
      }),
      { numRuns: 60 },
    );
    expect(compared).toBeGreaterThan(100);
  });

  it('is an island in the order of the text, whoever asks first', { timeout: 600_000 }, async () => {
    await fc.assert(
      fc.asyncProperty(randomDesign, async ({ members }) => {
        const context = (await analyseText(designText(members))).designs[0]?.context;
        if (!context) return;
        const namesFrom = (nodes: readonly Node[]): string[] => {
          const graph = new Graph(context.system);
          return nodes.map((node) => [...graph.reach(graph.nodes.get(node.key)!).keys()].join());
        };
        const nodes = [...context.graph.nodes.values()];
        expect(namesFrom(nodes.toReversed()).toReversed()).toEqual(namesFrom(nodes));
      }),
      { numRuns: 30 },
    );
  });
});
