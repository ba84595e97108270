import type { Node, Segment } from './graph.js';
import type { Run } from './types.js';

/** A part of an island without loops: positions `from` to `to` of the walk along it, both in it, less some stretches of them. */
export interface Piece {
  readonly from: number;
  readonly to: number;
  readonly without: readonly Span[];
}

type Span = readonly [from: number, to: number];

/** Where walks along the islands of a graph have come: every position is that of one node, whatever its island. */
export class Walks {
  /** For each node, by its index: its position, and the last one of what lies beyond it. */
  readonly enters: number[] = [];
  readonly leaves: number[] = [];
  /** The stretch by which the walk came to a node, by the index of the node. */
  readonly cameBy: (Segment | undefined)[] = [];
  private next = 0;

  constructor(private readonly segmentsAt: (node: Node) => readonly Segment[]) {}

  /** The tree of the nodes of an island where it is one; undefined where there are two ways between any of its points. */
  treeOf(island: ReadonlyMap<string, Node>): Tree | undefined {
    let ends = 0;
    for (const node of island.values()) ends += this.segmentsAt(node).length;
    if (ends / 2 !== island.size - 1) return undefined;
    const first = this.next;
    const [start] = island.values();
    const ahead = [start!];
    for (let node = ahead.at(-1); node; node = ahead.at(-1)) {
      if (this.enters[node.index] !== undefined) {
        ahead.pop();
        this.leaves[node.index] = this.next - 1;
        continue;
      }
      this.enters[node.index] = this.next;
      this.next += 1;
      for (const segment of this.segmentsAt(node)) {
        const other = segment.from === node ? segment.to : segment.from;
        if (this.enters[other.index] !== undefined) continue;
        this.cameBy[other.index] = segment;
        ahead.push(other);
      }
    }
    return new Tree(this, [first, this.next - 1]);
  }
}

/**
 * An island without loops as one walk along it, in which all that lies beyond a node stands together: what hangs on either side of a run is then
 * told by positions, however many nodes that is.
 */
export class Tree {
  constructor(
    private readonly walks: Walks,
    private readonly whole: Span,
  ) {}

  /** The position of a node in the walk, for which pieces are asked. */
  positionOf(node: Node): number {
    return this.walks.enters[node.index] ?? -1;
  }

  /** What a stop of a run is joined to without that run, whose stretches are given. */
  pieceAt(stop: Node, run: Run, stretches: readonly Segment[]): Piece {
    const { cameBy } = this.walks;
    const without = stretches.flatMap((segment) => {
      if (segment.from !== stop && segment.to !== stop) return [];
      const other = segment.from === stop ? segment.to : segment.from;
      return cameBy[other.index] === segment ? [this.beyond(other)] : [];
    });
    const [from, to] = cameBy[stop.index]?.run === run ? this.beyond(stop) : this.whole;
    return { from, to, without };
  }

  /** What lies over a stretch from one of its nodes. */
  pieceOver(segment: Segment, node: Node): Piece {
    const other = segment.from === node ? segment.to : segment.from;
    const isBeyond = this.walks.cameBy[other.index] === segment;
    const [from, to] = isBeyond ? this.beyond(other) : this.whole;
    return { from, to, without: isBeyond ? [] : [this.beyond(node)] };
  }

  holds(piece: Piece, node: Node): boolean {
    return isIn(piece, this.positionOf(node));
  }

  private beyond({ index }: Node): Span {
    return [this.walks.enters[index]!, this.walks.leaves[index]!];
  }
}

/** Whether a position is in a piece. */
export function isIn({ from, to, without }: Piece, position: number): boolean {
  if (position < from || position > to) return false;
  for (const [first, last] of without) if (position >= first && position <= last) return false;
  return true;
}
