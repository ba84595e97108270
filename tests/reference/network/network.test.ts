import { describe, expect, it } from 'vitest';
import { type Circuit, type Complex, solveCircuit } from '../../../language/src/solve/circuit.js';
import { largeNetwork } from '../../bench/large-network.mjs';
import reference from './ngspice.json' with { type: 'json' };
import { NETWORKS, generateNetwork } from './networks.js';

/** Against the circuit simulator ngspice, run once on generated networks; its version and command stand in ngspice.json. */
describe('networks agree with ngspice', () => {
  it('covers at least two hundred networks', () => {
    expect(reference.dc.length + reference.ac.length).toBeGreaterThanOrEqual(200);
    // Networks for which the simulator itself broke the current law are left out and named.
    expect(reference.dc.length + reference.ac.length + reference.leftOut.length).toBe(2 * NETWORKS);
    expect(reference.leftOut.length).toBeLessThan(5);
  });

  for (const [kind, alternating] of [
    ['dc', false],
    ['ac', true],
  ] as const) {
    it(`in every node voltage of ${kind === 'dc' ? 'direct' : 'alternating'} current, to a millionth`, () => {
      for (const { seed, voltages } of reference[kind]) {
        const circuit = generateNetwork(seed, alternating);
        const solution = solveCircuit(circuit);
        if (!solution.solved) throw new Error(`network ${seed}: ${solution.reason} at node ${solution.node}`);
        const mine = solution.voltages.slice(1).flatMap(({ re, im }) => (alternating ? [re, im] : [re]));
        for (const [index, value] of mine.entries()) {
          const other = voltages[index];
          expect(other, `network ${seed}`).not.toBeNull();
          expect(Math.abs(value - other!), `network ${seed}, value ${index}: ${value} against ${other}`).toBeLessThan(
            1e-6 * circuit.sources[0]!.voltage.re,
          );
        }
      }
    });
  }
});

describe('networks agree with closed forms', () => {
  const feeder = (voltage: number, resistance: number, power: number): Circuit => ({
    nodes: 3,
    branches: [{ from: 1, to: 2, resistance }],
    sources: [{ positive: 1, negative: 0, voltage: { re: voltage, im: 0 }, resistance: 0 }],
    loads: [{ kind: 'power', from: 2, to: 0, active: power }],
  });

  it('a constant power at the end of a cable: U = (E + √(E² − 4·R·P))/2', () => {
    for (const [voltage, resistance, power] of [
      [12.8, 0.01, 600],
      [51.2, 0.005, 6000],
      [48, 0.1, 5000],
    ] as const) {
      const solution = solveCircuit(feeder(voltage, resistance, power));
      const expected = (voltage + Math.sqrt(voltage ** 2 - 4 * resistance * power)) / 2;
      expect(solution.solved && solution.voltages[2]!.re).toBeCloseTo(expected, 9);
    }
  });

  it('says where a load asks for more than the cable can deliver: P > E²/(4·R)', () => {
    const solution = solveCircuit(feeder(12, 0.1, 361));
    expect(solution).toMatchObject({ solved: false, reason: 'no-convergence', node: 2 });
  });

  it.each([1e-4, 1e-6, 1e-8, 1e-12, 0])(
    'a bar of %s ohm between two cables changes nothing and shares its current',
    (bar) => {
      // 6 kW over 5 mohm from 51.2 V, the bar in the middle of two halves: the closed form of the cable alone.
      const circuit: Circuit = {
        nodes: 4,
        branches: [
          { from: 1, to: 2, resistance: 0.0025 },
          { from: 2, to: 3, resistance: bar },
        ],
        sources: [{ positive: 1, negative: 0, voltage: { re: 51.2, im: 0 }, resistance: 0.0025 }],
        loads: [{ kind: 'power', from: 3, to: 0, active: 6000 }],
      };
      const solution = solveCircuit(circuit);
      const total = 0.005 + bar;
      const expected = (51.2 + Math.sqrt(51.2 ** 2 - 4 * total * 6000)) / 2;
      if (!solution.solved) throw new Error(solution.reason);
      expect(solution.voltages[3]!.re).toBeCloseTo(expected, 9);
      for (const { re } of solution.branchCurrents) expect(re).toBeCloseTo(6000 / expected, 7);
      expect(solution.sourceCurrents).toHaveLength(1);
    },
  );

  it('two bars of next to nothing share as their conductances', () => {
    const solution = solveCircuit({
      nodes: 3,
      branches: [
        { from: 1, to: 2, resistance: 1e-7 },
        { from: 2, to: 1, resistance: 2e-7 },
      ],
      sources: [{ positive: 1, negative: 0, voltage: { re: 12, im: 0 }, resistance: 0.001 }],
      loads: [{ kind: 'current', from: 2, to: 0, current: 300 }],
    });
    if (!solution.solved) throw new Error(solution.reason);
    expect(solution.branchCurrents.map(({ re }) => re)).toEqual([expect.closeTo(200, 6), expect.closeTo(-100, 6)]);
  });

  it('two bars without any resistance side by side share in no way that can be known', () => {
    const solution = solveCircuit({
      nodes: 3,
      branches: [
        { from: 1, to: 2, resistance: 0 },
        { from: 1, to: 2, resistance: 0 },
      ],
      sources: [{ positive: 1, negative: 0, voltage: { re: 12, im: 0 }, resistance: 0.001 }],
      loads: [{ kind: 'current', from: 2, to: 0, current: 300 }],
    });
    expect(solution).toMatchObject({ solved: false, reason: 'singular' });
  });

  it('bars of next to nothing leave generated networks as they are', () => {
    for (let seed = 1; seed <= 25; seed += 1)
      for (const alternating of [false, true]) {
        const circuit = generateNetwork(seed, alternating);
        const plain = solveCircuit(circuit);
        // Every load moves to the far end of a bar.
        const loads = circuit.loads.map((load, at) => ({ ...load, from: circuit.nodes + at }));
        const bars = circuit.loads.map(({ from }, at) => ({ from, to: circuit.nodes + at, resistance: 1e-9 }));
        const barred = solveCircuit({
          ...circuit,
          nodes: circuit.nodes + loads.length,
          branches: [...circuit.branches, ...bars],
          loads,
        });
        if (!plain.solved || !barred.solved) throw new Error(`network ${seed}`);
        for (const [node, { re, im }] of plain.voltages.entries()) {
          expect(barred.voltages[node]!.re).toBeCloseTo(re, 5);
          expect(barred.voltages[node]!.im).toBeCloseTo(im, 5);
        }
      }
  });

  it('four like batteries on a bar that is tapped at both ends do not share alike', () => {
    const links = [1, 2, 3].map((node) => ({ from: node, to: node + 1, resistance: 1 }));
    const solution = solveCircuit({
      nodes: 5,
      branches: links,
      sources: [1, 2, 3, 4].map((node) => ({
        positive: node,
        negative: 0,
        voltage: { re: 1000, im: 0 },
        resistance: 1,
      })),
      loads: [
        { kind: 'current', from: 1, to: 0, current: 50 },
        { kind: 'current', from: 4, to: 0, current: 50 },
      ],
    });
    const currents = solution.solved ? solution.sourceCurrents.map(({ re }) => re) : [];
    // By hand: the ends carry a, the inner ones b, a + b = 50 A and a·1 = b·1 + (50 − a)·1, so a = 33.3 A.
    expect(currents.map((current) => Number(current.toFixed(3)))).toEqual([33.333, 16.667, 16.667, 33.333]);
  });

  it('names a node that nothing joins to the rest', () => {
    const solution = solveCircuit({
      nodes: 4,
      branches: [{ from: 2, to: 3, resistance: 1 }],
      sources: [{ positive: 1, negative: 0, voltage: { re: 12, im: 0 }, resistance: 0.1 }],
      loads: [],
    });
    expect(solution).toMatchObject({ solved: false, reason: 'singular' });
  });
});

describe('a network of some thousand nodes', () => {
  it('balances at every node and in power, within the rounding of doubles', () => {
    const network = largeNetwork(3000) as Circuit;
    const solution = solveCircuit(network);
    if (!solution.solved) throw new Error('no solution');
    const sums = Array.from({ length: network.nodes }, () => ({ re: 0, im: 0 }));
    const leaves = (node: number, { re, im }: Complex, sign: 1 | -1): void => {
      sums[node]!.re += sign * re;
      sums[node]!.im += sign * im;
    };
    let losses = 0;
    for (const [index, { from, to, resistance }] of network.branches.entries()) {
      const current = solution.branchCurrents[index]!;
      leaves(from, current, 1);
      leaves(to, current, -1);
      losses += (current.re ** 2 + current.im ** 2) * resistance;
    }
    for (const [index, { from, to }] of network.loads.entries()) {
      leaves(from, solution.loadCurrents[index]!, 1);
      leaves(to, solution.loadCurrents[index]!, -1);
    }
    const [source] = network.sources;
    const given = solution.sourceCurrents[0]!;
    leaves(source!.positive, given, -1);
    leaves(source!.negative, given, 1);
    for (const { re, im } of sums) expect(Math.hypot(re, im)).toBeLessThan(1e-6);
    losses += (given.re ** 2 + given.im ** 2) * source!.resistance;
    const drawn = network.loads.reduce((sum, load) => sum + (load.kind === 'power' ? load.active : 0), 0);
    expect(Math.abs(230 * given.re - drawn - losses)).toBeLessThan(1e-6 * drawn);
  });
});
