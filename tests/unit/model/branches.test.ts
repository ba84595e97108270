import fc from 'fast-check';
import { URI } from 'langium';
import { describe, expect, it } from 'vitest';
import { analyse } from '../../../language/src/index.js';
import { feedInto } from '../../../language/src/checks/conductors/feeding.js';
import { createContext } from '../../../language/src/quantities/context.js';
import type { DesignContext } from '../../../language/src/model/context.js';
import { Graph, type Node } from '../../../language/src/model/graph.js';
import type { Run, Stop } from '../../../language/src/model/types.js';
import { TODAY, analyseText, createTestServices, findingsOf } from '../../helpers/analyse.js';
import { designText, randomDesign } from '../../fuzz/arbitrary-design.js';

/* What hangs on the stops of a run is found without walking a whole network; here it is held against the plain walk. */

const wholeOf = (graph: Graph, stops: readonly Stop[], run: Run): ReadonlySet<Node> =>
  new Set(stops.flatMap((stop) => graph.around(run).reached(graph.nodeOf(stop), run)));

const meet = (sets: readonly ReadonlySet<Node>[]): boolean =>
  sets.some((one, index) => sets.slice(index + 1).some((other) => [...one].some((node) => other.has(node))));

const shared = createTestServices();

/** A design that has been read and that nothing has judged. */
async function contextOf(text: string): Promise<DesignContext | undefined> {
  const services = await shared;
  const document = services.shared.workspace.LangiumDocumentFactory.fromString(text, URI.parse('file:///site.watt'));
  services.shared.workspace.LangiumDocuments.addDocument(document);
  await services.shared.workspace.DocumentBuilder.build([document], { validation: false });
  const options = { today: TODAY, scenarios: 'leave', checks: () => false } as const;
  const [design] = analyse(document, services, options).designs;
  services.shared.workspace.LangiumDocuments.deleteDocument(document.uri);
  return design?.context;
}

describe('what hangs on the stops of a run', () => {
  it('is what a walk from each stop finds, in any wiring', { timeout: 600_000 }, async () => {
    await fc.assert(
      fc.asyncProperty(randomDesign, async ({ members }) => {
        const context = await contextOf(designText(members));
        if (!context) return;
        const graph = new Graph(context.system);
        for (const run of context.system.runs) {
          const groups = [[run.from], ...run.through.map((stop) => [stop]), run.to];
          const walked = groups.map((stops) => wholeOf(graph, stops, run));
          const found = graph.groups(run);
          expect(found.loop).toBe(meet(walked));
          for (const [index, branch] of found.groups.entries()) {
            const nodes = walked[index]!;
            for (const node of graph.nodes.values()) expect(branch.holds(node)).toBe(nodes.has(node));
            expect(new Set(branch.nodes)).toEqual(nodes);
            if (groups[index]!.length === 1) expect(branch.isBare).toBe(nodes.size === 1);
          }
          const sides = graph.sides(run);
          expect(new Set(sides.near)).toEqual(walked[0]);
          expect(new Set(sides.far)).toEqual(walked.at(-1));
          expect(sides.loop).toBe(meet([walked[0]!, walked.at(-1)!]));
        }
      }),
      { numRuns: 150 },
    );
  });

  it('what can be driven into a run is the same whoever is asked before it', { timeout: 600_000 }, async () => {
    const order = fc.array(fc.nat(), { minLength: 12, maxLength: 12 });
    await fc.assert(
      fc.asyncProperty(randomDesign, order, async ({ members }, places) => {
        const context = await contextOf(designText(members));
        if (!context) return;
        const { system, today, parts } = context;
        const asked = system.runs.flatMap((run) => (['near', 'far'] as const).map((end) => ({ run, end })));
        const shuffled = asked
          .map((each, index) => ({ each, place: places[index % places.length]! }))
          .sort((one, other) => one.place - other.place)
          .map(({ each }) => each);
        const together = createContext(system, today, parts);
        const answers = new Map(shuffled.map((each) => [each, feedInto(each.run, each.end, together)]));
        for (const each of asked)
          expect(answers.get(each)).toEqual(feedInto(each.run, each.end, createContext(system, today, parts)));
      }),
      { numRuns: 100 },
    );
  });
});

/** Buses one behind the other; closed to a ring where it is asked for. */
const chain = (links: number, closing = ''): string => `design Chain {
  basis: nec
  battery Bank { voltage: 51.2 V   capacity: 280 Ah   chemistry: lfp   resistance: 10 mohm }
  fuse Main { class: T   rating: 200 A }
  bus Bus0 { rating: 400 A }
  run BankFeed: Bank -> Main @ 150 mm -> Bus0 { size: 4/0 AWG   type: FineStranded90   length: 1 m }
  ${Array.from({ length: links }, (_, index) => `bus Bus${index + 1} { rating: 400 A }   run Link${index}: Bus${index} -> Bus${index + 1} { size: 4/0 AWG   type: FineStranded90   length: 10 mm }`).join('\n  ')}
  load Lamp { power: 1 W   voltage: 44..58 V }
  run Last: Bus${links} -> Lamp { size: 4/0 AWG   type: FineStranded90   length: 1 m }
  ${closing}
}
`;

describe('long chains', () => {
  it('end no analysis: what feeds their last run is found', { timeout: 600_000 }, async () => {
    const context = (await contextOf(chain(3_000)))!;
    const last = context.system.runs.at(-1)!;
    const feed = feedInto(last, 'near', context);
    expect(feed).toMatchObject({ kind: 'limited', by: ['Main'] });
  });

  it('nor do rings', { timeout: 600_000 }, async () => {
    const ring = 'run Back: Bus400 -> Bus0 { size: 4/0 AWG   type: FineStranded90   length: 1 m }';
    const context = (await contextOf(chain(400, ring)))!;
    const feeds = context.system.runs.map((run) => feedInto(run, 'near', context).kind);
    expect(new Set(feeds)).toEqual(new Set(['unlimited', 'limited']));
  });
});

describe('several banks on one network', () => {
  it('a device is judged by the highest of their voltages, whichever is written first', async () => {
    const low = 'battery Low { voltage: 12.8 V   capacity: 100 Ah   chemistry: lfp }';
    const high = 'battery High { voltage: 51.2 V   capacity: 100 Ah   chemistry: lfp }';
    for (const banks of [low + high, high + low]) {
      const text = `design Two {
  ${banks}
  fuse Link { rating: 30 A   dcVoltage: 32 V }
  run Tie: Low -> Link @ 100 mm -> High { size: 10 AWG   type: FineStranded90   length: 1 m }
}
`;
      const [finding] = findingsOf(await analyseText(text), 'device-voltage');
      expect(finding?.headline).toMatch(/58\.4 V DC.*32 V/);
    }
  });
});
