import type { Result } from '../../derivation/index.js';
import { query } from '../../model/context.js';
import type { Branch, Graph, Node } from '../../model/graph.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import { type Piece, type Tree, isIn } from '../../model/tree.js';
import type { Run } from '../../model/types.js';
import type { QuantityContext } from '../define.js';
import { dcDemand, dcSupply, mayDrawDirect, mayGiveDirect } from './direct-flows.js';

/** Beyond this share of all terms it is quicker to look at each of them than to find and sort those of a side. */
const FEW = 1 / 8;

/**
 * What can draw, or give, on an island in a state, in the order of the text; a run asks which of it hangs on a side of it. What each draws or
 * gives is worked out where it counts, and kept unless values are going to change.
 */
export class SideTerms {
  /** For each term its position in the walk along an island without loops. */
  private readonly positions: Int32Array | undefined;
  /** The terms in the order of these positions, and the positions in that order. */
  private readonly walked: Int32Array | undefined;
  private readonly inOrder: Int32Array | undefined;
  private readonly known: Result[] = [];

  constructor(
    private readonly nodes: readonly Node[],
    private readonly resultOf: (node: Node) => Result | undefined,
    private readonly isKept: boolean,
    tree: Tree | undefined,
  ) {
    if (!tree) return;
    const positions = Int32Array.from(nodes, (node) => tree.positionOf(node));
    this.positions = positions;
    this.walked = Int32Array.from(nodes.keys()).sort((a, b) => positions[a]! - positions[b]!);
    this.inOrder = this.walked.map((term) => positions[term]!);
  }

  /** What hangs on some places of the island, in the order of the text. */
  on(branches: readonly Pick<Branch, 'holds' | 'pieces'>[]): readonly Result[] {
    if (branches.every((branch) => branch.pieces)) return this.in(branches.flatMap((branch) => branch.pieces ?? []));
    const found: Result[] = [];
    for (const [term, node] of this.nodes.entries())
      if (branches.some((branch) => branch.holds(node))) this.add(term, found);
    return found;
  }

  /** What stands in some pieces of an island without loops, in the order of the text. */
  private in(pieces: readonly Piece[]): readonly Result[] {
    const { nodes, positions, walked, inOrder } = this;
    if (!positions || !walked || !inOrder) return [];
    const spans = pieces.map((piece) => [firstFrom(inOrder, piece.from), firstFrom(inOrder, piece.to + 1)] as const);
    const most = spans.reduce((sum, [from, to]) => sum + to - from, 0);
    const found: Result[] = [];
    if (most > FEW * nodes.length) {
      for (let term = 0; term < nodes.length; term += 1) if (isInAny(pieces, positions[term]!)) this.add(term, found);
      return found;
    }
    const own: number[] = [];
    for (const [index, [from, to]] of spans.entries())
      for (let at = from; at < to; at += 1) if (isIn(pieces[index]!, inOrder[at]!)) own.push(walked[at]!);
    own.sort((a, b) => a - b);
    for (const term of own) this.add(term, found);
    return found;
  }

  private add(term: number, to: Result[]): void {
    const before = this.known[term];
    if (before) {
      to.push(before);
      return;
    }
    const result = this.resultOf(this.nodes[term]!);
    if (!result) return;
    // What cannot be worked out while something around it is being worked out may be told later.
    if (this.isKept && result.kind !== 'refused') this.known[term] = result;
    to.push(result);
  }
}

function isInAny(pieces: readonly Piece[], position: number): boolean {
  for (const piece of pieces) if (isIn(piece, position)) return true;
  return false;
}

/** The place of the first of ascending numbers that is not below a bound. */
function firstFrom(ascending: Int32Array, bound: number): number {
  let [low, high] = [0, ascending.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (ascending[middle]! < bound) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** The terms of an island by state, and by which of them count. */
const TERMS = query<readonly [ReadonlyMap<string, Node>, string], SideTerms>('what draws or gives on an island');

/** Which nodes count; `key` names the choice. */
export interface Counting {
  readonly key: string;
  readonly counts: (node: Node) => boolean;
}

/** What draws, and what gives, on the island of a direct-current run, as it is wired while the run carries anything. */
export const sideTermsOf = (
  run: Run,
  counting: Counting,
  state: SourceState,
  circuit: CircuitState,
  context: QuantityContext,
): { readonly demand: () => SideTerms; readonly supply: () => SideTerms } =>
  termsAround(context.graph.nodeOf(run.from), context.graph.around(run), counting, state, circuit, context);

/** The same of the island of a node. */
export function termsAround(
  node: Node,
  graph: Graph,
  { key, counts }: Counting,
  state: SourceState,
  circuit: CircuitState,
  context: QuantityContext,
): { readonly demand: () => SideTerms; readonly supply: () => SideTerms } {
  const island = graph.reach(node);
  const of =
    (what: string, may: (node: Node) => boolean, resultOf: (node: Node) => Result | undefined) => (): SideTerms =>
      context.keptFor(TERMS, island, `${what} ${state.id} ${key}`, () => {
        const nodes = [...island.values()].filter((each) => may(each) && counts(each));
        return new SideTerms(nodes, resultOf, context.watch === undefined, graph.treeAt(node));
      });
  return {
    demand: of('drawn', mayDrawDirect, (each) => dcDemand(each, circuit, context)),
    supply: of('given', mayGiveDirect, (each) => dcSupply(each, state, circuit, context)),
  };
}
