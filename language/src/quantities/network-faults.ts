import { type Derivation, type Result, derive, known, missing, numberIn, refused } from '../derivation/index.js';
import type { Node } from '../model/graph.js';
import { flagIn, wordIn } from '../model/kinds/index.js';
import type { CircuitState } from '../model/network.js';
import type { AcSystem, Instance, Run, Stop, Thing } from '../model/types.js';
import { NotFinite } from '../quantity/index.js';
import { MatrixBuilder, type Factors, SingularMatrix, factorise, minimumDegreeOrder } from '../solve/sparse.js';
import { clearingAt, hasCurve, letThroughAt } from './clearing.js';
import { resistanceAt } from './conductor.js';
import { type QuantityContext, defineQuantity } from './define.js';
import { classOf } from './device-class.js';
import { dcSupply } from './direct-flows.js';
import { highEnd, lowEnd } from './ends.js';
import { Joints } from './network-joints.js';
import { hotConductor, impedanceOf, reactanceOf, stretchesOf } from './network-stretches.js';
import { Outward, type Way, isTree, otherEnd, wayFrom, wayTo } from './network-ways.js';
import { systemOf } from './supply.js';
import { sumOf, worstOfStates } from './worst.js';

const isProtective = ({ kind }: Instance): boolean => kind === 'fuse' || kind === 'breaker';

/** Cold conductors give the largest fault current. */
const COLD = derive('conductor temperature', 20, 'degC', { notes: ['cold conductor: largest fault current'] });

const NAME = 'prospective short-circuit current';

// Direct current, largest

/** Largest prospective short-circuit current that banks drive through a thing, cables cold. */
export interface FaultAt {
  readonly result: Result;
  /** Facts that would lower it. */
  readonly facts: readonly string[];
  /** The banks that drive it. */
  readonly banks: readonly Instance[];
}

const stopOf = (thing: Instance, run: Run): Stop | undefined =>
  [run.from, ...run.through, ...run.to].find(({ instance }) => instance === thing);

/** The part of a run that lies between the node at which a current enters it and a thing in it, m; undefined where it is not said. */
function stretchTo(thing: Instance, run: Run, entry: Node, context: QuantityContext): Derivation | undefined {
  const stop = stopOf(thing, run);
  const length = context.maybe(run, 'length');
  if (!stop || run.to.includes(stop) || stop === run.from) return length;
  if (entry === context.graph.nodeOf(run.from)) return stop.distance;
  if (!stop.distance || !length || !run.to.some((far) => context.graph.nodeOf(far) === entry)) return undefined;
  const left = Math.max(0, numberIn(length, 'm') - numberIn(stop.distance, 'm'));
  return derive(`way from the far end of ${run.name} to ${thing.name}`, left, 'm', {
    formula: 'L − distance',
    inputs: [length, stop.distance],
  });
}

/** The node of a way at which it enters its last run: the first of its nodes that is an end of that run. */
function entryOf(run: Run, way: Way): Node {
  const ends = new Set([run.from, ...run.to].map(({ instance }) => instance));
  return way.nodes.find(({ instance }) => ends.has(instance)) ?? way.nodes[0]!;
}

/** Resistance out and back along a way to a thing, cold; its own run counts as far as it stands in it. */
function cableTo(
  thing: Instance,
  way: Way | undefined,
  context: QuantityContext,
): { resistance: Derivation; facts: readonly string[] } {
  const facts: string[] = [];
  const parts: Derivation[] = [];
  for (const [index, run] of (way?.runs ?? []).entries()) {
    const isLast = index === way!.runs.length - 1;
    const size = context.maybe(run, 'size');
    const length = isLast ? stretchTo(thing, run, entryOf(run, way!), context) : context.maybe(run, 'length');
    if (!size) facts.push(`size of ${run.name}`);
    if (!length) facts.push(isLast ? `distance of ${thing.name} in ${run.name}` : `length of ${run.name}`);
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

/** A bank as what drives a fault: its highest voltage behind the resistance that its fault current tells of. */
interface Driver {
  readonly bank: Instance;
  readonly volts: Derivation;
  readonly ohms: Derivation;
  readonly fault: Derivation;
}

function driverOf(bank: Instance, context: QuantityContext): Driver | Result {
  const fault = context.quantity(bank, 'faultCurrent');
  if (fault.kind !== 'known') return fault;
  const voltage = context.quantity(bank, 'highestVoltage');
  if (voltage.kind !== 'known') return voltage;
  const volts = numberIn(voltage.derivation, 'V');
  return {
    bank,
    volts: voltage.derivation,
    fault: { ...fault.derivation, symbol: `I_${bank.name}` },
    ohms: derive('inner resistance of the bank', volts / numberIn(fault.derivation, 'A'), 'ohm', {
      symbol: 'R_i',
      formula: 'U_max/I_sc',
      inputs: [voltage.derivation, fault.derivation],
    }),
  };
}

const isDriver = (outcome: Driver | Result): outcome is Driver => 'volts' in outcome;

/** One bank over one way: its voltage over its own resistance and that of the cable. */
function alongWay(
  { bank, volts, ohms, fault }: Driver,
  thing: Instance,
  way: Way | undefined,
  context: QuantityContext,
): { current: Derivation; facts: readonly string[] } {
  const { resistance, facts } = cableTo(thing, way, context);
  if (numberIn(resistance, 'ohm') === 0) return { current: { ...fault, name: NAME }, facts };
  const amperes = numberIn(volts, 'V') / (numberIn(ohms, 'ohm') + numberIn(resistance, 'ohm'));
  return {
    current: derive(NAME, amperes, 'A', {
      symbol: `I_${bank.name}`,
      formula: 'U_max/(R_i + R_cable)',
      inputs: [volts, ohms, resistance],
    }),
    facts,
  };
}

/** The banks and cold cables of one direct-current network, ready to be short-circuited anywhere. */
class BankNetwork {
  /** Whether the size and length of every run are known; what lacks counts as no resistance. */
  isComplete = true;
  private readonly joints = new Joints();
  private readonly wires: { readonly from: Node; readonly to: Node; readonly ohms: number }[] = [];
  private readonly factors: Factors;
  private readonly openVolts: Float64Array;
  private readonly transfer = new Map<number, Float64Array>();
  private readonly size: number;

  constructor(
    nodes: readonly Node[],
    drivers: readonly Driver[],
    private readonly context: QuantityContext,
  ) {
    const runs = new Set(nodes.flatMap((node) => context.graph.segmentsAt(node).map(({ run }) => run)));
    for (const run of runs) this.addRun(run);
    for (const { from, to, ohms } of this.wires) if (ohms === 0) this.joints.join(from.key, to.key);
    for (const node of nodes) this.joints.number(node.key);
    this.size = this.joints.count;
    const builder = new MatrixBuilder(this.size);
    for (const { from, to, ohms } of this.wires) {
      const [a, b] = [this.point(from), this.point(to)];
      if (ohms === 0 || a === b) continue;
      builder.add(a, a, 1 / ohms);
      builder.add(b, b, 1 / ohms);
      builder.add(a, b, -1 / ohms);
      builder.add(b, a, -1 / ohms);
    }
    const driven = new Float64Array(this.size);
    for (const { bank, volts, ohms } of drivers) {
      const at = this.point(context.graph.nodesOf(bank)[0]!);
      const siemens = 1 / numberIn(ohms, 'ohm');
      builder.add(at, at, siemens);
      driven[at]! += siemens * numberIn(volts, 'V');
    }
    const matrix = builder.build();
    this.factors = factorise(matrix, minimumDegreeOrder(matrix));
    this.openVolts = this.factors.solve(driven);
  }

  /** The stretches of a run with their cold resistance out and back; none where a fact lacks, which gives the largest current. */
  private addRun(run: Run): void {
    const { context } = this;
    const stretches = stretchesOf(run, context);
    const size = context.maybe(run, 'size');
    const length = context.maybe(run, 'length');
    const whole = size && length && resistanceAt(run, size, length, COLD, context);
    if (stretches.ok && whole?.kind === 'known')
      for (const { from, to, share } of stretches.stretches)
        this.wires.push({ from, to, ohms: 2 * numberIn(whole.derivation, 'ohm') * share });
    else {
      this.isComplete = false;
      for (const { from, to } of context.graph.segmentsOf(run)) this.wires.push({ from, to, ohms: 0 });
    }
  }

  private point(node: Node): number {
    return this.joints.number(node.key);
  }

  /** What flows into a node that is short-circuited: in all, and over each stretch that leads to another point of the network. */
  into(node: Node): { total: number; over: ReadonlyMap<Node, number> } {
    const at = this.point(node);
    let column = this.transfer.get(at);
    if (!column) {
      const unit = new Float64Array(this.size);
      unit[at] = 1;
      this.transfer.set(at, (column = this.factors.solve(unit)));
    }
    const total = this.openVolts[at]! / column[at]!;
    const over = new Map<Node, number>();
    for (const { from, to, ohms } of this.wires) {
      if (from !== node && to !== node) continue;
      const other = from === node ? to : from;
      const point = this.point(other);
      if (point === at) continue;
      const volts = this.openVolts[point]! - total * column[point]!;
      over.set(other, (over.get(other) ?? 0) + volts / ohms);
    }
    return { total, over };
  }

  /**
   * What flows through a thing in a network: of the sides from which the current comes, all but the smallest, since the fault lies
   * beyond the thing. What is joined to it without resistance counts as one side.
   */
  through(node: Node): number {
    const { total, over } = this.into(node);
    const sides = [...over.values()];
    const rest = total - sides.reduce((sum, each) => sum + each, 0);
    if (sides.length < this.context.graph.segmentsAt(node).length || rest > 1e-9 * total) sides.push(rest);
    return sides.length < 2 ? total : total - Math.max(0, Math.min(...sides));
  }

  /** The same for a thing in a run that is somewhere between its neighbours: what arrives at either of them from behind. */
  throughUnplaced(node: Node): number {
    const neighbours = this.context.graph.segmentsAt(node).map((segment) => otherEnd(segment, node));
    const arriving = neighbours.map((neighbour) => {
      const { total, over } = this.into(neighbour);
      return total - Math.max(0, over.get(node) ?? 0);
    });
    return Math.max(...arriving, 0);
  }
}

const networks = new WeakMap<ReadonlyMap<string, Node>, BankNetwork>();

function bankNetwork(node: Node, drivers: readonly Driver[], context: QuantityContext): BankNetwork {
  const island = context.graph.reach(node);
  let network = networks.get(island);
  if (!network) networks.set(island, (network = new BankNetwork([...island.values()], drivers, context)));
  return network;
}

const isUnplaced = (thing: Instance, context: QuantityContext): Run | undefined =>
  context.graph
    .segmentsAt(context.graph.nodesOf(thing)[0]!)
    .map(({ run }) => run)
    .find((run) => run.through.some(({ instance, distance }) => instance === thing && !distance));

/** Banks on several sides, or cables in loops: solved as a network. */
function fromNetwork(thing: Instance, node: Node, drivers: readonly Driver[], context: QuantityContext): FaultAt {
  const network = bankNetwork(node, drivers, context);
  const unplaced = isUnplaced(thing, context);
  const amperes =
    thing.kind === 'bus' ? network.into(node).total : unplaced ? network.throughUnplaced(node) : network.through(node);
  const facts = network.isComplete
    ? []
    : drivers.flatMap(({ bank }) => {
        const way = wayFrom(bank, node, context);
        return (way?.runs ?? []).flatMap((run) =>
          (['size', 'length'] as const).flatMap((fact) => (context.maybe(run, fact) ? [] : [`${fact} of ${run.name}`])),
        );
      });
  return {
    result: known(
      derive(NAME, amperes, 'A', {
        symbol: 'I_sc',
        formula: 'U/R of the solved network',
        inputs: drivers.map(({ fault }) => fault),
        notes: ['solved as a network: every bank full behind its own resistance, cables cold, out and back'],
      }),
    ),
    facts: [...new Set([...facts, ...(unplaced ? [`distance of ${thing.name} in ${unplaced.name}`] : [])])],
    banks: drivers.map(({ bank }) => bank),
  };
}

/** What a node of a charger, array or converter can add to a fault: no more than its limit. */
interface Supplier {
  readonly node: Node;
  readonly current: Derivation;
}

/** One island of direct current: what can add to the banks, and its wiring seen from its one bank. */
interface Island {
  readonly suppliers: readonly Supplier[];
  outward?: Outward;
}

const islands = new WeakMap<ReadonlyMap<string, Node>, Island>();

function islandOf(node: Node, context: QuantityContext): Island {
  const nodes = context.graph.reach(node);
  let island = islands.get(nodes);
  if (!island) islands.set(nodes, (island = { suppliers: suppliersAmong(nodes.values(), context) }));
  return island;
}

function suppliersAmong(nodes: Iterable<Node>, context: QuantityContext): Supplier[] {
  const suppliers: Supplier[] = [];
  for (const node of nodes) {
    let largest: Derivation | undefined;
    for (const { state, circuit } of context.circuitStates) {
      const supply = dcSupply(node, state, circuit, context);
      if (supply?.kind === 'known' && numberIn(supply.derivation, 'A') > (largest ? numberIn(largest, 'A') : 0))
        largest = { ...supply.derivation, symbol: `I_${node.instance.name}` };
    }
    if (largest) suppliers.push({ node, current: largest });
  }
  return suppliers;
}

const bankFaults = new WeakMap<QuantityContext, Map<Instance, FaultAt | undefined>>();

/**
 * The largest fault current through a thing is that of the banks on the other side of it, with what chargers add there; on a busbar all
 * sides together. One bank without loops is worked along its cables, all else as a network.
 */
export function bankFaultAt(thing: Instance, context: QuantityContext): FaultAt | undefined {
  let kept = bankFaults.get(context);
  if (!kept) bankFaults.set(context, (kept = new Map()));
  if (!kept.has(thing)) kept.set(thing, limitedFault(thing, context));
  return kept.get(thing);
}

/** A bank without resistance, or facts beyond all measure: no current can be named, which is said instead of thrown. */
function limitedFault(thing: Instance, context: QuantityContext): FaultAt | undefined {
  try {
    return findBankFault(thing, context);
  } catch (error) {
    if (!(error instanceof SingularMatrix || error instanceof NotFinite)) throw error;
    return {
      result: refused(`nothing limits the fault at ${thing.name}: a bank has no resistance`),
      facts: [],
      banks: [],
    };
  }
}

function findBankFault(thing: Instance, context: QuantityContext): FaultAt | undefined {
  const node = context.graph.nodesOf(thing)[0];
  if (!node) return undefined;
  const banks = context.graph.joinedTo(node).filter(({ kind }) => kind === 'battery');
  if (banks.length === 0) return undefined;
  const drivers: Driver[] = [];
  for (const bank of banks) {
    const driver = driverOf(bank, context);
    if (!isDriver(driver)) return { result: driver, facts: [], banks };
    drivers.push(driver);
  }
  if (banks.length > 1 || !isTree(node, context)) return fromNetwork(thing, node, drivers, context);
  const island = islandOf(node, context);
  const outward = (island.outward ??= new Outward(context.graph.nodesOf(banks[0]!)[0]!, context));
  const { current, facts } = alongWay(drivers[0]!, thing, outward.wayTo(node), context);
  const added = island.suppliers
    .filter((each) => thing.kind === 'bus' || !outward.isBeyond(each.node, node))
    .map((each) => each.current);
  const total = added.length === 0 ? current : sumOf(NAME, 'I_sc', 'A', [current, ...added]);
  return { result: known(total), facts, banks };
}

// Alternating current, largest

/** Impedance in ohm. */
interface Ohms {
  readonly resistance: number;
  readonly reactance: number;
}

/** What an alternating-current source drives into a fault: volts behind ohms, which are a reactance where `isReactive`. */
interface Source {
  readonly volts: Derivation;
  readonly ohms: Derivation;
  readonly isReactive: boolean;
  readonly inputs: readonly Derivation[];
}

const isElectronic = (source: Instance): boolean =>
  source.kind === 'inverter' ||
  flagIn(source.properties, 'integralProtection') === true ||
  (source.kind === 'generator' && wordIn(source.properties, 'waveform') === 'inverter');

/** Subtransient reactance of small sets where none is stated: the low end, which gives the largest current. From memory. */
const LEAST_REACTANCE = derive('subtransient reactance', 0.1, '', {
  symbol: 'x″',
  origin: 'default',
  notes: ['not stated: 0.1 per unit, the low end of small sets (from memory), which gives the largest current'],
});

/** The largest current of a source at its terminals, between lines on split phase, else of all its phases. */
function largestOf(source: Instance, system: AcSystem, context: QuantityContext): Source | Result {
  const volts = derive(
    `voltage of ${source.name}`,
    system.phases === 'three' ? system.lineToNeutral : system.lineToLine,
    'V',
    { symbol: 'U', notes: [system.text] },
  );
  const behind = (amperes: number, formula: string, inputs: readonly Derivation[], isReactive: boolean): Source => ({
    volts,
    isReactive,
    inputs,
    ohms: derive(`impedance of ${source.name}`, numberIn(volts, 'V') / amperes, 'ohm', {
      symbol: 'Z_s',
      formula,
      inputs: [volts, ...inputs],
    }),
  });
  if (source.kind === 'grid') {
    const stated = context.fact(source, 'faultCurrent');
    if (stated.kind !== 'known') return stated;
    const fault = highEnd(stated.derivation);
    return behind(numberIn(fault, 'A'), 'U/I_sc', [fault], false);
  }
  if (source.kind === 'generator') {
    const rated = context.quantity(source, 'ratedCurrent');
    if (rated.kind !== 'known') return rated;
    const reactance = context.maybe(source, 'reactance') ?? LEAST_REACTANCE;
    const amperes = numberIn(rated.derivation, 'A') / numberIn(reactance, '');
    return behind(amperes, 'x·U/I_r', [reactance, rated.derivation], true);
  }
  return missing(`fault current of ${source.name}`);
}

const isSource = (outcome: Source | Result): outcome is Source => 'volts' in outcome;

/** Ohms of one conductor of a run one way, cold, up to a thing that stands in it; nothing where facts lack, or in a loop. */
function coldOhms(run: Run, thing: Instance | undefined, way: Way, context: QuantityContext): Ohms {
  const none = { resistance: 0, reactance: 0 };
  const size = context.maybe(run, 'size');
  const stop = thing && stopOf(thing, run);
  // Devices in panels stand at the source end of their circuits: without a distance none of the cable lies before them.
  const length =
    stop && run.through.includes(stop)
      ? stop.distance && stretchTo(thing, run, entryOf(run, way), context)
      : context.maybe(run, 'length');
  if (!size || !length || context.graph.sides(run).loop) return none;
  const one = resistanceAt(run, size, length, COLD, context);
  return one.kind === 'known'
    ? { resistance: numberIn(one.derivation, 'ohm'), reactance: reactanceOf(run, size, length, context) }
    : none;
}

/**
 * Least impedance of a source and a cable together. The angle of a set is that of its reactance; of a service only the size is known, so
 * the angle is taken that gives the least.
 */
function leastOhms(source: Source, { resistance, reactance }: Ohms): number {
  const own = numberIn(source.ohms, 'ohm');
  return source.isReactive
    ? Math.hypot(resistance, own + reactance)
    : Math.sqrt(own ** 2 + resistance ** 2 + reactance ** 2 + 2 * own * Math.min(resistance, reactance));
}

/** What one source drives into a fault at a node in one state. */
function sourceFaultAt(
  source: Instance,
  thing: Instance,
  node: Node,
  circuit: CircuitState,
  context: QuantityContext,
): Result | undefined {
  if (isElectronic(source)) return undefined;
  const system = systemOf(source);
  if (!system) return missing(`voltage of ${source.name}`);
  const drive = largestOf(source, system, context);
  if (!isSource(drive)) return drive;
  const start = context.graph.nodes.get(`${source.name}.ac`);
  const way = start && wayTo(start, node, circuit, context);
  const runs = way?.runs ?? [];
  // A fault of all three phases flows out only; any other out and back.
  const times = (run: Run): number => {
    const legs = run.properties.get('legs')?.value;
    return system.phases === 'three' && !(legs?.type === 'words' && legs.words.length < 3) ? 1 : 2;
  };
  const loops = runs.map((run, index) => {
    const ohms = coldOhms(run, index === runs.length - 1 ? thing : undefined, way!, context);
    return { run, resistance: times(run) * ohms.resistance, reactance: times(run) * ohms.reactance };
  });
  const cable = {
    resistance: loops.reduce((sum, loop) => sum + loop.resistance, 0),
    reactance: loops.reduce((sum, loop) => sum + loop.reactance, 0),
  };
  const volts = numberIn(drive.volts, 'V');
  const counted = loops.filter(({ resistance }) => resistance > 0);
  return known(
    derive(NAME, volts / leastOhms(drive, cable), 'A', {
      symbol: 'I_sc',
      formula: counted.length === 0 ? 'U/Z_s' : 'U/|Z_s + Z_cable|',
      inputs: [
        drive.volts,
        drive.ohms,
        ...counted.map(({ run, resistance, reactance }) =>
          derive(`impedance of ${run.name}`, Math.hypot(resistance, reactance), 'ohm', {
            symbol: `Z_${run.name}`,
            notes: ['cold; reactance by NEC Chapter 9 Table 9 or IEC 60364-5-52'],
          }),
        ),
      ],
      governing: `from ${source.name}`,
    }),
  );
}

const alternatingFaults = new WeakMap<QuantityContext, Map<Instance, Result | undefined>>();

/** Largest prospective short-circuit current of the AC sources at a thing, with the cables before it; undefined where only electronics feed it. */
export function alternatingFaultAt(thing: Instance, context: QuantityContext): Result | undefined {
  let kept = alternatingFaults.get(context);
  if (!kept) alternatingFaults.set(context, (kept = new Map()));
  if (!kept.has(thing)) kept.set(thing, findAlternatingFault(thing, context));
  return kept.get(thing);
}

function findAlternatingFault(thing: Instance, context: QuantityContext): Result | undefined {
  const results = context.graph.nodesOf(thing).flatMap((node) =>
    context.circuitStates.flatMap(({ state, circuit }) =>
      [...(circuit.supply.get(node.key) ?? [])].flatMap((source) => {
        const result = sourceFaultAt(source, thing, node, circuit, context);
        return result ? [{ state, result }] : [];
      }),
    ),
  );
  if (results.length === 0) return undefined;
  const worst = worstOfStates(NAME, 'I_sc', 'A', results);
  // Which of several states gives it says nothing that the source does not.
  return worst.kind === 'known'
    ? known({ ...worst.derivation, governing: worst.derivation.governing?.replace(/^.*; /, '') ?? '' })
    : worst;
}

// Smallest

/** The smallest fault current at an end of a run, and what drives it. */
export interface FarFault {
  readonly current: Derivation;
  readonly source: Instance;
  readonly node: Node;
  /** Title of the state, when the design has several. */
  readonly state: string;
  /** Devices of the run between the source and the fault. */
  readonly devices: readonly Instance[];
}

/** Ohms of a loop: resistance hot, out in the line and back in the neutral or the smaller earth conductor, and reactance. */
function hotLoop(
  run: Run,
  size: Derivation | undefined,
  context: QuantityContext,
): Result | { r: Derivation; x: number } {
  const area = size ?? context.maybe(run, 'size');
  const length = context.maybe(run, 'length');
  if (!area) return missing(`size of ${run.name}`);
  if (!length) return missing(`length of ${run.name}`);
  const hot = hotConductor(run, context);
  const line = resistanceAt(run, area, length, hot, context);
  if (line.kind !== 'known') return line;
  const earth = run.carries === 'ac' ? context.maybe(run, 'earth') : undefined;
  const back =
    earth && numberIn(earth, 'mm2') < numberIn(area, 'mm2') ? resistanceAt(run, earth, length, hot, context) : line;
  if (back.kind !== 'known') return back;
  const impedance = impedanceOf(run, context);
  return {
    r: derive(`loop of ${run.name}`, numberIn(line.derivation, 'ohm') + numberIn(back.derivation, 'ohm'), 'ohm', {
      symbol: `R_${run.name}`,
      formula: 'R_out + R_back',
      inputs: back === line ? [line.derivation] : [line.derivation, back.derivation],
    }),
    x: impedance.ok ? 2 * impedance.impedance.reactance : 0,
  };
}

/** What a source drives at the least: its voltage (V) behind its highest impedance (ohm). */
interface WeakDrive {
  readonly volts: Derivation;
  readonly ohms: Derivation;
}

function weakDriveOf(source: Instance, context: QuantityContext): Result | WeakDrive {
  if (source.kind === 'battery') {
    const volts = context.quantity(source, 'lowestVoltage');
    const inner = context.quantity(source, 'bankResistance');
    if (volts.kind !== 'known') return volts;
    if (inner.kind !== 'known') return inner;
    return { volts: volts.derivation, ohms: highEnd(inner.derivation) };
  }
  const system = systemOf(source);
  if (!system) return missing(`voltage of ${source.name}`);
  const volts = derive(`voltage of ${source.name}, line to neutral`, system.lineToNeutral, 'V', { symbol: 'U_0' });
  const behind = (amperes: number, formula: string, inputs: readonly Derivation[]): WeakDrive => ({
    volts,
    ohms: derive(`impedance of ${source.name}`, system.lineToNeutral / amperes, 'ohm', {
      symbol: 'Z_s',
      formula,
      inputs: [volts, ...inputs],
    }),
  });
  if (source.kind === 'grid') {
    const stated = context.fact(source, 'faultCurrent');
    if (stated.kind !== 'known') return stated;
    const fault = lowEnd(stated.derivation);
    return behind(numberIn(fault, 'A'), 'U_0/I_sc', [fault]);
  }
  if (source.kind === 'generator') {
    const rated = context.quantity(source, 'ratedCurrent');
    if (rated.kind !== 'known') return rated;
    const sustained = context.maybe(source, 'sustainedFault');
    if (sustained) {
      const amperes = numberIn(rated.derivation, 'A') * numberIn(sustained, '');
      return behind(amperes, 'U_0/(k·I_r)', [sustained, rated.derivation]);
    }
    const reactance = context.fact(source, 'reactance');
    if (reactance.kind !== 'known') return reactance;
    const amperes = numberIn(rated.derivation, 'A') / numberIn(reactance.derivation, '');
    return behind(amperes, 'x·U_0/I_r', [reactance.derivation, rated.derivation]);
  }
  return refused(`what ${source.name} drives into a fault is not known`);
}

const isWeakDrive = (outcome: Result | WeakDrive): outcome is WeakDrive => 'volts' in outcome;

/** Fault current at the end of a way through runs, hot. `size` replaces that of `run`. */
function faultThrough(
  drive: WeakDrive,
  runs: readonly Run[],
  run: Run,
  size: Derivation | undefined,
  context: QuantityContext,
): Result {
  const loops: Derivation[] = [];
  let reactance = 0;
  for (const each of runs) {
    const loop = hotLoop(each, each === run ? size : undefined, context);
    if (!('r' in loop)) return loop;
    loops.push(loop.r);
    reactance += loop.x;
  }
  const resistance = loops.reduce((sum, loop) => sum + numberIn(loop, 'ohm'), 0);
  const ohms = Math.hypot(resistance, reactance) + numberIn(drive.ohms, 'ohm');
  if (ohms === 0) return refused('there is no resistance to limit the fault');
  return known(
    derive('smallest fault current', numberIn(drive.volts, 'V') / ohms, 'A', {
      symbol: 'I_min',
      formula: 'U/(Z_source + Z_loop)',
      inputs: [drive.volts, drive.ohms, ...loops],
      governing: 'hot conductors, fault at the far end',
    }),
  );
}

/**
 * The weakest fault at each fed end of a run that devices of the run would have to clear; results that are not known by themselves.
 * `counts` tells which devices are asked about, `size` replaces the conductors of the run.
 */
export function farFaults(
  run: Run,
  context: QuantityContext,
  counts: (device: Instance) => boolean,
  size?: Derivation,
): { faults: FarFault[]; open: Result[] } {
  const faults = new Map<string, FarFault>();
  const open: Result[] = [];
  const { near, far, loop } = context.graph.sides(run);
  const inRun = (stops: readonly { instance: Instance }[]): Instance[] =>
    stops.map(({ instance }) => instance).filter((each) => isProtective(each) && counts(each));
  const consider = (
    source: Instance,
    terminal: string,
    end: Node,
    circuit: CircuitState,
    devices: readonly Instance[],
  ): void => {
    // Electronics shut down at a short circuit by themselves; no device has to open.
    if (isElectronic(source)) return;
    const start = context.graph.nodes.get(`${source.name}.${terminal}`);
    const runs = start && wayTo(start, end, circuit, context)?.runs;
    if (!runs?.includes(run)) return;
    const drive = weakDriveOf(source, context);
    const result = isWeakDrive(drive) ? faultThrough(drive, runs, run, size, context) : drive;
    if (result.kind !== 'known') {
      open.push(result);
      return;
    }
    const before = faults.get(end.key);
    if (before && numberIn(before.current, 'A') <= numberIn(result.derivation, 'A')) return;
    faults.set(end.key, { current: result.derivation, source, node: end, state: circuit.state.title, devices });
  };
  if (loop) return { faults: [], open: [] };
  const nearEnd = context.graph.nodeOf(run.from);
  const farEnds = run.to.map((stop) => context.graph.nodeOf(stop));
  const towardsFar = inRun([run.from, ...run.through]);
  const towardsNear = inRun([...run.through, ...run.to]);
  for (const { circuit } of context.circuitStates) {
    if (run.carries === 'ac') {
      if (towardsFar.length > 0)
        for (const source of circuit.supply.get(nearEnd.key) ?? [])
          for (const end of farEnds) consider(source, 'ac', end, circuit, towardsFar);
      continue;
    }
    const banks = (nodes: readonly Node[]): Instance[] =>
      nodes.map(({ instance }) => instance).filter(({ kind }) => kind === 'battery');
    if (towardsFar.length > 0)
      for (const bank of banks(near)) for (const end of farEnds) consider(bank, 'dc', end, circuit, towardsFar);
    if (towardsNear.length > 0) for (const bank of banks(far)) consider(bank, 'dc', nearEnd, circuit, towardsNear);
    // The banks and cables of a direct-current network are the same in every state.
    break;
  }
  return { faults: [...faults.values()], open };
}

// Quantities

const runsAt = (thing: Instance, context: QuantityContext): Run[] => [
  ...new Set(context.graph.nodesOf(thing).flatMap((node) => context.graph.segmentsAt(node).map(({ run }) => run))),
];

/** Whether a thing stands in direct or alternating current; undefined where nothing says so. */
const carriesOf = (thing: Instance, context: QuantityContext): 'ac' | 'dc' | undefined => {
  const run = runsAt(thing, context).find(({ carries }) => carries !== 'any');
  return run?.carries === 'any' ? undefined : run?.carries;
};

export const faultAtThing = defineQuantity({
  name: 'faultCurrent',
  kinds: ['fuse', 'breaker', 'switch', 'transfer', 'bus', 'receptacle', 'shunt'],
  doc: 'Largest prospective short-circuit current at it: banks full and warm, services and sets at their largest, cables cold; through a device that of the larger side, at a busbar that of all sides together.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) => {
    const instance = thing as Instance;
    if (carriesOf(instance, context) === 'ac')
      return (
        alternatingFaultAt(instance, context) ??
        refused(
          `only electronics feed ${thing.name}: they limit their own fault current, their data sheets say to what`,
        )
      );
    const fault = bankFaultAt(instance, context);
    if (!fault) return electronicFault(instance, context);
    if (fault.result.kind !== 'known' || fault.facts.length === 0) return fault.result;
    const note = `an upper bound: ${fault.facts.join(', ')} would lower it`;
    return known({ ...fault.result.derivation, notes: [...fault.result.derivation.notes, note] });
  },
});

/** Without a bank: no more than what arrays, chargers and converters can give. */
function electronicFault(thing: Instance, context: QuantityContext): Result {
  const node = context.graph.nodesOf(thing)[0];
  const added = node ? islandOf(node, context).suppliers.map(({ current }) => current) : [];
  return added.length === 0
    ? refused(`neither a bank nor a charger or array feeds ${thing.name}`)
    : known(sumOf(NAME, 'I_sc', 'A', added, 'no bank: arrays and electronics give no more than their limits'));
}

/** The weakest fault that a device would have to clear, over the runs it stands in. */
function smallestOf(device: Instance, context: QuantityContext): Result {
  let smallest: Derivation | undefined;
  for (const run of runsAt(device, context)) {
    const { faults, open } = farFaults(run, context, (each) => each === device);
    if (open[0]) return open[0];
    for (const { current, node, source, devices } of faults)
      if (devices.includes(device) && (!smallest || numberIn(current, 'A') < numberIn(smallest, 'A')))
        smallest = { ...current, governing: `at ${node.instance.name}, from ${source.name}, hot conductors` };
  }
  return smallest
    ? known(smallest)
    : refused(`no bank, service or set drives a fault through ${device.name} at the far end of its run`);
}

export const smallestFault = defineQuantity({
  name: 'smallestFault',
  kinds: ['fuse', 'breaker'],
  doc: 'Smallest short-circuit current it must clear: at the far end of its run, conductors hot, the bank empty and cold, the weakest service or set (`sustainedFault` of a set where stated). Runs in loops are left out.',
  unit: 'A',
  bound: 'least',
  compute: (thing, context) => smallestOf(thing as Instance, context),
});

/** What a device does at one of its faults, in words where there is no time. */
function timeAt(device: Instance, fault: Result, context: QuantityContext): Result {
  if (fault.kind !== 'known') return fault;
  const clearing = clearingAt(device, fault.derivation, carriesOf(device, context) !== 'ac', context);
  switch (clearing.kind) {
    case 'time':
      return known(clearing.time);
    case 'instant':
      return known({ ...clearing.time, governing: 'or faster: above the largest current of its curve' });
    case 'slow':
      return refused(`${device.name} opens later than the slowest point of its curve, or not at all`);
    case 'open':
      return clearing.result;
  }
}

/** Whether a device or its class says how it opens; `calc` lists no times for the others. */
const saysHowItOpens = (thing: Thing): boolean => {
  if (thing.kind !== 'fuse' && thing.kind !== 'breaker') return false;
  const device = thing as Instance;
  const part = classOf(device);
  const has = (name: string): boolean => device.properties.has(name) || part?.properties.has(name) === true;
  return (
    has('openingTimes') || has('curve') || has('letThrough') || (part && wordIn(part.properties, 'speed')) === 'general'
  );
};

export const clearingTime = defineQuantity({
  name: 'clearingTime',
  kinds: ['fuse', 'breaker'],
  isListedFor: saysHowItOpens,
  doc: 'Longest time in which it opens at the smallest fault it must clear, from its time-current curve (`openingTimes`, `curve`, or the gates of gG fuses); `.atLargest` at the largest fault. Not known without a curve.',
  unit: 's',
  compute: (thing, context) => {
    const device = thing as Instance;
    // Without a curve that is what lacks, whatever the fault.
    if (!hasCurve(device, context)) return missing(`openingTimes of ${device.name}, from its time-current curve`);
    const least = timeAt(device, context.quantity(device, 'smallestFault'), context);
    const most = timeAt(device, context.quantity(device, 'faultCurrent'), context);
    if (least.kind !== 'known') return least;
    return known({
      ...least.derivation,
      name: 'clearing time',
      ...(most.kind === 'known'
        ? { parts: { atLargest: { ...most.derivation, name: 'clearing time at the largest fault' } } }
        : {}),
    });
  },
});

export const letThrough = defineQuantity({
  name: 'faultLetThrough',
  kinds: ['fuse', 'breaker'],
  isListedFor: saysHowItOpens,
  doc: 'I²t that flows at the largest fault until it has opened: from its `letThrough` table, else from the time of its curve.',
  unit: 'A2s',
  compute: (thing, context) => {
    const device = thing as Instance;
    const fault = context.quantity(device, 'faultCurrent');
    if (fault.kind !== 'known') return fault;
    const stated = letThroughAt(device, fault.derivation);
    if (stated) return stated;
    if (!hasCurve(device, context)) return missing(`letThrough of ${device.name}`);
    const clearing = clearingAt(device, fault.derivation, carriesOf(device, context) !== 'ac', context);
    if (clearing.kind === 'open') return clearing.result;
    if (clearing.kind !== 'time') return missing(`letThrough of ${device.name}`);
    return known(
      derive('let-through I²t', numberIn(fault.derivation, 'A') ** 2 * numberIn(clearing.time, 's'), 'A2s', {
        symbol: 'I²t',
        formula: 'I²·t',
        inputs: [fault.derivation, clearing.time],
      }),
    );
  },
});

export const faultQuantities = [faultAtThing, smallestFault, clearingTime, letThrough];
