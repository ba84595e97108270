import { describe, expect, it } from 'vitest';
import { type Circuit, solveCircuit } from '../../../language/src/solve/circuit.js';
import { type KeptPattern, solveNodal } from '../../../language/src/solve/nodal.js';
import { generateNetwork } from '../../reference/network/networks.js';
import { largeNetwork } from '../../bench/large-network.mjs';

/* How a network is joined is kept from one solution to the next; here that is held against solutions that know of none before. */

/** The same network with other values everywhere. */
const other = (circuit: Circuit, by: number): Circuit => ({
  ...circuit,
  branches: circuit.branches.map((each, at) => ({ ...each, resistance: each.resistance * (1 + by / (2 + at)) })),
  loads: circuit.loads.map((load) => (load.kind === 'power' ? { ...load, active: load.active * (1 - by / 3) } : load)),
});

describe('a network that is joined as one before', () => {
  it('has the solution to the last bit that it has alone', () => {
    let compared = 0;
    for (let seed = 1; seed <= 40; seed += 1)
      for (const alternating of [false, true]) {
        const circuit = generateNetwork(seed, alternating);
        const kept: KeptPattern = {};
        const first = solveNodal(circuit, kept);
        const { bare } = kept;
        for (const by of [0.1, 0.4, 0]) {
          const changed = other(circuit, by);
          expect(solveCircuit(changed, kept)).toEqual(solveCircuit(changed));
        }
        if (!first) continue;
        compared += 1;
        expect(kept.bare).toBe(bare);
        expect(solveCircuit(circuit, kept)).toEqual(first);
      }
    expect(compared).toBeGreaterThan(40);
  });

  it('is found out again where something is joined in another way', () => {
    const circuit = largeNetwork(60) as Circuit;
    const kept: KeptPattern = {};
    solveCircuit(circuit, kept);
    const { bare } = kept;
    const moved = { ...circuit, branches: circuit.branches.map((each, at) => (at === 7 ? { ...each, to: 3 } : each)) };
    expect(solveCircuit(moved, kept)).toEqual(solveCircuit(moved));
    expect(kept.bare).not.toBe(bare);
    const across = { ...circuit, loads: [{ kind: 'power', from: 50, to: 20, active: 3 }, ...circuit.loads] } as Circuit;
    expect(solveCircuit(across, kept)).toEqual(solveCircuit(across));
    expect(solveCircuit(circuit, kept)).toEqual(solveCircuit(circuit));
  });

  it('keeps its pattern where only other loads hang on it', () => {
    const circuit = largeNetwork(60) as Circuit;
    const kept: KeptPattern = {};
    solveCircuit(circuit, kept);
    const { bare } = kept;
    const fewer = { ...circuit, loads: circuit.loads.slice(5) };
    expect(solveCircuit(fewer, kept)).toEqual(solveCircuit(fewer));
    expect(kept.bare).toBe(bare);
  });
});

describe('solving by the voltages of nodes alone', () => {
  it('leaves to the other equations what it could lose', () => {
    const source = { positive: 1, negative: 0, voltage: { re: 12, im: 0 }, resistance: 0.01 };
    const nothing: Circuit = { nodes: 2, branches: [], sources: [source], loads: [] };
    expect(solveNodal(nothing)?.solved).toBe(true);
    // Two sources that set one voltage, a source between nodes, a bar without resistance, a node that nothing joins.
    const setting = { ...source, resistance: 0 };
    expect(solveNodal({ ...nothing, sources: [setting, setting] })).toBeUndefined();
    expect(solveNodal({ ...nothing, nodes: 3, sources: [source, { ...setting, negative: 2 }] })).toBeUndefined();
    expect(solveNodal({ ...nothing, branches: [{ from: 1, to: 0, resistance: 1e-9 }] })).toBeUndefined();
    expect(
      solveNodal({ ...nothing, nodes: 4, branches: [{ from: 2, to: 3, resistance: 0.1 }], sources: [source] }),
    ).toBeUndefined();
    // More than a source can deliver.
    expect(solveNodal({ ...nothing, loads: [{ kind: 'power', from: 1, to: 0, active: 4000 }] })).toBeUndefined();
  });

  it('finds no current where none flows, and none in what nothing loads', () => {
    const bank = { negative: 0, voltage: { re: 51.2, im: 0 }, resistance: 0.0137 };
    const circuit: Circuit = {
      nodes: 6,
      branches: [
        { from: 1, to: 2, resistance: 0.0031 },
        { from: 2, to: 3, resistance: 0.0007 },
        { from: 3, to: 4, resistance: 0.0113 },
        { from: 3, to: 5, resistance: 0.0029 },
      ],
      sources: [
        { ...bank, positive: 1 },
        { ...bank, positive: 4, resistance: 0.0093 },
      ],
      loads: [],
    };
    const idle = solveNodal(circuit);
    if (!idle?.solved) throw new Error('no solution');
    expect([...idle.sourceCurrents, ...idle.branchCurrents].map(({ re }) => Math.abs(re))).toEqual([0, 0, 0, 0, 0, 0]);
    const loaded = solveNodal({ ...circuit, loads: [{ kind: 'power', from: 2, to: 0, active: 731 }] });
    if (!loaded?.solved) throw new Error('no solution');
    expect(Math.abs(loaded.branchCurrents[3]!.re)).toBe(0);
  });

  it('counts as given by a source that sets a voltage all that leaves its node', () => {
    const found = solveNodal({
      nodes: 3,
      branches: [{ from: 1, to: 2, resistance: 0.5 }],
      sources: [{ positive: 1, negative: 0, voltage: { re: 12, im: 0 }, resistance: 0 }],
      loads: [
        { kind: 'current', from: 2, to: 0, current: 4 },
        { kind: 'current', from: 1, to: 0, current: 1 },
      ],
    });
    // By hand: 4 A over the branch and 1 A at the source itself; 12 V − 4 A · 0.5 ohm = 10 V.
    if (!found?.solved) throw new Error('no solution');
    expect(found.sourceCurrents[0]!.re).toBeCloseTo(5, 12);
    expect(found.voltages[2]!.re).toBeCloseTo(10, 12);
  });
});
