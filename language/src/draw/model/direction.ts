import type { Node } from '../../model/graph.js';
import {
  alternatingOutputOf,
  chargesAt,
  drawsOf,
  isBank,
  isConnection,
  isLoad,
  passingOf,
  sourceOf,
  takesToInvert,
} from '../../model/roles.js';

/** How strongly power leaves (above 0) or enters (below 0) at a node. */
function tendency({ instance, terminal }: Node): number {
  if (takesToInvert({ instance, terminal })) return -3;
  if (sourceOf(instance)?.at === terminal.name) return 4;
  if (alternatingOutputOf(instance) === terminal.name || passingOf(instance)?.to === terminal.name) return 3;
  if (chargesAt({ instance, terminal })) return 3;
  if (isBank(instance)) return 1;
  if (isLoad(instance) || drawsOf(instance).some(({ at }) => at === terminal.name)) return -3;
  if (passingOf(instance)?.from.includes(terminal.name)) return -3;
  // What is plugged is mostly an end; an inlet that leads on is told by its other run.
  return isConnection(instance) ? -1 : 0;
}

/** Whether power mostly goes along a run against the order in which it is written. */
export function isAgainst(from: Node, to: readonly Node[]): boolean {
  const ahead = tendency(from);
  const behind = Math.max(...to.map(tendency));
  return ahead < behind;
}
