import type { Graph, Node } from '../../model/graph.js';
import { isDevice } from '../../model/roles.js';
import type { Run } from '../../model/types.js';
import { otherEnd } from './ways.js';

/** What lies behind a run on every way up to the first device, which is among it; each node once. */
export function nodesBehind(run: Run, graph: Graph): Node[] {
  const seen = new Set<Node>();
  const ahead = run.to.map((stop) => graph.nodeOf(stop));
  for (let node = ahead.pop(); node; node = ahead.pop()) {
    if (seen.has(node)) continue;
    seen.add(node);
    if (isDevice(node.instance)) continue;
    for (const segment of graph.segmentsAt(node)) if (segment.run !== run) ahead.push(otherEnd(segment, node));
  }
  return [...seen];
}
