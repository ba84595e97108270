import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Run } from '../../model/types.js';
import { resistanceAt } from '../../quantities/conductor.js';
import { sumOf } from '../../quantities/worst.js';

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

/** The part of a run that lies between the node at which a current enters it and a device in it, m; undefined where it is not said. */
function stretchTo(device: Instance, run: Run, entry: Node, context: DesignContext): Derivation | undefined {
  const stop = [run.from, ...run.through, ...run.to].find(({ instance }) => instance === device);
  const length = context.maybe(run, 'length');
  if (!stop || run.to.includes(stop)) return length;
  if (stop === run.from) return length;
  if (entry.key === context.graph.nodeOf(run.from).key) return stop.distance;
  if (!stop.distance || !length || !run.to.some((far) => context.graph.nodeOf(far).key === entry.key)) return undefined;
  return derive(`way from the far end of ${run.name} to ${device.name}`, farDistance(length, stop.distance), 'm', {
    formula: 'L − distance',
    inputs: [length, stop.distance],
  });
}

const farDistance = (length: Derivation, distance: Derivation): number =>
  Math.max(0, numberIn(length, 'm') - numberIn(distance, 'm'));

/** Resistance out and back from a bank to a device, cold; the stretch of the device's own run counts as far as the device stands in it. */
function cableTo(
  device: Instance,
  way: Way | undefined,
  context: DesignContext,
): { resistance: Derivation; facts: readonly string[] } {
  const facts: string[] = [];
  const parts: Derivation[] = [];
  for (const [index, run] of (way?.runs ?? []).entries()) {
    const isLast = index === way!.runs.length - 1;
    const size = context.maybe(run, 'size');
    const length = isLast ? stretchTo(device, run, entryOf(run, way!), context) : context.maybe(run, 'length');
    if (!size) facts.push(`size of ${run.name}`);
    if (!length) facts.push(isLast ? `distance of ${device.name} in ${run.name}` : `length of ${run.name}`);
    const one = size && length && resistanceAt(run, size, length, COLD, context);
    if (one?.kind === 'known')
      parts.push(
        derive(`loop of ${run.name}`, 2 * numberIn(one.derivation, 'ohm'), 'ohm', {
          symbol: `R_${run.name}`,
          formula: '2·R',
          inputs: [one.derivation],
        }),
      );
  }
  const total = parts.reduce((sum, part) => sum + numberIn(part, 'ohm'), 0);
  return {
    resistance: derive('cable out and back', total, 'ohm', {
      symbol: 'R_cable',
      formula: parts.length > 0 ? parts.map(({ symbol }) => symbol).join(' + ') : '0',
      inputs: parts,
    }),
    facts,
  };
}

/** The node of a way at which it enters its last run: the first of its nodes that is an end of that run. */
function entryOf(run: Run, way: Way): Node {
  const ends = new Set([run.from, ...run.to].map(({ instance }) => instance));
  return way.nodes.find(({ instance }) => ends.has(instance)) ?? way.nodes[0]!;
}

/** Largest prospective short-circuit current that banks drive through a device, cables cold. */
export interface FaultAtDevice {
  readonly result: Result;
  /** Facts that would lower it. */
  readonly facts: readonly string[];
  /** The banks that drive it. */
  readonly banks: readonly Instance[];
}

/** Short-circuit current of one bank at a device, through the cable of a way. */
function faultOf(
  bank: Instance,
  device: Instance,
  way: Way | undefined,
  context: DesignContext,
): { result: Result; facts: readonly string[] } {
  const fault = context.quantity(bank, 'faultCurrent');
  const voltage = context.quantity(bank, 'highestVoltage');
  if (fault.kind !== 'known') return { result: fault, facts: [] };
  const { resistance, facts } = cableTo(device, way, context);
  const named = { ...fault.derivation, symbol: `I_${bank.name}` };
  if (voltage.kind !== 'known' || numberIn(resistance, 'ohm') === 0) return { result: known(named), facts };
  const volts = numberIn(voltage.derivation, 'V');
  const inner = derive('inner resistance of the bank', volts / numberIn(fault.derivation, 'A'), 'ohm', {
    symbol: 'R_i',
    formula: 'U_max/I_sc',
    inputs: [voltage.derivation, fault.derivation],
  });
  const amperes = volts / (numberIn(inner, 'ohm') + numberIn(resistance, 'ohm'));
  return {
    result: known(
      derive(`fault current of ${bank.name} at ${device.name}`, amperes, 'A', {
        symbol: `I_${bank.name}`,
        formula: 'U_max/(R_i + R_cable)',
        inputs: [voltage.derivation, inner, resistance],
      }),
    ),
    facts,
  };
}

/**
 * The fault current through a device is that of the banks on the other side of it: behind each of its connections the banks are added up,
 * and the largest side counts. Cables that banks share are counted for each by itself, which errs to the safe side.
 */
export function bankFaultAt(device: Instance, context: DesignContext): FaultAtDevice | undefined {
  const node = context.graph.nodesOf(device)[0];
  if (!node) return undefined;
  const banks = context.graph.joinedTo(node).filter(({ kind }) => kind === 'battery');
  if (banks.length === 0) return undefined;
  const sides = new Map<string, { bank: Instance; result: Result; facts: readonly string[] }[]>();
  for (const bank of banks) {
    const way = wayFrom(bank, node, context);
    // The node before the device tells the side on which the bank lies.
    const side = way?.nodes.at(-2)?.key ?? node.key;
    sides.set(side, [...(sides.get(side) ?? []), { bank, ...faultOf(bank, device, way, context) }]);
  }
  let worst: FaultAtDevice | undefined;
  for (const parts of sides.values()) {
    const unknown = parts.find(({ result }) => result.kind !== 'known');
    if (unknown) return { result: unknown.result, facts: [], banks };
    const known = parts.flatMap(({ result }) => (result.kind === 'known' ? [result.derivation] : []));
    const total = sumOf('prospective short-circuit current', 'I_sc', 'A', known);
    const current = parts.length === 1 ? { ...known[0]!, name: total.name } : total;
    if (!worst || (worst.result.kind === 'known' && numberIn(current, 'A') > numberIn(worst.result.derivation, 'A')))
      worst = {
        result: { kind: 'known', derivation: current },
        facts: parts.flatMap(({ facts }) => facts),
        banks: parts.map(({ bank }) => bank),
      };
  }
  return worst;
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
        derive('subtransient reactance', 0.1, '', {
          symbol: 'x″',
          origin: 'default',
          notes: ['not stated: 0.1 per unit, the low end of small sets (from memory), which gives the largest current'],
        });
      const fault = derive(
        `fault current of ${source.name}`,
        numberIn(rated.derivation, 'A') / numberIn(reactance, ''),
        'A',
        { formula: 'I_r/x', inputs: [rated.derivation, reactance] },
      );
      if (!worst || numberIn(fault, 'A') > numberIn(worst, 'A')) worst = fault;
    }
    if (source.kind === 'vehicle') return missing(`fault current of ${source.name}`);
  }
  return worst && known({ ...worst, name: 'prospective short-circuit current' });
}
