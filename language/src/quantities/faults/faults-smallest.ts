import { type Derivation, type Result, derive, known, missing, numberIn, refused } from '../../derivation/index.js';
import { query } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { CircuitState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { sameSize } from '../../quantity/index.js';
import { resistanceAt } from '../conductors/conductor.js';
import type { QuantityContext } from '../define.js';
import { lowEnd } from '../ends.js';
import { faultShareOf } from './fault-shares.js';
import { isElectronic } from './fault-ways.js';
import { hotConductor, impedanceOf } from '../network/stretches.js';
import { type Step, gathered, leadsOver, stepTo, stepsFrom } from '../network/ways.js';
import { highestResistance, leavesAgeingOut } from '../storage/bank-fault.js';
import { systemOf } from '../supply/supply.js';
import { banksJoinedTo } from '../supply/joined.js';
import { alternatingOutputOf, faultSourcesOf, isBank, isDevice, storingOf } from '../../model/roles.js';

/** The smallest fault current at an end of a run, and what drives it. */
export interface FarFault {
  readonly current: Derivation;
  readonly source: Instance;
  readonly node: Node;
  /** Title of the state, when the design has several. */
  readonly state: string;
  /** Devices of the run between the source and the fault. */
  readonly devices: readonly Instance[];
  /** What flows in the first tenth of a second, where that is more: a set gives less and less after it. */
  readonly early?: Derivation;
  /** What tells how much of the current lasts, where it is not known: then `current` is that of the first tenth of a second. */
  readonly lasting?: string;
  /** The same driven by aged units, where the resistance of the bank is stated as one figure, and what would tell it. */
  readonly aged?: { readonly current: Derivation; readonly fact: string };
}

interface HotLoop {
  readonly r: Derivation;
  readonly x: number;
}

const HOT_LOOPS = query<readonly [Run, Derivation | undefined], Result | HotLoop>('ohms of the hot loop of a run');

const hotLoop = (run: Run, size: Derivation | undefined, context: QuantityContext): Result | HotLoop =>
  context.keptFor(HOT_LOOPS, run, size, () => findHotLoop(run, size, context));

/** Ohms of a loop: resistance hot, out in the line and back in the neutral or the smaller earth conductor, and reactance. */
function findHotLoop(run: Run, size: Derivation | undefined, context: QuantityContext): Result | HotLoop {
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
  /** Impedance in the first tenth of a second. */
  readonly early?: Derivation;
  /** The fact that is missing for what lasts. */
  readonly lasting?: string;
  /** Impedance of aged units, where what is stated leaves ageing out. */
  readonly aged?: Derivation;
}

/** By how many times the resistance of a unit grows until it is replaced: IEEE 1188 has one looked into from a third to a half more, from memory. */
const AGED = 1.5;

const WEAK_DRIVES = query<Instance, Result | WeakDrive>('what a source drives into a fault at the least');

const weakDriveOf = (source: Instance, context: QuantityContext): Result | WeakDrive =>
  context.kept(WEAK_DRIVES, source, () => findWeakDrive(source, context));

function findWeakDrive(source: Instance, context: QuantityContext): Result | WeakDrive {
  if (isBank(source)) {
    const volts = context.quantity(source, 'lowestVoltage');
    const inner = highestResistance(source, context);
    if (volts.kind !== 'known') return volts;
    if (inner.kind !== 'known') return inner;
    const drive = { volts: volts.derivation, ohms: inner.derivation };
    if (!leavesAgeingOut(source, context)) return drive;
    const aged = derive(`resistance of ${source.name}, aged`, AGED * numberIn(inner.derivation, 'ohm'), 'ohm', {
      symbol: 'R_aged',
      formula: '1.5·R_i',
      inputs: [inner.derivation],
      notes: ['stated as one figure: half more until its units are replaced (IEEE 1188, from memory)'],
    });
    return { ...drive, aged };
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
  const drives = faultSourcesOf(source).find(({ at }) => at === alternatingOutputOf(source));
  if (drives?.as === 'service') {
    const stated = context.fact(source, drives.current);
    if (stated.kind !== 'known') return stated;
    const fault = lowEnd(stated.derivation);
    return behind(numberIn(fault, 'A'), 'U_0/I_sc', [fault]);
  }
  if (drives?.as === 'set') {
    const rated = context.quantity(source, 'ratedCurrent');
    if (rated.kind !== 'known') return rated;
    const sustained = context.maybe(source, 'sustainedFault');
    const reactance = context.fact(source, 'reactance');
    const early =
      reactance.kind === 'known'
        ? behind(numberIn(rated.derivation, 'A') / numberIn(reactance.derivation, ''), 'x·U_0/I_r', [
            reactance.derivation,
            rated.derivation,
          ])
        : undefined;
    if (sustained) {
      const amperes = numberIn(rated.derivation, 'A') * numberIn(sustained, '');
      const drive = behind(amperes, 'U_0/(k·I_r)', [sustained, rated.derivation]);
      return early && numberIn(early.ohms, 'ohm') < numberIn(drive.ohms, 'ohm')
        ? { ...drive, early: early.ohms }
        : drive;
    }
    // Behind its transient reactance a set drives a current that decays within tenths of a second to what its exciter holds.
    return early ? { ...early, lasting: `sustainedFault of ${source.name}` } : reactance;
  }
  return refused(`what ${source.name} drives into a fault is not known`);
}

const isWeakDrive = (outcome: Result | WeakDrive): outcome is WeakDrive => 'volts' in outcome;

/** The hot loops of the runs of a way, from its start on, with what they come to together. */
interface HotWay {
  readonly before?: HotWay;
  readonly run?: Run;
  readonly loop?: Derivation;
  readonly count: number;
  /** ohm */
  readonly resistance: number;
  readonly reactance: number;
}

const NO_WAY: HotWay = { count: 0, resistance: 0, reactance: 0 };

const HOT_WAYS = query<Step, Map<Step, Result | HotWay>>('hot loops along a way');

/** One run further along a way, unless it is still the same; what lacks on it is told for all behind it. */
function overRun(
  so: Result | HotWay,
  run: Run | undefined,
  size: Derivation | undefined,
  context: QuantityContext,
): Result | HotWay {
  if ('kind' in so || !run || so.run === run) return so;
  const loop = hotLoop(run, size, context);
  if ('kind' in loop) return loop;
  return {
    before: so,
    run,
    loop: loop.r,
    count: so.count + 1,
    resistance: so.resistance + numberIn(loop.r, 'ohm'),
    reactance: so.reactance + loop.x,
  };
}

/** The hot loops of a way. What lies before a run that has another size is kept with those of all other ways. */
function hotWayTo(end: Step, run: Run, size: Derivation | undefined, context: QuantityContext): Result | HotWay {
  const further = (so: Result | HotWay, step: Step): Result | HotWay =>
    overRun(so, step.run, step.run === run ? size : undefined, context);
  const ahead = size ? stepsFrom(run, end) : [];
  const before = ahead.length > 0 ? ahead[0]!.before : end;
  const so = before ? gathered(HOT_WAYS, before, NO_WAY, further, context) : NO_WAY;
  return ahead.reduce(further, so);
}

/** Fault current at the end of a way that leads over a run, hot. `size` replaces that of `run`. */
function faultThrough(
  drive: WeakDrive,
  end: Step,
  run: Run,
  size: Derivation | undefined,
  context: QuantityContext,
): Result {
  const way = hotWayTo(end, run, size, context);
  if ('kind' in way) return way;
  const loops = new Array<Derivation>(way.count);
  for (let each: HotWay | undefined = way; each?.loop; each = each.before) loops[each.count - 1] = each.loop;
  const ohms = Math.hypot(way.resistance, way.reactance) + numberIn(drive.ohms, 'ohm');
  if (ohms === 0) return refused('there is no resistance to limit the fault');
  return known(
    derive('smallest fault current', numberIn(drive.volts, 'V') / ohms, 'A', {
      symbol: 'I_min',
      formula: 'U/(Z_source + Z_loop)',
      inputs: [drive.volts, drive.ohms, ...loops],
      governing: [{ kind: 'farFault', isOverOneWay: false }],
    }),
  );
}

/** Fault current that arrives over a run at a node to which several ways lead, hot: its share of what the source drives over all of them. */
function faultOverOneWay(
  drive: WeakDrive,
  start: Node,
  end: Node,
  run: Run,
  circuit: CircuitState,
  size: Derivation | undefined,
  context: QuantityContext,
): Result | undefined {
  const own = context.maybe(run, 'size');
  if (size && !(own && sameSize(numberIn(size, 'mm2'), numberIn(own, 'mm2'))))
    return refused(`how the current divides if ${run.name} had another size is not worked out`);
  const share = faultShareOf(start, end, run, circuit, context, (each) => {
    const loop = hotLoop(each, undefined, context);
    return 'r' in loop ? { resistance: numberIn(loop.r, 'ohm'), reactance: loop.x } : loop;
  });
  if (!share || 'kind' in share) return share;
  const ways = derive('impedance of all ways together', share.impedance, 'ohm', {
    symbol: 'Z_ways',
    notes: ['solved as a network of runs, conductors hot, out and back'],
  });
  const part = derive(`share that arrives over ${run.name}`, share.share, '', { symbol: 's' });
  const ohms = share.impedance + numberIn(drive.ohms, 'ohm');
  return known(
    derive('smallest fault current', (numberIn(drive.volts, 'V') / ohms) * share.share, 'A', {
      symbol: 'I_min',
      formula: 's·U/(Z_source + Z_ways)',
      inputs: [drive.volts, drive.ohms, ways, part],
      governing: [{ kind: 'farFault', isOverOneWay: true }],
    }),
  );
}

const BANKS_BESIDE = query<Run, { readonly near: readonly Instance[]; readonly far: readonly Instance[] }>(
  'the banks on either side of a run',
);

/**
 * The weakest fault at each fed end of a run that devices of the run would have to clear; results that are not known by themselves.
 * `counts` tells which devices are asked about, `size` replaces the conductors of the run, and devices `before` a run stand for those it
 * does not have.
 */
export function farFaults(
  run: Run,
  context: QuantityContext,
  counts: (device: Instance) => boolean,
  size?: Derivation,
  before: readonly Instance[] = [],
): { faults: FarFault[]; open: Result[] } {
  const faults = new Map<string, FarFault>();
  const open: Result[] = [];
  const sides = context.graph.sides(run);
  const { loop } = sides;
  const inRun = (stops: readonly { instance: Instance }[]): Instance[] =>
    stops.map(({ instance }) => instance).filter((each) => isDevice(each) && counts(each));
  const consider = (
    source: Instance,
    terminal: string | undefined,
    end: Node,
    circuit: CircuitState,
    devices: readonly Instance[],
  ): void => {
    // Electronics shut down at a short circuit by themselves; no device has to open.
    if (isElectronic(source)) return;
    const start = context.graph.nodes.get(`${source.name}.${terminal}`);
    const way = start && stepTo(start, end, circuit, context);
    if (!way || (!loop && !leadsOver(run, way))) return;
    const drive = weakDriveOf(source, context);
    const driven = (by: WeakDrive): Result | undefined =>
      loop ? faultOverOneWay(by, start, end, run, circuit, size, context) : faultThrough(by, way, run, size, context);
    const result = isWeakDrive(drive) ? driven(drive) : drive;
    if (!result) return;
    if (result.kind !== 'known') {
      open.push(result);
      return;
    }
    const before = faults.get(end.key);
    if (before && numberIn(before.current, 'A') <= numberIn(result.derivation, 'A')) return;
    const early = isWeakDrive(drive) && drive.early ? driven({ ...drive, ohms: drive.early }) : undefined;
    const aged = isWeakDrive(drive) && drive.aged ? driven({ ...drive, ohms: drive.aged }) : undefined;
    faults.set(end.key, {
      current: result.derivation,
      source,
      node: end,
      state: circuit.state.title,
      devices,
      ...(early?.kind === 'known' ? { early: early.derivation } : {}),
      ...(isWeakDrive(drive) && drive.lasting ? { lasting: drive.lasting } : {}),
      ...(aged?.kind === 'known'
        ? { aged: { current: aged.derivation, fact: `resistance of ${source.name} from new to aged, as a range` } }
        : {}),
    });
  };
  const nearEnd = context.graph.nodeOf(run.from);
  const farEnds = run.to.map((stop) => context.graph.nodeOf(stop));
  const isBare = inRun([run.from, ...run.through, ...run.to]).length === 0;
  const towardsFar = isBare ? before : inRun([run.from, ...run.through]);
  const towardsNear = isBare ? before : inRun([...run.through, ...run.to]);
  for (const { circuit } of context.circuitStates) {
    if (run.carries === 'ac') {
      if (towardsFar.length > 0)
        for (const source of circuit.supply.get(nearEnd.key) ?? [])
          for (const end of farEnds) consider(source, alternatingOutputOf(source), end, circuit, towardsFar);
      // In a loop current comes from the far end too.
      if (loop && towardsNear.length > 0)
        for (const source of circuit.supply.get(nearEnd.key) ?? [])
          consider(source, alternatingOutputOf(source), nearEnd, circuit, towardsNear);
      continue;
    }
    const banks = context.kept(BANKS_BESIDE, run, () => {
      const joined = banksJoinedTo(nearEnd, context);
      const [bank, ...others] = joined;
      if (!bank) return { near: [], far: [] };
      const { groups, loop: isCrossed } = context.graph.groups(run);
      if (others.length === 0 && !isCrossed) {
        const [node] = context.graph.nodesOf(bank);
        const on = (at: number): Instance[] => (groups.at(at)!.holds(node!) ? [bank] : []);
        return { near: on(0), far: on(-1) };
      }
      const among = (nodes: readonly Node[]): Instance[] => nodes.map(({ instance }) => instance).filter(isBank);
      return { near: among(sides.near), far: among(sides.far) };
    });
    if (towardsFar.length > 0)
      for (const bank of banks.near)
        for (const end of farEnds) consider(bank, storingOf(bank)!.at, end, circuit, towardsFar);
    if (towardsNear.length > 0)
      for (const bank of banks.far) consider(bank, storingOf(bank)!.at, nearEnd, circuit, towardsNear);
    // The banks and cables of a direct-current network are the same in every state.
    break;
  }
  return { faults: [...faults.values()], open };
}
