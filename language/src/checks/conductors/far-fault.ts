import { type Derivation, type Result, refused } from '../../derivation/index.js';
import { type DesignContext, query } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { classOf, deviceTable } from '../../quantities/conductors/device-class.js';
import { isBounded } from '../../quantities/faults/class-bounds.js';
import { hasCurve } from '../../quantities/faults/clearing.js';
import { type FarFault, farFaults as faultsAtEnds } from '../../quantities/faults/faults-smallest.js';
import type { NotChecked } from '../define.js';
import { notChecked } from '../verdicts.js';
import { type Step, gathered, leadsOver, stepFrom, stepTo } from '../../quantities/network/ways.js';
import { alternatingFaultAt, bankFaultAt } from './faults.js';
import { banksJoinedTo } from '../../quantities/supply/joined.js';
import { alternatingOutputOf, isDevice } from '../../model/roles.js';

export type { FarFault };

/** Whether anything says how a device opens: a curve or let-through of its own or of its class, or the bounds of its standard. */
const isJudged = (device: Instance, context: DesignContext): boolean =>
  hasCurve(device, context) || isBounded(device) || deviceTable(device, 'letThrough') !== undefined;

/** Whether a bank, service or set drives a fault through a device; electronics and arrays give little more than they do at work. */
const isFaulted = (device: Instance, context: DesignContext): boolean => {
  const runs = context.graph.nodesOf(device).flatMap((node) => context.graph.segmentsAt(node).map(({ run }) => run));
  return runs.some(({ carries }) =>
    carries === 'ac' ? alternatingFaultAt(device, context) !== undefined : bankFaultAt(device, context) !== undefined,
  );
};

/** One open question for all devices of a design that do not say what they are, and one for those of whose class no time-current data exist. */
export function* withoutCurve(context: DesignContext): Generator<NotChecked> {
  const devices = context.system.instances
    .filter((device) => isDevice(device) && !isJudged(device, context))
    .filter((device) => isFaulted(device, context));
  const { name, place } = context.system;
  const unsaid = devices.filter((device) => classOf(device) === undefined);
  const facts = unsaid.map((device) => `class or openingTimes of ${device.name}`);
  if (facts.length > 0) yield notChecked({ path: name, place }, { kind: 'missing', missing: facts });
  const names = devices.filter((device) => !unsaid.includes(device)).map((device) => device.name);
  if (names.length > 0)
    yield notChecked({ path: name, place }, refused(`no time-current data for ${names.join(', ')}`));
}

/** The devices of a run of which something says how they open. */
export const devicesWithCurve = (
  stops: readonly { readonly instance: Instance }[],
  context: DesignContext,
): Instance[] =>
  stops.map(({ instance }) => instance).filter((device) => isDevice(device) && isJudged(device, context));

/** Devices before a run that has none of its own, and the thing at which what they let through enters it. */
export interface Before {
  readonly devices: readonly Instance[];
  readonly entry: Instance;
}

/**
 * The devices before a run that has none of its own, on the one way from the one bank or source that feeds it; undefined where there are
 * several, which each see a part of a fault only.
 */
export function devicesBefore(run: Run, context: DesignContext): Before | undefined {
  const stops = [run.from, ...run.through, ...run.to].map(({ instance }) => instance);
  if (stops.some(isDevice) || context.graph.sides(run).loop || run.carries === 'any') return undefined;
  const start = context.graph.nodeOf(run.from);
  const ends = [start, ...run.to.map((stop) => context.graph.nodeOf(stop))];
  const ways =
    run.carries === 'dc'
      ? banksJoinedTo(start, context).map((bank) => ends.map((end) => stepFrom(bank, end, context)))
      : context.circuitStates.flatMap(({ circuit }) =>
          [...(circuit.supply.get(start.key) ?? [])].map((source) => {
            const from = context.graph.nodes.get(`${source.name}.${alternatingOutputOf(source)}`);
            return ends.map((end) => from && stepTo(from, end, circuit, context));
          }),
        );
  // The fed end is the one whose way does not lead through the run.
  const fed = ways.map((each) => each.find((way) => way && !leadsOver(run, way)));
  const [first, ...others] = fed;
  if (!first || (run.carries === 'dc' && others.length > 0)) return undefined;
  const entry = first.node.instance;
  const devicesOn = (way: Step | undefined): readonly Instance[] =>
    way ? gathered(DEVICES, way, NO_DEVICES, (so, { node }) => withJudged(so, node.instance, context), context) : [];
  // What protects in every state.
  const devices = devicesOn(first).filter((device) => others.every((way) => devicesOn(way).includes(device)));
  return devices.length > 0 ? { devices: [...new Set(devices)], entry } : undefined;
}

const NO_DEVICES: readonly Instance[] = [];

const DEVICES = query<Step, Map<Step, readonly Instance[]>>(
  'devices along a way of which something says how they open',
);

const withJudged = (so: readonly Instance[], thing: Instance, context: DesignContext): readonly Instance[] =>
  isDevice(thing) && isJudged(thing, context) ? [...so, thing] : so;

/** The weakest fault at each fed end of a run that devices of the run with known curves would have to clear; results that are not known by themselves. */
export const farFaults = (
  run: Run,
  context: DesignContext,
  size?: Derivation,
  before?: readonly Instance[],
): { faults: FarFault[]; open: Result[] } =>
  faultsAtEnds(run, context, (device) => isJudged(device, context), size, before);
