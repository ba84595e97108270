import { type Derivation, type Result, derive, known, missing, numberIn, refused } from '../../derivation/index.js';
import type { Branch, Graph, Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { bankCases, banksOn } from '../storage/bank-cases.js';
import { type InState, type QuantityContext, defineQuantity, instance } from '../define.js';
import { legCurrents, unlimitedOn } from '../flow/flow.js';
import { type Counting, type SideTerms, termsAround } from '../flow/side-terms.js';
import { solveDirect } from './direct.js';
import { acrossGear } from '../supply/passage.js';
import { collect, sumOf, worstOfStates } from '../worst.js';
import { passingOf } from '../../model/roles.js';
import { mayBeWired, mayPassByRelay } from '../../equipment/index.js';

/** What hangs on one stretch of run at a node, on the side away from it. */
interface BranchOver extends Pick<Branch, 'holds' | 'pieces'> {
  readonly run: Run;
}

/** What hangs on each stretch of run at a node; undefined where the wiring comes back to the node another way. */
function branchesAt(node: Node, { graph }: QuantityContext): BranchOver[] | undefined {
  const tree = graph.treeAt(node);
  if (!tree) return branchesWalked(node, graph);
  return graph.segmentsAt(node).map((segment) => {
    const piece = tree.pieceOver(segment, node);
    return { run: segment.run, pieces: [piece], holds: (each) => tree.holds(piece, each) };
  });
}

function branchesWalked(node: Node, graph: Graph): BranchOver[] | undefined {
  const seen = new Set<Node>([node]);
  const branches: BranchOver[] = [];
  for (const { run, from, to } of graph.segmentsAt(node)) {
    const start = from === node ? to : from;
    if (seen.has(start)) return undefined;
    const nodes = new Set<Node>();
    const queue = [start];
    seen.add(start);
    for (let at = queue.pop(); at; at = queue.pop()) {
      nodes.add(at);
      for (const segment of graph.segmentsAt(at)) {
        const other = segment.from === at ? segment.to : segment.from;
        if (other === node && at !== start) return undefined;
        if (seen.has(other)) continue;
        seen.add(other);
        queue.push(other);
      }
    }
    branches.push({ run, holds: (each) => nodes.has(each) });
  }
  return branches;
}

/** The sum of what branches draw or give, one term for each run. */
function totalOf(branches: readonly BranchOver[], terms: SideTerms, name: string, mode: 'demand' | 'supply'): Result {
  const sums: Derivation[] = [];
  for (const branch of branches) {
    const all = collect(terms.on([branch]));
    if (!all.ok) return all.result;
    const { name: run } = branch.run;
    if (all.derivations.length > 0) sums.push(sumOf(`over ${run}`, `I_${run}`, 'A', all.derivations));
  }
  return known(sumOf(name, 'I', 'A', sums, { kind: 'meeting', mode }));
}

const NAME = 'current that meets';
const ALL: Counting = { key: 'I_b', counts: () => true };

/** The current that goes through a node in one state, whichever way it flows. */
function throughNode(node: Node, state: SourceState, circuit: CircuitState, context: QuantityContext): Result {
  const branches = branchesAt(node, context);
  const unlimited = unlimitedOn(node, context);
  const withBank = branches?.filter((branch) => unlimited.some((each) => branch.holds(each)));
  if (!branches || !withBank || withBank.length > 1) return throughSolved(node, state, circuit, context);
  const others = branches.filter((branch) => !withBank.includes(branch));
  const terms = termsAround(node, context.graph, ALL, state, circuit, context);
  const drawn = totalOf(others, terms.demand(), NAME, 'demand');
  const given = totalOf(others, terms.supply(), NAME, 'supply');
  const both = collect([drawn, given]);
  if (!both.ok) return both.result;
  const [demand, supply] = both.derivations as [Derivation, Derivation];
  const isDrawnMost = numberIn(demand, 'A') >= numberIn(supply, 'A');
  // A bank takes or gives the difference; without one the smaller of the two flows.
  return known(isDrawnMost === withBank.length > 0 ? demand : supply);
}

/** The same where banks on several sides, or loops, share the current by resistance. */
function throughSolved(node: Node, state: SourceState, circuit: CircuitState, context: QuantityContext): Result {
  let worst: Derivation | undefined;
  const cases = bankCases(banksOn(node, context), context);
  for (const [mode, banks] of (['demand', 'supply', 'both'] as const).flatMap((mode) =>
    cases.map((each) => [mode, each] as const),
  )) {
    const solved = solveDirect(node, state, circuit, context, mode, { banks });
    if (!solved.ok) return solved.result;
    const amperes = solved.solution.through(node);
    if (worst && amperes <= numberIn(worst, 'A') * (1 + 1e-9)) continue;
    worst = derive(NAME, amperes, 'A', {
      symbol: 'I',
      formula: 'sum of what flows in, in the solved network',
      inputs: solved.solution.inputs,
      governing: [{ kind: 'meeting', mode }],
    });
  }
  return known(worst!);
}

/** The largest current of any run at the nodes of a thing: on the AC side the run that feeds it carries the sum. */
function largestRun(runs: readonly Run[], context: QuantityContext): Result {
  const all = collect(runs.map((run) => context.quantity(run, 'current')));
  if (!all.ok) return all.result;
  return known({
    ...all.derivations.reduce((so, next) => (numberIn(next, 'A') > numberIn(so, 'A') ? next : so)),
    name: NAME,
    symbol: 'I',
  });
}

const meetingCurrent = defineQuantity({
  name: 'current',
  of: [mayBeWired],
  doc: 'Largest current that goes through it in any source state: everything that draws, or everything that charges.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const nodes = context.graph.nodesOf(thing as Instance);
    const segments = nodes.flatMap((node) => context.graph.segmentsAt(node));
    const runs = [...new Set(segments.map(({ run }) => run))];
    if (runs.length === 0) return missing(`a run that leads to ${thing.name}`);
    // Gear in the path of one run carries what the run carries.
    if (runs.length === 1 || runs.some(({ carries }) => carries !== 'dc')) return largestRun(runs, context);
    const node = nodes[0]!;
    return worstOfStates(
      NAME,
      'I',
      'A',
      context.circuitStates.map(({ state, circuit }): InState => ({
        state,
        result: throughNode(node, state, circuit, context),
      })),
    );
  },
});

/** Where the loads of a pass-through inverter hang: what its output reaches, through gear as it stands in a state. */
function behindOutput(output: Node, circuit: CircuitState, context: QuantityContext): Node[] {
  const seen = new Set<Node>();
  const queue = [output];
  for (let node = queue.pop(); node; node = queue.pop()) {
    if (seen.has(node)) continue;
    for (const reached of circuit.graph.reach(node).values()) {
      seen.add(reached);
      for (const other of acrossGear(reached, circuit, context)) if (!seen.has(other)) queue.push(other);
    }
  }
  return [...seen];
}

const transferCurrent = defineQuantity({
  name: 'transferCurrent',
  of: [mayPassByRelay],
  isListedFor: (thing) => passingOf(instance(thing)) !== undefined,
  doc: 'Largest current on a leg that its transfer relay passes from a supply to the loads behind it, in any source state; what its own charger draws does not go through the relay.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const inverter = thing as Instance;
    const passes = passingOf(inverter);
    const output = passes && context.graph.nodes.get(`${inverter.name}.${passes.to}`);
    const results: InState[] = [];
    for (const { state, circuit } of context.circuitStates) {
      if (!output || !circuit.passing.has(inverter)) continue;
      const nodes = behindOutput(output, circuit, context).filter(({ instance }) => instance !== inverter);
      for (const source of circuit.supply.get(output.key) ?? [])
        results.push({ state, result: legCurrents(nodes, source, context).result });
    }
    return results.length === 0
      ? refused(`no supply is led to the input of ${thing.name} that it passes on`)
      : worstOfStates('current through the transfer relay', 'I', 'A', results);
  },
});

export const meetingQuantities = [meetingCurrent, transferCurrent];
