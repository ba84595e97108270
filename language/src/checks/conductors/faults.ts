import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Run } from '../../model/types.js';
import { resistanceAt } from '../../quantities/conductor.js';

/** A way through the wiring from one node to another: the runs passed whole, in order. */
export interface Way {
  readonly runs: readonly Run[];
  readonly nodes: readonly Node[];
}

/** The shortest way (by stretches of run) from an instance to a node, not through a given run; undefined when there is none. */
export function wayFrom(source: Instance, target: Node, context: DesignContext, without?: Run): Way | undefined {
  const before = new Map<string, { node: Node; run: Run } | undefined>();
  const queue: Node[] = context.graph.nodesOf(source).filter(({ terminal }) => terminal.direction !== 'in');
  for (const start of queue) before.set(start.key, undefined);
  for (let at = 0; at < queue.length; at += 1) {
    const node = queue[at]!;
    if (node.key === target.key) return trace(node, before);
    for (const { run, from, to } of context.graph.segmentsAt(node)) {
      if (run === without) continue;
      const other = from.key === node.key ? to : from;
      if (before.has(other.key)) continue;
      before.set(other.key, { node, run });
      queue.push(other);
    }
  }
  return undefined;
}

function trace(end: Node, before: ReadonlyMap<string, { node: Node; run: Run } | undefined>): Way {
  const runs: Run[] = [];
  const nodes: Node[] = [end];
  for (let step = before.get(end.key); step; step = before.get(step.node.key)) {
    if (runs.at(-1) !== step.run) runs.push(step.run);
    nodes.push(step.node);
  }
  return { runs: runs.reverse(), nodes: nodes.reverse() };
}

/** Cold conductors give the largest fault current. */
const COLD = derive('conductor temperature', 20, 'degC', { notes: ['cold conductor: largest fault current'] });

/** Resistance out and back from a bank to a device, cold; the stretch of the device's own run counts by its distance, when that is stated. */
function cableTo(
  device: Instance,
  bank: Instance,
  context: DesignContext,
): { resistance: Derivation; facts: readonly string[] } {
  const target = context.graph.nodesOf(device)[0];
  const way = target && wayFrom(bank, target, context);
  const facts: string[] = [];
  const parts: Derivation[] = [];
  for (const run of way?.runs ?? []) {
    const size = context.maybe(run, 'size');
    const stop = [run.from, ...run.through, ...run.to].find(({ instance }) => instance === device);
    const isLast = run === way?.runs.at(-1);
    const nearBank = isLast && run.from.instance === bank;
    // The device's own run counts as far as it stands from the bank's end; where that is not said, nothing of it counts.
    const length = isLast && stop ? (nearBank ? stop.distance : undefined) : context.maybe(run, 'length');
    if (isLast && stop && !length) {
      facts.push(`distance of ${device.name} along ${run.name}`);
      continue;
    }
    if (!size || !length) {
      facts.push(`${size ? 'length' : 'size'} of ${run.name}`);
      continue;
    }
    const one = resistanceAt(run, size, length, COLD, context);
    if (one.kind === 'known')
      parts.push(
        derive(`loop of ${run.name}`, 2 * numberIn(one.derivation, 'ohm'), 'ohm', {
          formula: '2·R',
          inputs: [one.derivation],
        }),
      );
  }
  const total = parts.reduce((sum, part) => sum + numberIn(part, 'ohm'), 0);
  return {
    resistance: derive('cable out and back', total, 'ohm', {
      symbol: 'R_cable',
      formula: parts.length > 0 ? parts.map((_, index) => `R${index + 1}`).join(' + ') : '0',
      inputs: parts,
    }),
    facts,
  };
}

/** Largest prospective short-circuit current of the banks at a device, all banks together, cables cold. */
export interface FaultAtDevice {
  readonly result: Result;
  /** Facts that would lower it. */
  readonly facts: readonly string[];
}

export function bankFaultAt(device: Instance, context: DesignContext): FaultAtDevice | undefined {
  const node = context.graph.nodesOf(device)[0];
  if (!node) return undefined;
  const banks = context.graph.joinedTo(node).filter(({ kind }) => kind === 'battery');
  if (banks.length === 0) return undefined;
  const parts: Derivation[] = [];
  const facts: string[] = [];
  for (const bank of banks) {
    const fault = context.quantity(bank, 'faultCurrent');
    const voltage = context.quantity(bank, 'highestVoltage');
    if (fault.kind !== 'known') return { result: fault, facts };
    const cable = cableTo(device, bank, context);
    facts.push(...cable.facts);
    if (voltage.kind !== 'known' || numberIn(cable.resistance, 'ohm') === 0) {
      parts.push(fault.derivation);
      continue;
    }
    const volts = numberIn(voltage.derivation, 'V');
    const inner = derive('inner resistance of the bank', volts / numberIn(fault.derivation, 'A'), 'ohm', {
      symbol: 'R_i',
      formula: 'U_max/I_sc',
      inputs: [voltage.derivation, fault.derivation],
    });
    parts.push(
      derive(
        `fault current of ${bank.name} at ${device.name}`,
        volts / (numberIn(inner, 'ohm') + numberIn(cable.resistance, 'ohm')),
        'A',
        {
          symbol: `I_${bank.name}`,
          formula: 'U_max/(R_i + R_cable)',
          inputs: [voltage.derivation, inner, cable.resistance],
        },
      ),
    );
  }
  const sum = parts.reduce((so, part) => so + numberIn(part, 'A'), 0);
  const total =
    parts.length === 1
      ? parts[0]!
      : derive('prospective short-circuit current', sum, 'A', {
          symbol: 'I_sc',
          formula: parts.map((part) => part.symbol ?? part.name).join(' + '),
          inputs: parts,
        });
  return { result: known({ ...total, name: 'prospective short-circuit current' }), facts };
}

/** Prospective short-circuit current of the AC sources at a device; cables are left out, which is on the safe side. */
export function acFaultAt(device: Instance, context: DesignContext): Result | undefined {
  const node = context.graph.nodesOf(device)[0];
  if (!node) return undefined;
  const sources = new Set(context.circuitStates.flatMap(({ circuit }) => [...(circuit.supply.get(node.key) ?? [])]));
  let worst: Derivation | undefined;
  for (const source of sources) {
    if (source.kind === 'inverter') continue;
    if (source.kind === 'grid') {
      const stated = context.fact(source, 'faultCurrent');
      if (stated.kind !== 'known') return stated;
      if (!worst || numberIn(stated.derivation, 'A') > numberIn(worst, 'A')) worst = stated.derivation;
    }
    if (source.kind === 'generator') {
      const rated = context.quantity(source, 'ratedCurrent');
      if (rated.kind !== 'known') return rated;
      const reactance =
        context.maybe(source, 'reactance') ??
        derive('transient reactance', 0.2, '', {
          origin: 'default',
          notes: ['not stated: 0.2 per unit, the low end of small sets (from memory)'],
        });
      const fault = derive(
        `fault current of ${source.name}`,
        numberIn(rated.derivation, 'A') / numberIn(reactance, ''),
        'A',
        { formula: 'I_r/x′', inputs: [rated.derivation, reactance] },
      );
      if (!worst || numberIn(fault, 'A') > numberIn(worst, 'A')) worst = fault;
    }
    if (source.kind === 'vehicle') return missing(`fault current of ${source.name}`);
  }
  return worst && known({ ...worst, name: 'prospective short-circuit current' });
}
