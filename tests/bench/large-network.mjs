/**
 * A network of `nodes` nodes, invented: a line of distribution points with circuits behind each, every hundredth one joined once more to
 * an earlier one, a load of constant power at every circuit; conductors with resistance and reactance.
 * @param {number} nodes
 */
export function largeNetwork(nodes) {
  const branches = [];
  const loads = [];
  const spine = Math.ceil(nodes / 10);
  for (let node = 2; node < nodes; node++) {
    const from = node <= spine ? Math.floor(node / 2) : 1 + (node % spine);
    branches.push({
      from: Math.max(1, from),
      to: node,
      resistance: 1e-3 * (1 + (node % 7)),
      reactance: 2e-4 * (1 + (node % 3)),
    });
    if (node > spine) loads.push({ kind: 'power', from: node, to: 0, active: 5 + (node % 11), reactive: node % 4 });
    if (node % 100 === 0) branches.push({ from: node, to: node / 2, resistance: 5e-3, reactance: 1e-3 });
  }
  return {
    nodes,
    branches,
    loads,
    sources: [{ positive: 1, negative: 0, voltage: { re: 230, im: 0 }, resistance: 1e-3, reactance: 1e-3 }],
  };
}
