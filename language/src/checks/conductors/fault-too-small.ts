import { type Derivation, type Result, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { tripCurrent } from '../../quantities/faults/clearing.js';
import { defineCheck, type Verdict, type Way } from '../define.js';
import { notChecked, passed, pairText, placeOf } from '../verdicts.js';
import { type FarFault, farFaults, withoutCurve } from './far-fault.js';
import { MEMORY, PUBLISHED } from './shared.js';
import { largerSize, otherRating } from './ways.js';
import { type Setup, ratingIn } from './sizing.js';
import { isConnection, isLoad } from '../../model/roles.js';

/** Longest time for distribution circuits and for the adiabatic limit, s (IEC 60364-4-41 411.3.2.3, 60364-4-43 434.5.2). */
const LONGEST = 5;
/** For final circuits up to 32 A at 120 V to 230 V to earth, s (IEC 60364-4-41 Table 41.1, from memory). */
const FINAL_CIRCUIT = { seconds: 0.4, upTo: 32 } as const;

/** Within what time a device must open. */
function timeLimit(run: Run, rating: number, context: DesignContext): number {
  const isFinal = run.to.some(({ instance }) => isLoad(instance) || isConnection(instance));
  return run.carries === 'ac' && context.system.basis.practice === 'iec' && isFinal && rating <= FINAL_CIRCUIT.upTo
    ? FINAL_CIRCUIT.seconds
    : LONGEST;
}

interface Judged {
  readonly device: Instance;
  readonly needed: Derivation;
  readonly seconds: number;
}

/** The largest standard rating below the present one that opens in time and still carries the load. */
function smallerRating(run: Run, { device }: Judged, fault: FarFault, context: DesignContext): Way {
  const accepts = ({ ratings }: Setup): boolean => {
    const rating = ratings.get(device)!;
    const limit = timeLimit(run, rating, context);
    const needed = tripCurrent(device, limit, run.carries !== 'ac', context, derive('rating', rating, 'A'));
    return needed.kind === 'known' && numberIn(needed.derivation, 'A') <= numberIn(fault.current, 'A');
  };
  return otherRating(run, device, 'down', { accepts });
}

/** The smallest size, sound in all else, at which the fault is large enough for one of its devices, with the ratings that go with the size. */
function sizeThatOpens(run: Run, context: DesignContext): Way[] {
  // In a loop the size of one run changes what all the others carry.
  if (context.graph.sides(run).loop) return [];
  const opens = (device: Instance, setup: Setup, current: Derivation): boolean => {
    const rating = ratingIn(setup, device, context);
    if (!rating) return false;
    const limit = timeLimit(run, numberIn(rating, 'A'), context);
    const needed = tripCurrent(device, limit, run.carries !== 'ac', context, rating);
    return needed.kind === 'known' && numberIn(current, 'A') >= numberIn(needed.derivation, 'A');
  };
  const accepts = (setup: Setup): boolean => {
    const { faults, open } = farFaults(run, context, setup.size);
    return (
      open.length === 0 &&
      faults.length > 0 &&
      faults.every(({ current, devices }) => devices.some((device) => opens(device, setup, current)))
    );
  };
  return [largerSize(run, { accepts })];
}

function* judgeFault(run: Run, fault: FarFault, context: DesignContext): Generator<Verdict> {
  const judged: Judged[] = [];
  const open: Result[] = [];
  for (const device of fault.devices) {
    const rating = context.maybe(device, 'rating');
    const seconds = timeLimit(run, rating ? numberIn(rating, 'A') : Infinity, context);
    const needed = tripCurrent(device, seconds, run.carries !== 'ac', context);
    if (needed.kind === 'known') judged.push({ device, needed: needed.derivation, seconds });
    else open.push(needed);
  }
  const amperes = numberIn(fault.current, 'A');
  const [quickest] = [...judged].sort((a, b) => numberIn(a.needed, 'A') - numberIn(b.needed, 'A'));
  if (quickest && amperes >= numberIn(quickest.needed, 'A'))
    return yield passed(run, { fault: fault.current, needed: quickest.needed });
  if (open[0] || !quickest) {
    if (open[0]) yield notChecked(run, open[0]);
    return;
  }
  const { device, needed, seconds } = quickest;
  const [is, must] = pairText(fault.current, needed);
  const state = context.states.length > 1 && run.carries === 'ac' ? ` (with ${fault.state})` : '';
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(device, 'rating'),
    message: `A short circuit at ${fault.node.instance.name}, at the end of ${run.name}, draws only ${is} from ${fault.source.name}${state} with hot conductors; ${device.name} (${displayValue(context.maybe(device, 'rating')!)}) needs ${must} to open within ${seconds} s. The fault stays on and heats the cable.`,
    numbers: { fault: fault.current, needed },
    related: [{ place: run.place, text: `${run.name} lies between ${device.name} and the fault` }],
    fixes: [smallerRating(run, quickest, fault, context), ...sizeThatOpens(run, context)],
  };
}

export const faultTooSmall = defineCheck({
  id: 'fault-too-small',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'The smallest short-circuit current at the far end of a run does not open its device in time.',
    guards:
      'A short circuit at the end of a long cable, or behind a weak source, that burns on because the device sees an overload.',
    how: 'Smallest fault: a bank at its lowest voltage behind its highest resistance, a set behind its stated reactance (or what it drives into a lasting fault, `sustainedFault`), a service behind its stated fault current (the low end of its range); conductors at their rated temperature, out and back (back in the earth conductor where it is smaller), weakest source state. The device must open within 5 s, under iec within 0.4 s in final circuits up to 32 A. The curve of the device is its `openingTimes` or those of its class, else the gates of general-purpose fuses (gG) or, for breakers that state a curve, the upper end of the magnetic trip, times 1.5 on direct current; devices without one are not checked. Where several ways lead to the far end, a device sees the share that arrives over its own run. Inverters and sets with electronic output or protection of their own shut down by themselves and are left out. Another device of the run without data may be quicker.',
    sources: [
      PUBLISHED('IEC 60269-2', 'gG, 5 s and 0.4 s'),
      PUBLISHED('IEC 60898-1', 'Table 7'),
      MEMORY('IEC 60364-4-41', '411.3.2, Table 41.1'),
    ],
    failing: `design Hut {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 1 kA   neutralBond: bonded }
  breaker B1 { rating: 16 A   curve: C }
  load Lamps { power: 1 kW }
  run Line: Mains -> B1 -> Lamps { size: 1.5 mm2   type: H07V-U   length: 60 m   method: B1   dropLimit: 10 % }
}
`,
    passing: `design Hut {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 1 kA   neutralBond: bonded }
  breaker B1 { rating: 16 A   curve: B }
  load Lamps { power: 1 kW }
  run Line: Mains -> B1 -> Lamps { size: 1.5 mm2   type: H07V-U   length: 60 m   method: B1   dropLimit: 10 % }
}
`,
  },
  judge: function* (context) {
    yield* withoutCurve(context);
    for (const run of context.system.runs) {
      const { faults, open } = farFaults(run, context);
      for (const result of open.slice(0, 1)) yield notChecked(run, result);
      for (const fault of faults) yield* judgeFault(run, fault, context);
    }
  },
});
