import type { Node, Segment } from './graph.js';

/** A walk along conductors from one place: which nodes it has found, and where it stands. */
interface Walk {
  readonly found: Node[];
  readonly ahead: Node[];
  at: Node | undefined;
  /** Which of the segments at its node comes next. */
  next: number;
}

/** What walks from several places have found: whether two of them meet, and all nodes of those that came to their end before that. */
export interface Apart {
  readonly meet: boolean;
  /** For each place all that is reached from it, in the order in which it is reached; undefined for the one that has not been walked to its end. */
  readonly found: readonly (readonly Node[] | undefined)[];
}

/**
 * Walks from several places at once, a segment each in turn, until two walks meet or only one is left. So that a short branch of a large
 * network costs what the branch is large, not what the network is.
 */
export function walkApart(
  starts: readonly (readonly Node[])[],
  segmentsAt: (node: Node) => readonly Segment[],
  isWalked: (segment: Segment) => boolean,
): Apart {
  const owners = new Map<Node, Walk>();
  let meet = false;
  const find = (node: Node, walk: Walk): void => {
    const owner = owners.get(node);
    if (owner === walk) return;
    if (owner) {
      meet = true;
      return;
    }
    owners.set(node, walk);
    walk.found.push(node);
    walk.ahead.push(node);
  };
  const walks = starts.map((nodes) => {
    const walk: Walk = { found: [], ahead: [], at: undefined, next: 0 };
    for (const node of nodes) find(node, walk);
    return walk;
  });
  /** One segment further; false at the end. */
  const step = (walk: Walk): boolean => {
    const node = (walk.at ??= walk.ahead.pop());
    if (!node) return false;
    const segment = segmentsAt(node)[walk.next];
    if (segment) {
      walk.next += 1;
      if (isWalked(segment)) find(segment.from === node ? segment.to : segment.from, walk);
    } else {
      walk.at = undefined;
      walk.next = 0;
    }
    return true;
  };
  let going = walks;
  while (going.length > 1 && !meet) going = going.filter(step);
  const last = new Set(going);
  return { meet, found: walks.map((walk) => (last.has(walk) ? undefined : walk.found)) };
}
