import {
  type Derivation,
  type Result,
  becauseOf,
  derive,
  known,
  missing,
  numberIn,
  refused,
} from '../../derivation/index.js';
import type { Instance, Run, Thing } from '../../model/types.js';
import { classBoundAt, isBounded } from './class-bounds.js';
import { clearingAt, hasCurve, letThroughAt } from './clearing.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { classOf } from '../conductors/device-class.js';
import { alternatingFaultAt } from './faults-alternating.js';
import { bankFaultAt, electronicFault } from './faults-direct.js';
import { farFaults } from './faults-smallest.js';
import { wordIn } from '../../model/stated-facts.js';
import { isDevice } from '../../model/roles.js';
import { mayConduct, mayProtect } from '../../equipment/index.js';

const runsAt = (thing: Instance, context: QuantityContext): Run[] => [
  ...new Set(context.graph.nodesOf(thing).flatMap((node) => context.graph.segmentsAt(node).map(({ run }) => run))),
];

/** Whether a thing stands in direct or alternating current; undefined where nothing says so. */
const carriesOf = (thing: Instance, context: QuantityContext): 'ac' | 'dc' | undefined => {
  const run = runsAt(thing, context).find(({ carries }) => carries !== 'any');
  return run?.carries === 'any' ? undefined : run?.carries;
};

const faultAtThing = defineQuantity({
  name: 'faultCurrent',
  of: [mayConduct],
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

/** The weakest fault that a device would have to clear, over the runs it stands in. */
function smallestOf(device: Instance, context: QuantityContext): Result {
  let smallest: Derivation | undefined;
  for (const run of runsAt(device, context)) {
    const { faults, open } = farFaults(run, context, (each) => each === device);
    if (open[0]) return open[0];
    for (const { current, node, source, devices } of faults)
      if (devices.includes(device) && (!smallest || numberIn(current, 'A') < numberIn(smallest, 'A')))
        smallest = {
          ...current,
          governing: [{ kind: 'faultPlace', at: node.instance.name, source: source.name }],
        };
  }
  return smallest
    ? known(smallest)
    : refused(`no bank, service or generator drives a fault through ${device.name} at the far end of its run`);
}

const smallestFault = defineQuantity({
  name: 'smallestFault',
  of: [mayProtect],
  doc: 'Smallest short-circuit current it must clear: at the far end of its run, conductors hot, the bank empty and cold, the weakest service or generator (`sustainedFault` of a generator where stated). Where several ways lead to the fault, the share that arrives over its own run.',
  unit: 'A',
  bound: 'least',
  compute: (thing, context) => smallestOf(thing as Instance, context),
});

/** s: a device that limits the current lets less than the prospective one flow, so that its I²t may take a half-wave. From memory. */
const LEAST_TIME = 0.01;

/** The longest time that the class of a device allows it at a fault. */
function timeByClass(device: Instance, current: Derivation, isDirect: boolean, context: QuantityContext): Result {
  const rating = context.fact(device, 'rating');
  if (rating.kind !== 'known') return rating;
  const bound = classBoundAt(device, current, rating.derivation, isDirect);
  if (bound?.kind === 'energy') {
    const flows = numberIn(bound.energy, 'A2s') / numberIn(current, 'A') ** 2;
    return known(
      derive('clearing time', Math.max(flows, LEAST_TIME), 's', {
        symbol: 't',
        formula: flows > LEAST_TIME ? 'I²t/I²' : 'one half-wave',
        inputs: [bound.energy, current],
        ...becauseOf(bound.energy),
      }),
    );
  }
  return bound?.time ? known(bound.time) : refused(`${device.name} may stay closed: too little for its class to open`);
}

/** What a device does at one of its faults, in words where there is no time. */
function timeAt(device: Instance, fault: Result, context: QuantityContext): Result {
  if (fault.kind !== 'known') return fault;
  const isDirect = carriesOf(device, context) !== 'ac';
  if (!hasCurve(device, context)) return timeByClass(device, fault.derivation, isDirect, context);
  const clearing = clearingAt(device, fault.derivation, isDirect, context);
  switch (clearing.kind) {
    case 'time':
      return known(clearing.time);
    case 'instant':
      return known({ ...clearing.time, governing: [{ kind: 'aboveCurve' }] });
    case 'slow':
      return refused(`${device.name} opens later than the slowest point of its curve, or not at all`);
    case 'open':
      return clearing.result;
  }
}

/** Whether a device or its class states one of some facts, or is a general-purpose fuse; `calc` lists nothing for the others. */
const saysOneOf =
  (...names: readonly string[]) =>
  (thing: Thing): boolean => {
    const device = instance(thing);
    if (!isDevice(device)) return false;
    const part = classOf(device);
    const has = (name: string): boolean => device.properties.has(name) || part?.properties.has(name) === true;
    return names.some(has) || (part && wordIn(part.properties, 'speed')) === 'general';
  };

const clearingTime = defineQuantity({
  name: 'clearingTime',
  of: [mayProtect],
  isListedFor: saysOneOf('openingTimes', 'curve', 'letThrough'),
  doc: 'Longest time in which it opens at the smallest fault it must clear, from its time-current curve (`openingTimes`, `curve`, or the gates of gG fuses), else the longest that its class allows; `.atLargest` at the largest fault.',
  unit: 's',
  compute: (thing, context) => {
    const device = thing as Instance;
    // Without a curve that is what lacks, whatever the fault.
    if (!hasCurve(device, context) && !isBounded(device))
      return missing(`openingTimes of ${device.name}, from its time-current curve`);
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

const letThrough = defineQuantity({
  name: 'faultLetThrough',
  of: [mayProtect],
  isListedFor: saysOneOf('openingTimes', 'curve', 'letThrough', 'bounds'),
  doc: 'I²t that flows at the largest fault until it has opened: from its `letThrough` table, else from the time of its curve, else the most that its class lets through.',
  unit: 'A2s',
  compute: (thing, context) => {
    const device = thing as Instance;
    const fault = context.quantity(device, 'faultCurrent');
    if (fault.kind !== 'known') return fault;
    const stated = letThroughAt(device, fault.derivation);
    if (stated) return stated;
    const rating = context.maybe(device, 'rating');
    const bound = rating && classBoundAt(device, fault.derivation, rating, carriesOf(device, context) !== 'ac');
    if (!hasCurve(device, context))
      return bound?.kind === 'energy' ? known(bound.energy) : missing(`letThrough of ${device.name}`);
    const clearing = clearingAt(device, fault.derivation, carriesOf(device, context) !== 'ac', context);
    if (clearing.kind === 'open') return clearing.result;
    if (clearing.kind === 'instant' && clearing.most) return known(clearing.most);
    if (clearing.kind !== 'time')
      return bound?.kind === 'energy' ? known(bound.energy) : missing(`letThrough of ${device.name}`);
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
