import {
  type Derivation,
  type Result,
  derive,
  deriveQuantity,
  known,
  missing,
  numberIn,
  refused,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import { flagIn, wordIn } from '../../model/kinds/index.js';
import type { CircuitState } from '../../model/network.js';
import type { Instance, Run } from '../../model/types.js';
import { hasCurve } from '../../quantities/clearing.js';
import { resistanceAt } from '../../quantities/conductor.js';
import { highEnd } from '../../quantities/ends.js';
import { impedanceOf } from '../../quantities/network-stretches.js';
import { acrossGear } from '../../quantities/passage.js';
import { systemOf } from '../../quantities/supply.js';
import type { NotChecked } from '../define.js';
import { notChecked } from '../verdicts.js';

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

/** Runs on the shortest way from a source to a node, through gear as it stands in a state. */
function wayTo(start: Node, target: Node, circuit: CircuitState, context: DesignContext): readonly Run[] | undefined {
  const before = new Map<string, { readonly node: Node; readonly run?: Run } | undefined>([[start.key, undefined]]);
  const queue = [start];
  for (let at = 0; at < queue.length; at += 1) {
    const node = queue[at]!;
    if (node === target) break;
    const visit = (other: Node, run?: Run): void => {
      if (before.has(other.key)) return;
      before.set(other.key, { node, ...(run ? { run } : {}) });
      queue.push(other);
    };
    for (const { run, from, to } of context.graph.segmentsAt(node)) visit(from === node ? to : from, run);
    for (const other of acrossGear(node, circuit, context)) visit(other);
  }
  if (!before.has(target.key)) return undefined;
  const runs = new Set<Run>();
  for (let step = before.get(target.key); step; step = before.get(step.node.key)) if (step.run) runs.add(step.run);
  return [...runs];
}

/** Temperature of conductors that were fully loaded before the fault; 75 °C where no insulation is stated. */
function hotConductor(run: Run, context: DesignContext): Derivation | undefined {
  const own = context.maybe(run, 'insulation');
  if (own) return own;
  const value = run.properties.get('type')?.value;
  const rated = value?.type === 'part' ? value.part.properties.get('insulation')?.value : undefined;
  return rated?.type === 'quantity'
    ? deriveQuantity('conductor temperature', rated.quantity, { notes: ['hot: its rated temperature'] })
    : undefined;
}

/** Ohms of a loop: resistance hot, out in the line and back in the neutral or the smaller earth conductor, and reactance. */
function loopOf(run: Run, size: Derivation | undefined, context: DesignContext): Result | { r: Derivation; x: number } {
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

/** What a source drives into a short: its voltage (V) behind its impedance (ohm). */
interface Drive {
  readonly volts: Derivation;
  readonly ohms: Derivation;
}

function driveOf(source: Instance, context: DesignContext): Result | Drive {
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
  const behind = (current: Derivation, formula: string, inputs: readonly Derivation[]): Drive => ({
    volts,
    ohms: derive(`impedance of ${source.name}`, system.lineToNeutral / numberIn(current, 'A'), 'ohm', {
      symbol: 'Z_s',
      formula,
      inputs: [volts, ...inputs],
    }),
  });
  if (source.kind === 'grid') {
    const fault = context.fact(source, 'faultCurrent');
    return fault.kind === 'known' ? behind(fault.derivation, 'U_0/I_sc', [fault.derivation]) : fault;
  }
  if (source.kind === 'generator') {
    const rated = context.quantity(source, 'ratedCurrent');
    const reactance = context.fact(source, 'reactance');
    if (rated.kind !== 'known') return rated;
    if (reactance.kind !== 'known') return reactance;
    const amperes = numberIn(rated.derivation, 'A') / numberIn(reactance.derivation, '');
    return behind(derive('fault current', amperes, 'A'), 'x·U_0/I_r', [reactance.derivation, rated.derivation]);
  }
  return refused(`what ${source.name} drives into a fault is not known`);
}

const isDrive = (outcome: Result | Drive): outcome is Drive => 'volts' in outcome;

/** Fault current at a node through the runs of a way, hot. `size` replaces that of `run`. */
function faultThrough(
  drive: Drive,
  runs: readonly Run[],
  run: Run,
  size: Derivation | undefined,
  context: DesignContext,
): Result {
  const loops: Derivation[] = [];
  let reactance = 0;
  for (const each of runs) {
    const loop = loopOf(each, each === run ? size : undefined, context);
    if (!('r' in loop)) return loop;
    loops.push(loop.r);
    reactance += loop.x;
  }
  const resistance = loops.reduce((sum, loop) => sum + numberIn(loop, 'ohm'), 0);
  const ohms = Math.hypot(resistance, reactance) + numberIn(drive.ohms, 'ohm');
  if (ohms === 0) return refused('there is no resistance to limit the fault');
  const volts = numberIn(drive.volts, 'V');
  return known(
    derive('smallest fault current', volts / ohms, 'A', {
      symbol: 'I_min',
      formula: 'U/(Z_source + Z_loop)',
      inputs: [drive.volts, drive.ohms, ...loops],
      governing: 'hot conductors, fault at the far end',
    }),
  );
}

const isDevice = ({ kind }: Instance): boolean => kind === 'fuse' || kind === 'breaker';

/** One open question for all devices of a design for which no time-current data exist. */
export function* withoutCurve(context: DesignContext): Generator<NotChecked> {
  const names = context.system.instances
    .filter((device) => isDevice(device) && !hasCurve(device, context))
    .filter((device) => context.graph.nodesOf(device).some((node) => context.graph.segmentsAt(node).length > 0))
    .map(({ name }) => name);
  if (names.length === 0) return;
  const { name, place } = context.system;
  yield notChecked({ path: name, place }, refused(`no time-current data for ${names.join(', ')}`));
}

/** The devices of a run for which there are time-current data. */
export const devicesWithCurve = (
  stops: readonly { readonly instance: Instance }[],
  context: DesignContext,
): Instance[] =>
  stops.map(({ instance }) => instance).filter((device) => isDevice(device) && hasCurve(device, context));

/** The weakest fault at each fed end of a run that devices of the run with known curves would have to clear; results that are not known by themselves. */
export function farFaults(run: Run, context: DesignContext, size?: Derivation): { faults: FarFault[]; open: Result[] } {
  const faults = new Map<string, FarFault>();
  const open: Result[] = [];
  const { near, far, loop } = context.graph.sides(run);
  const inRun = (stops: readonly { instance: Instance }[]): Instance[] => devicesWithCurve(stops, context);
  /** Electronics shut down at a short circuit by themselves; no device has to open. */
  const isElectronic = (source: Instance): boolean =>
    source.kind === 'inverter' ||
    flagIn(source.properties, 'integralProtection') === true ||
    (source.kind === 'generator' && wordIn(source.properties, 'waveform') === 'inverter');
  const consider = (
    source: Instance,
    terminal: string,
    end: Node,
    circuit: CircuitState,
    devices: readonly Instance[],
  ): void => {
    if (isElectronic(source)) return;
    const start = context.graph.nodes.get(`${source.name}.${terminal}`);
    const runs = start && wayTo(start, end, circuit, context);
    if (!runs?.includes(run)) return;
    const drive = driveOf(source, context);
    const result = isDrive(drive) ? faultThrough(drive, runs, run, size, context) : drive;
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
