import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { classBoundAt, classTripsFrom, isBounded } from '../../quantities/faults/class-bounds.js';
import { hasCurve, tripCurrent } from '../../quantities/faults/clearing.js';
import { motorLimitOver } from '../../quantities/conductors/motor-circuit.js';
import { overloadLimit } from '../../quantities/faults/coordination.js';
import { iecBreakerTrip, ulFuseOpening } from '../../reference/index.js';
import { defineCheck, type Verdict, type Way, atLeast, points } from '../define.js';
import { ofEachRun } from '../each-run.js';
import { notChecked, passed, pairText, placeOf, whyOf } from '../verdicts.js';
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
  /** Within what time; undefined where its class bounds no more than that it opens. */
  readonly seconds: number | undefined;
}

/** A device with a rating on conductors of a size: as the design states them, or as they are tried out. */
interface Tried {
  readonly device: Instance;
  readonly rating: Derivation | undefined;
  readonly size: Derivation | undefined;
}

const asStated = (run: Run, device: Instance, context: DesignContext): Tried => ({
  device,
  rating: context.maybe(device, 'rating'),
  size: context.maybe(run, 'size'),
});

/** Multiple of the rating from which a device that states its curve is left to open as on an overload: that of UL 248 and UL 489. */
const CERTAIN = ulFuseOpening.certain;

/**
 * The current from which a device is left to open later than in five seconds, because it protects the conductors against overload: they
 * stand what it lets through until then (NEC 240.4, IEC 60364-4-43 435.1). Undefined where it does not, or touch voltage asks for speed.
 */
function overloadCurrent(run: Run, { device, rating, size }: Tried, context: DesignContext): Derivation | undefined {
  const isIec = context.system.basis.practice === 'iec';
  if (!rating || !size || (isIec && (run.carries === 'ac' || !isBounded(device)))) return undefined;
  if (!overloadLimit(device, rating, run, size, context) && !motorLimitOver(rating, run, context)) return undefined;
  const one = derive('current at its rating', numberIn(rating, 'A'), 'A');
  const bound = classBoundAt(device, one, rating, run.carries !== 'ac');
  return bound?.kind === 'closed'
    ? bound.from
    : derive(`current that opens ${device.name} for certain`, CERTAIN * numberIn(rating, 'A'), 'A', {
        symbol: 'I',
        formula: '2·I_n',
        inputs: [rating],
      });
}

/** The current that opens a device in time: by its curve, else by the bounds of its class. */
function neededBy(run: Run, { device, rating }: Tried, seconds: number, context: DesignContext): Result {
  const isDirect = run.carries !== 'ac';
  const needed = tripCurrent(device, seconds, isDirect, context, rating);
  if (needed.kind === 'known' || !rating || !isBounded(device)) return needed;
  const from = classTripsFrom(device, rating, isDirect);
  return from ? known(from) : needed;
}

/** s in which a device must have opened while a set still drives more than lasts: the opening time of a magnetic trip (IEC 60898-1). */
const EARLY = iecBreakerTrip.openingTime;

/** The current that opens a device while a set still drives more than lasts, where it does. */
function neededEarly(
  run: Run,
  tried: Tried,
  { early, lasting, current }: FarFault,
  context: DesignContext,
): Derivation | undefined {
  const first = early ?? (lasting ? current : undefined);
  const needed = first && neededBy(run, tried, EARLY, context);
  return needed?.kind === 'known' && numberIn(first!, 'A') * (1 + 1e-9) >= numberIn(needed.derivation, 'A')
    ? needed.derivation
    : undefined;
}

/** Whether a fault opens a device as this check asks. */
function opens(run: Run, tried: Tried, fault: FarFault, context: DesignContext): boolean {
  if (neededEarly(run, tried, fault, context)) return true;
  const { current } = fault;
  const seconds = timeLimit(run, tried.rating ? numberIn(tried.rating, 'A') : Infinity, context);
  const needed = neededBy(run, tried, seconds, context);
  const amperes = numberIn(current, 'A') * (1 + 1e-9);
  if (needed.kind === 'known' && amperes >= numberIn(needed.derivation, 'A')) return true;
  const certain = overloadCurrent(run, tried, context);
  return certain !== undefined && amperes >= numberIn(certain, 'A');
}

/** The largest standard rating below the present one that opens in time and still carries the load. */
function smallerRating(run: Run, { device }: Judged, fault: FarFault, context: DesignContext): Way {
  const accepts = ({ ratings, size }: Setup): boolean =>
    opens(run, { device, rating: derive('rating', ratings.get(device)!, 'A'), size }, fault, context);
  return otherRating(run, device, 'down', { accepts });
}

/** The smallest size, sound in all else, at which the fault is large enough for one of its devices, with the ratings that go with the size. */
function sizeThatOpens(run: Run, context: DesignContext): Way[] {
  // In a loop the size of one run changes what all the others carry.
  if (context.graph.sides(run).loop) return [];
  const accepts = (setup: Setup): boolean => {
    const { faults, open } = farFaults(run, context, setup.size);
    return (
      open.length === 0 &&
      faults.length > 0 &&
      faults.every((fault) =>
        fault.devices.some((device) => {
          const rating = ratingIn(setup, device, context);
          return rating !== undefined && opens(run, { device, rating, size: setup.size }, fault, context);
        }),
      )
    );
  };
  return [largerSize(run, { accepts })];
}

/** The fact that says how a device opens. */
const curveOf = (device: Instance): string => `openingTimes of ${device.name}, from its time-current curve`;

/** Whether the class of a device opens it at a fault, but only as on an overload, for which it is too large here. */
function isLeftOpen(run: Run, device: Instance, fault: FarFault, context: DesignContext): boolean {
  const rating = context.maybe(device, 'rating');
  const bound = rating && classBoundAt(device, fault.current, rating, run.carries !== 'ac');
  return bound?.kind === 'overload';
}

/** A device of which only its class is known, at the current that opens it for certain. */
function asOverload(run: Run, judged: Judged, context: DesignContext): Judged {
  const rating = context.maybe(judged.device, 'rating')!;
  const one = derive('current at its rating', numberIn(rating, 'A'), 'A');
  const bound = classBoundAt(judged.device, one, rating, run.carries !== 'ac');
  return bound?.kind === 'closed' ? { ...judged, needed: bound.from, seconds: undefined } : judged;
}

function* judgeFault(run: Run, fault: FarFault, context: DesignContext): Generator<Verdict> {
  for (const device of fault.devices) {
    const needed = neededEarly(run, asStated(run, device, context), fault, context);
    const early = fault.early ?? fault.current;
    if (needed) return yield passed(run, atLeast(early, needed), { fault: early, needed });
  }
  // What would open it later passes only where it is known what lasts until then, and what units give that have aged.
  const passes = (needed: Derivation): Verdict => {
    const { lasting, aged } = fault;
    if (lasting) return notChecked(run, missing(lasting));
    const isOfNew = aged && numberIn(aged.current, 'A') < numberIn(needed, 'A') * (1 - 1e-9);
    if (isOfNew) return notChecked(run, missing(aged.fact));
    return passed(run, atLeast(fault.current, needed), { fault: fault.current, needed });
  };
  const judged: Judged[] = [];
  const open: Result[] = [];
  for (const device of fault.devices) {
    const rating = context.maybe(device, 'rating');
    const seconds = timeLimit(run, rating ? numberIn(rating, 'A') : Infinity, context);
    const needed = neededBy(run, asStated(run, device, context), seconds, context);
    if (needed.kind === 'known') judged.push({ device, needed: needed.derivation, seconds });
    // Of a class that never opens at once by its standard, its own curve would tell.
    else open.push(needed.kind === 'refused' && isBounded(device) ? missing(curveOf(device)) : needed);
  }
  const amperes = numberIn(fault.current, 'A');
  const [atOnce] = [...judged].sort((a, b) => numberIn(a.needed, 'A') - numberIn(b.needed, 'A'));
  if (atOnce && amperes >= numberIn(atOnce.needed, 'A')) return yield passes(atOnce.needed);
  const overloads = fault.devices.flatMap(
    (device) => overloadCurrent(run, asStated(run, device, context), context) ?? [],
  );
  const certain = overloads.find((each) => amperes >= numberIn(each, 'A') * (1 - 1e-9));
  if (certain) return yield passes(certain);
  // Below the current at which its class opens at once nothing bounds a device that does not protect its conductors against overload.
  const unbounded = judged.filter(
    ({ device }) => !hasCurve(device, context) && isLeftOpen(run, device, fault, context),
  );
  const quickest = judged
    .filter((each) => !unbounded.includes(each))
    .map((each) => (hasCurve(each.device, context) ? each : asOverload(run, each, context)))
    .sort((a, b) => numberIn(a.needed, 'A') - numberIn(b.needed, 'A'))[0];
  for (const { device } of unbounded) open.push(missing(curveOf(device)));
  if (open[0] || !quickest) {
    if (open[0]) yield notChecked(run, open[0]);
    return;
  }
  const { device, needed, seconds } = quickest;
  const [is, must] = pairText(fault.current, needed);
  const state = context.states.length > 1 && run.carries === 'ac' ? `with ${fault.state}` : undefined;
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(device, 'rating'),
    headline: `A fault at the end of ${run.name} draws ${is}; ${device.name} needs ${must} to open${seconds === undefined ? '' : ` within ${seconds} s`}`,
    ...whyOf(
      `at ${fault.node.instance.name} from ${fault.source.name}, conductors hot`,
      state,
      seconds === undefined &&
        `class bound of ${needed.inputs[0]?.source?.standard ?? 'its standard'}, not this device`,
    ),
    consequence: 'the fault stays on and heats the cable',
    use: atLeast(fault.current, needed),
    numbers: { fault: fault.current, needed },
    related: [{ place: run.place, text: `${run.name} lies between ${device.name} and the fault` }],
    fixes: [smallerRating(run, quickest, fault, context), ...sizeThatOpens(run, context)],
  };
}

const judgeRuns = ofEachRun(function* (run, context) {
  const { faults, open } = farFaults(run, context);
  for (const result of open.slice(0, 1)) yield notChecked(run, result);
  for (const fault of faults) yield* judgeFault(run, fault, context);
});

export const faultClearing = defineCheck({
  id: 'fault-clearing',
  formerly: 'fault-too-small',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'The smallest short-circuit current at the far end of a run does not open its device in time.',
    guards:
      'A short circuit at the end of a long cable, or behind a weak source, that burns on because the device sees an overload.',
    how: points(
      'The smallest short-circuit current at the far end of the run, against what opens its device within 5 s, under iec within 0.4 s in final circuits up to 32 A.',
      'Smallest current: conductors at their rated temperature, out and back (back in the earth conductor where it is smaller), in the weakest source state.',
      'From a bank: its lowest voltage behind its highest resistance. Where that is stated as one figure and half more would decide, the figure of aged units is a question.',
      'From a generator: its stated transient reactance for what opens within a tenth of a second; what it drives into a lasting fault (`sustainedFault`, a question where it decides) for what takes longer.',
      'From a service: its stated fault current, the low end of its range.',
      'When the device opens: its `openingTimes` or those of its class, else the gates of general-purpose fuses (gG) or, for breakers that state a curve, the upper end of the magnetic trip, times 1.5 on direct current. Between the points of a curve: straight lines in logarithms.',
      'Where nothing is stated of the device, the bounds of its class count (`bounds`): it opens at once from where it limits current or trips at once, and for certain from twice its rating.',
      'A device that protects the conductors against overload (its rating within what they allow) may need longer at twice its rating and above, and so may the device of a motor that has overload protection (NEC 240.4(G)); not on alternating current under iec, where touch voltage demands speed.',
      'Where several ways lead to the far end, a device sees the share that arrives over its own run. Another device of the run without data may be quicker.',
      'Inverters, and generators with an output stage or protection of their own, shut down by themselves and are left out.',
    ),
    fix: 'Use a larger conductor, a faster curve or a smaller rating, so that the smallest fault opens the device.',
    sources: [
      PUBLISHED('IEC 60269-2', 'gG, 5 s and 0.4 s'),
      PUBLISHED('IEC 60898-1', 'Table 7'),
      MEMORY('UL 248', 'opening at 200 %'),
      MEMORY('UL 489', 'opening at 200 %'),
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
    yield* judgeRuns(context);
  },
});
