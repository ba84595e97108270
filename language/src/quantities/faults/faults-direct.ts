import { type Derivation, type Result, derive, known, missing, numberIn, refused } from '../../derivation/index.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Run } from '../../model/types.js';
import { NotFinite } from '../../quantity/index.js';
import { MatrixBuilder, type Factors, SingularMatrix, factorise, minimumDegreeOrder } from '../../solve/sparse.js';
import { resistanceAt } from '../conductors/conductor.js';
import type { QuantityContext } from '../define.js';
import { dcSupply } from '../flow/direct-flows.js';
import { LARGEST, coldConductor, entryOf, stretchTo } from './fault-ways.js';
import { Joints } from '../network/joints.js';
import { stretchesOf } from '../network/stretches.js';
import { Outward, type Step, gathered, otherEnd, wayFrom } from '../network/ways.js';
import { banksJoinedTo } from '../supply/joined.js';
import { sumFormula, sumOf } from '../worst.js';
import { isJoint } from '../../model/roles.js';
import { query } from '../../model/context.js';

/** Largest prospective short-circuit current that banks drive through a thing, cables cold. */
export interface FaultAt {
  readonly result: Result;
  /** Facts that would lower it. */
  readonly facts: readonly string[];
  /** The banks that drive it. */
  readonly banks: readonly Instance[];
}

/** Resistance out and back of a stretch of a run, cold; undefined where it cannot be worked out. */
function loopOf(run: Run, size: Derivation, length: Derivation, context: QuantityContext): Derivation | undefined {
  const one = resistanceAt(run, size, length, coldConductor(context), context);
  return one.kind === 'known'
    ? derive(`loop of ${run.name}`, 2 * numberIn(one.derivation, 'ohm'), 'ohm', {
        symbol: `R_${run.name}`,
        formula: '2·R',
        inputs: [one.derivation],
      })
    : undefined;
}

const LOOPS = query<Run, Derivation | undefined>('resistance of a whole run out and back, cold');

/** The same of a whole run, on which many things can hang. */
const wholeLoopOf = (run: Run, context: QuantityContext): Derivation | undefined =>
  context.kept(LOOPS, run, () => {
    const size = context.maybe(run, 'size');
    const length = context.maybe(run, 'length');
    return size && length && loopOf(run, size, length, context);
  });

/** The whole runs along a way, from its start on, with what their cold cables come to together. */
interface ColdWay {
  readonly before?: ColdWay;
  readonly run?: Run;
  readonly loop?: Derivation | undefined;
  /** Of the loops that are known. */
  readonly count: number;
  /** ohm */
  readonly resistance: number;
  readonly facts: readonly string[];
}

const NO_WAY: ColdWay = { count: 0, resistance: 0, facts: [] };

const COLD_WAYS = query<Step, Map<Step, ColdWay>>('cold cables along a way');

function overRun(
  so: ColdWay,
  run: Run,
  length: Derivation | undefined,
  lacking: string,
  loop: Derivation | undefined,
  context: QuantityContext,
): ColdWay {
  const size = context.maybe(run, 'size');
  const facts = [...(size ? [] : [`size of ${run.name}`]), ...(length ? [] : [lacking])];
  return {
    before: so,
    run,
    loop,
    count: so.count + (loop ? 1 : 0),
    resistance: so.resistance + (loop ? numberIn(loop, 'ohm') : 0),
    facts: facts.length === 0 ? so.facts : [...so.facts, ...facts],
  };
}

const overWhole = (so: ColdWay, run: Run, context: QuantityContext): ColdWay =>
  overRun(so, run, context.maybe(run, 'length'), `length of ${run.name}`, wholeLoopOf(run, context), context);

/** Resistance out and back along a way to a thing, cold; its own run counts as far as it stands in it. */
function cableTo(
  thing: Instance,
  end: Step,
  context: QuantityContext,
): { resistance: Derivation; facts: readonly string[] } {
  let before: Step | undefined = end;
  while (before && !before.run) before = before.before;
  const run = before?.run;
  while (before && (!before.run || before.run === run)) before = before.before;
  const so = before
    ? gathered(
        COLD_WAYS,
        before,
        NO_WAY,
        (way, step) => (!step.run || step.run === way.run ? way : overWhole(way, step.run, context)),
        context,
      )
    : NO_WAY;
  let way = so;
  if (run) {
    const size = context.maybe(run, 'size');
    const length = stretchTo(thing, run, entryOf(run, end), context);
    const loop = size && length && loopOf(run, size, length, context);
    way = overRun(so, run, length, `distance of ${thing.name} in ${run.name}`, loop, context);
  }
  const parts = new Array<Derivation>(way.count);
  for (let each: ColdWay | undefined = way; each; each = each.before) if (each.loop) parts[each.count - 1] = each.loop;
  return {
    resistance: derive('cable out and back', way.resistance, 'ohm', {
      symbol: 'R_cable',
      formula: sumFormula(parts),
      inputs: parts,
    }),
    facts: way.facts,
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
  end: Step,
  context: QuantityContext,
): { current: Derivation; facts: readonly string[] } {
  const { resistance, facts } = cableTo(thing, end, context);
  if (numberIn(resistance, 'ohm') === 0) return { current: { ...fault, name: LARGEST }, facts };
  const amperes = numberIn(volts, 'V') / (numberIn(ohms, 'ohm') + numberIn(resistance, 'ohm'));
  return {
    current: derive(LARGEST, amperes, 'A', {
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
    const whole = size && length && resistanceAt(run, size, length, coldConductor(context), context);
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

const NETWORKS = query<ReadonlyMap<string, Node>, BankNetwork>('banks and cold cables of an island');

function bankNetwork(node: Node, drivers: readonly Driver[], context: QuantityContext): BankNetwork {
  const island = context.graph.reach(node);
  return context.kept(NETWORKS, island, () => new BankNetwork([...island.values()], drivers, context));
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
  const amperes = isJoint(thing)
    ? network.into(node).total
    : unplaced
      ? network.throughUnplaced(node)
      : network.through(node);
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
      derive(LARGEST, amperes, 'A', {
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
  /** Facts without which what some of them add is not known. */
  readonly missing: readonly string[];
  outward?: Outward;
}

const ISLANDS = query<ReadonlyMap<string, Node>, Island>('what adds to the banks of an island');

function islandOf(node: Node, context: QuantityContext): Island {
  const nodes = context.graph.reach(node);
  return context.kept(ISLANDS, nodes, () => suppliersAmong(nodes.values(), context));
}

function suppliersAmong(nodes: Iterable<Node>, context: QuantityContext): Island {
  const suppliers: Supplier[] = [];
  const lacking: string[] = [];
  for (const node of nodes) {
    let largest: Derivation | undefined;
    for (const { state, circuit } of context.circuitStates) {
      const supply = dcSupply(node, state, circuit, context);
      if (supply?.kind === 'known' && numberIn(supply.derivation, 'A') > (largest ? numberIn(largest, 'A') : 0))
        largest = { ...supply.derivation, symbol: `I_${node.instance.name}` };
      if (supply?.kind === 'missing') lacking.push(...supply.missing);
    }
    if (largest) suppliers.push({ node, current: largest });
  }
  return { suppliers, missing: [...new Set(lacking)] };
}

const BANK_FAULTS = query<Instance, FaultAt | undefined>('largest fault current of the banks at a thing');

/**
 * The largest fault current through a thing is that of the banks on the other side of it, with what chargers add there; on a busbar all
 * sides together. One bank without loops is worked along its cables, all else as a network.
 */
export function bankFaultAt(thing: Instance, context: QuantityContext): FaultAt | undefined {
  return context.kept(BANK_FAULTS, thing, () => limitedFault(thing, context));
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
  const banks = banksJoinedTo(node, context);
  if (banks.length === 0) return undefined;
  const drivers: Driver[] = [];
  for (const bank of banks) {
    const driver = driverOf(bank, context);
    if (!isDriver(driver)) return { result: driver, facts: [], banks };
    drivers.push(driver);
  }
  if (banks.length > 1 || !context.graph.treeAt(node)) return fromNetwork(thing, node, drivers, context);
  const island = islandOf(node, context);
  const outward = (island.outward ??= new Outward(context.graph.nodesOf(banks[0]!)[0]!, context));
  const { current, facts } = alongWay(drivers[0]!, thing, outward.stepTo(node), context);
  const added = island.suppliers
    .filter((each) => isJoint(thing) || !outward.isBeyond(each.node, node))
    .map((each) => each.current);
  const total = added.length === 0 ? current : sumOf(LARGEST, 'I_sc', 'A', [current, ...added]);
  return { result: known(total), facts, banks };
}

/** Largest fault current without a bank: no more than what arrays, chargers and converters can give. */
export function electronicFault(thing: Instance, context: QuantityContext): Result {
  const node = context.graph.nodesOf(thing)[0];
  const island = node && islandOf(node, context);
  if (island && island.missing.length > 0) return missing(...island.missing);
  const added = island?.suppliers.map(({ current }) => current) ?? [];
  return added.length === 0
    ? refused(`neither a bank nor a charger or array feeds ${thing.name}`)
    : known(sumOf(LARGEST, 'I_sc', 'A', added, { kind: 'noBank' }));
}
