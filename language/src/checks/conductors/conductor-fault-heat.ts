import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Result, derive, displayValue, numberIn, refused } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { calculation } from '../../quantities/bank.js';
import { clearingAt } from '../../quantities/clearing.js';
import { conductorFacts, parallelOf } from '../../quantities/conductor-facts.js';
import { standardRatings } from '../../reference/index.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, pairText, placeOf } from '../verdicts.js';
import { isMadeIn } from './device-ratings.js';
import { devicesWithCurve, farFaults, withoutCurve } from './far-fault.js';
import { acFaultAt, bankFaultAt } from './faults.js';
import { PUBLISHED, softened } from './shared.js';
import { candidates, sizeOf, smallestSound } from './sizing.js';

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
    const largest = run.carries === 'ac' ? acFaultAt(device, context) : bankFaultAt(device, context)?.result;
    if (largest?.kind === 'known') faults.push({ device, current: largest.derivation, where: `at ${device.name}` });
    else if (largest) open.push(largest);
  }
  for (const { current, node, devices: clearing } of far.faults)
    for (const device of clearing) faults.push({ device, current, where: `at ${node.instance.name}` });
  open.push(...far.open);
  return { faults, open };
}

interface Heated {
  readonly fault: Fault;
  readonly time: Derivation;
  readonly limit: Derivation;
}

/** Faults whose heat is above the limit; what kept others from being judged. `rating` stands for that of the devices. */
function heatOf(
  run: Run,
  size: Derivation,
  context: DesignContext,
  rating?: Derivation,
): { heated: Heated[]; open: Result[]; judged: Heated[] } {
  const { faults, open } = faultsOf(run, context, size);
  const heated: Heated[] = [];
  const judged: Heated[] = [];
  for (const fault of faults) {
    const clearing = clearingAt(fault.device, fault.current, run.carries !== 'ac', context, rating);
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
    else
      open.push(
        refused(`let-through I²t of ${fault.device.name}: it opens in less than ${displayValue(clearing.time)}`),
      );
  }
  return { heated, open, judged };
}

function fixesOf(run: Run, { fault }: Heated, context: DesignContext): Fix[] {
  const least = smallestSound(run, context)?.area ?? 0;
  const size = candidates(run, context).find(
    ({ area }) => area >= least * 0.999 && heatOf(run, sizeOf(area), context).heated.length === 0,
  );
  const { device } = fault;
  const present = context.maybe(device, 'rating');
  const own = context.maybe(run, 'size');
  const required = context.quantity(run, context.system.basis.practice === 'nec' ? 'requiredAmpacity' : 'current');
  const rating =
    present && own && required.kind === 'known'
      ? standardRatings(context.system.basis.practice)
          .filter((each) => each < numberIn(present, 'A') && each >= numberIn(required.derivation, 'A') * (1 - 1e-9))
          .findLast((each) => {
            const outcome = heatOf(run, own, context, derive('rating', each, 'A'));
            return isMadeIn(device, each) && outcome.heated.length === 0 && outcome.judged.length > 0;
          })
      : undefined;
  return [
    ...(size
      ? [propose(`Change size of ${run.name} to ${size.name}`, [setProperty(run, 'size', size.name)], true)]
      : []),
    ...(rating === undefined
      ? []
      : [propose(`Change rating of ${device.name} to ${rating} A`, [setProperty(device, 'rating', `${rating} A`)])]),
  ];
}

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  if (devicesWithCurve([run.from, ...run.through, ...run.to], context).length === 0) return;
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') return yield notChecked(run, size);
  const { heated, open, judged } = heatOf(run, size.derivation, context);
  const excess = ({ fault, limit }: Heated): number => numberIn(fault.current, 'A') / numberIn(limit, 'A');
  const worst = heated.reduce<Heated | undefined>(
    (so, next) => (!so || excess(next) > excess(so) ? next : so),
    undefined,
  );
  if (!worst) {
    if (open[0]) return yield notChecked(run, open[0]);
    const [first] = judged;
    if (first) yield passed(run, { fault: first.fault.current, limit: first.limit });
    return;
  }
  const { fault, time, limit } = worst;
  const [is, may] = pairText(fault.current, limit);
  const fixes = fixesOf(run, worst, context);
  const { severity, remark } = softened(time);
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'size'),
    ...(severity ? { severity } : {}),
    message: `A short circuit of ${is} ${fault.where} lasts ${displayValue(time, 2)} until ${fault.device.name} opens${remark}; the ${displayValue(size.derivation)} conductors of ${run.name} survive ${may} for that time (I²·t ≤ k²·S²). ${fixes.map(({ title }) => title).join(', or ') || 'Take a faster device'}.`,
    numbers: { fault: fault.current, time, limit },
    related: [{ place: fault.device.place, text: `${fault.device.name} clears the fault` }],
    fixes,
  };
}

export const conductorFaultHeat = defineCheck({
  id: 'conductor-fault-heat',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A short circuit heats the conductors of a run beyond what their insulation survives before the device opens.',
    guards: 'Cables that burn inside the wall although the device works.',
    how: 'I²·t against k²·S² (IEC 60364-4-43 434.5.2), conductors at their operating temperature before the fault: at the largest fault current at each device of the run, and at the smallest at its far end, where the device is slowest. The time comes from the curve of the device, which exists for general-purpose fuses (gG) and for breakers that state a curve; faster than 0.1 s the run passes where it would survive 0.1 s, else the let-through I²t of the device is needed and it is not checked.',
    sources: [
      PUBLISHED('IEC 60364-4-43', '434.5.2 and Table 43A', '2008'),
      PUBLISHED('IEC 60269-2', 'gG, 5 s and 0.4 s'),
    ],
    failing: `design Hut {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 500 A   neutralBond: bonded }
  fuse F1 { class: gG   rating: 63 A }
  load Lamps { power: 2 kW }
  run Line: Mains -> F1 -> Lamps { size: 2.5 mm2   type: H07V-U   length: 2 m   method: B1 }
}
`,
    passing: `design Hut {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 500 A   neutralBond: bonded }
  fuse F1 { class: gG   rating: 16 A }
  load Lamps { power: 2 kW }
  run Line: Mains -> F1 -> Lamps { size: 2.5 mm2   type: H07V-U   length: 2 m   method: B1 }
}
`,
  },
  judge: function* (context) {
    yield* withoutCurve(context);
    for (const run of context.system.runs) yield* judgeRun(run, context);
  },
});
