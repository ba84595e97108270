import type { Branch, Circuit, Load, Source } from '../../../language/src/solve/circuit.js';

/** Park and Miller's generator: the same networks on every machine and in every version. */
function random(seed: number): () => number {
  let state = seed % 2147483647 || 1;
  return () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  };
}

/**
 * A random network of the kind small power systems have: a tree of cables with a few meshes and parallel paths, one to three sources
 * behind their resistance, loads of constant power, constant current or none. `alternating` adds reactance and reactive power.
 */
export function generateNetwork(seed: number, alternating: boolean): Circuit {
  const next = random(seed * 7919 + (alternating ? 1 : 0));
  const between = (low: number, high: number): number => Number((low + (high - low) * next()).toPrecision(6));
  const nodes = 3 + Math.floor(next() * 18);
  const nominal = alternating ? 230 : [12, 24, 48][Math.floor(next() * 3)]!;
  const reactance = (): { reactance: number } | object => (alternating ? { reactance: between(0.0005, 0.02) } : {});
  const branches: Branch[] = [];
  for (let node = 2; node < nodes; node += 1) {
    branches.push({
      from: 1 + Math.floor(next() * (node - 1)),
      to: node,
      resistance: between(0.0005, 0.02),
      ...reactance(),
    });
  }
  const meshes = Math.floor(next() * 4);
  for (let mesh = 0; mesh < meshes && nodes > 3; mesh += 1) {
    const from = 1 + Math.floor(next() * (nodes - 1));
    const to = 1 + Math.floor(next() * (nodes - 1));
    if (from !== to) branches.push({ from, to, resistance: between(0.0005, 0.02), ...reactance() });
  }
  // The power is chosen so that the network has a solution: the sum over the longest path stays well below collapse.
  const share = (nominal * nominal * 0.3) / nodes;
  const loads: Load[] = [];
  for (let node = 1; node < nodes; node += 1) {
    const kind = next();
    if (kind < 0.45)
      loads.push({
        kind: 'power',
        from: node,
        to: 0,
        active: between(0, share),
        ...(alternating ? { reactive: between(0, share / 2) } : {}),
      });
    else if (kind < 0.6 && !alternating)
      loads.push({ kind: 'current', from: node, to: 0, current: between(0, (share / nominal) * 0.8) });
  }
  const sources: Source[] = [];
  const count = 1 + Math.floor(next() * 3);
  for (let source = 0; source < count; source += 1) {
    const angle = alternating && source > 0 ? between(-0.02, 0.02) : 0;
    const size = nominal * (source === 0 ? 1 : between(0.98, 1.02));
    sources.push({
      positive: source === 0 ? 1 : 1 + Math.floor(next() * (nodes - 1)),
      negative: 0,
      voltage: {
        re: Number((size * Math.cos(angle)).toPrecision(9)),
        im: Number((size * Math.sin(angle)).toPrecision(9)),
      },
      resistance: between(0.001, 0.03),
      ...reactance(),
    });
  }
  return { nodes, branches, sources, loads };
}

/** How many networks of each kind are compared. */
export const NETWORKS = 150;
