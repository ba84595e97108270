import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, derive, displayValue, numberIn, refused } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { clearingAt, letThroughAt } from '../../quantities/faults/clearing.js';
import { conductorFacts, parallelOf } from '../../quantities/conductors/conductor-facts.js';
import { devicesWithCurve, farFaults } from './far-fault.js';
import { alternatingFaultAt, bankFaultAt } from './faults.js';
import { calculation } from '../../quantities/calculation.js';

/** Fault current a run of a size survives until a device opens, all conductors in parallel together. */
function survives(run: Run, size: Derivation, time: Derivation, context: DesignContext): Result {
  const { metal, type } = conductorFacts(run, context);
  const one = callFunction(calculation('shortTimeCurrent'), {
    size,
    time,
    ...(metal ? { metal } : {}),
    ...(type ? { type } : {}),
  });
  const count = parallelOf(run, context);
  if (count === 1 || one.kind !== 'known') return one;
  return {
    kind: 'known',
    derivation: derive('short-time current', count * numberIn(one.derivation, 'A'), 'A', {
      symbol: 'I',
      formula: 'n·I_1',
      inputs: [one.derivation],
    }),
  };
}

/** A fault that a device of a run must clear. */
interface Fault {
  readonly device: Instance;
  readonly current: Derivation;
  readonly where: string;
}

/** Largest faults at the devices, and the smallest at the far ends, where the device is slowest. */
function faultsOf(run: Run, context: DesignContext, size?: Derivation): { faults: Fault[]; open: Result[] } {
  const faults: Fault[] = [];
  const open: Result[] = [];
  const far = farFaults(run, context, size);
  const devices = new Set(devicesWithCurve([run.from, ...run.through, ...run.to], context));
  for (const device of devices) {
    const largest = run.carries === 'ac' ? alternatingFaultAt(device, context) : bankFaultAt(device, context)?.result;
    if (largest?.kind === 'known') faults.push({ device, current: largest.derivation, where: `at ${device.name}` });
    else if (largest) open.push(largest);
  }
  for (const { current, node, devices: clearing } of far.faults)
    for (const device of clearing) faults.push({ device, current, where: `at ${node.instance.name}` });
  open.push(...far.open);
  return { faults, open };
}

export interface Heated {
  readonly fault: Fault;
  readonly time: Derivation;
  readonly limit: Derivation;
  /** Where the device opens faster than its curve tells: what it lets through, and what the conductors bear (A²s). */
  readonly through?: { readonly energy: Derivation; readonly bearable: Derivation };
}

const ONE_SECOND = derive('one second', 1, 's', { symbol: 't' });

/** k²·S² of a run of a size: the I²t its conductors bear, whatever the time. */
function bearableBy(run: Run, size: Derivation, context: DesignContext): Result {
  const one = survives(run, size, ONE_SECOND, context);
  if (one.kind !== 'known') return one;
  return {
    kind: 'known',
    derivation: derive('I²t that the conductors bear', numberIn(one.derivation, 'A') ** 2, 'A2s', {
      symbol: 'k²S²',
      formula: 'I²·1 s',
      inputs: [one.derivation],
    }),
  };
}

/** Faults whose heat is above the limit; what kept others from being judged. `ratings` stand for those of the devices they name. */
export function heatOf(
  run: Run,
  size: Derivation,
  context: DesignContext,
  ratings?: ReadonlyMap<Instance, Derivation>,
): { heated: Heated[]; open: Result[]; judged: Heated[] } {
  const { faults, open } = faultsOf(run, context, size);
  const heated: Heated[] = [];
  const judged: Heated[] = [];
  for (const fault of faults) {
    const clearing = clearingAt(fault.device, fault.current, run.carries !== 'ac', context, ratings?.get(fault.device));
    if (clearing.kind === 'open') open.push(clearing.result);
    // A device slower than its curve tells is what `fault-too-small` speaks about.
    if (clearing.kind !== 'time' && clearing.kind !== 'instant') continue;
    const limit = survives(run, size, clearing.time, context);
    if (limit.kind !== 'known') {
      open.push(limit);
      continue;
    }
    const entry = { fault, time: clearing.time, limit: limit.derivation };
    const isSafe = numberIn(fault.current, 'A') <= numberIn(limit.derivation, 'A') * (1 + 1e-9);
    if (isSafe) judged.push(entry);
    else if (clearing.kind === 'time') heated.push(entry);
    else {
      const energy = ratings?.has(fault.device) ? undefined : letThroughAt(fault.device, fault.current);
      const bearable = energy && bearableBy(run, size, context);
      if (energy?.kind === 'known' && bearable?.kind === 'known') {
        const through = { energy: energy.derivation, bearable: bearable.derivation };
        const isBorne = numberIn(through.energy, 'A2s') <= numberIn(through.bearable, 'A2s') * (1 + 1e-9);
        (isBorne ? judged : heated).push({ ...entry, through });
      } else if (energy?.kind === 'refused') open.push(energy);
      else
        open.push(
          refused(`let-through I²t of ${fault.device.name}: it opens in less than ${displayValue(clearing.time)}`),
        );
    }
  }
  return { heated, open, judged };
}

/** Ratings (A) as derivations, as `heatOf` takes them. */
export const asRatings = (ratings: ReadonlyMap<Instance, number>): ReadonlyMap<Instance, Derivation> =>
  new Map([...ratings].map(([device, rating]) => [device, derive('rating', rating, 'A')] as const));
