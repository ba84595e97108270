import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, displayValue, numberIn, reasonOf } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { iecShortTime } from '../../reference/index.js';
import { defineCheck, type Severity, type Verdict, type Way, atMost, NO_LIMIT, type Use, points } from '../define.js';
import { ofEachRun } from '../each-run.js';
import { fullest, notChecked, passed, pairText, placeOf, whyOf } from '../verdicts.js';
import { withoutCurve } from './far-fault.js';
import { isHeldByController } from './motor-tap.js';
import { type Borne, type Heated, asRatings, heatOf, isProtected } from './fault-heat.js';
import { MEMORY, PUBLISHED, softened } from './shared.js';
import { largerSize, otherRating } from './ways.js';

/** How far what a device does can be relied on: a bound of its class is not what this device does. */
const judgedBy = (value: Derivation): { severity?: Severity; remark?: string } => {
  if (reasonOf(value, 'classBound')) return { severity: 'warning', remark: governingText(value) ?? '' };
  const { severity } = softened(value);
  return severity ? { severity, remark: 'data from memory' } : {};
};

/** Whether a device stands in a run itself, where another rating can be proposed with what goes with it. */
const isOwn = (run: Run, device: Instance): boolean =>
  [run.from, ...run.through, ...run.to].some(({ instance }) => instance === device);

function fixesOf(run: Run, { fault }: Heated, context: DesignContext): Way[] {
  const wish = { target: 'short-circuit-withstand' } as const;
  return [
    largerSize(run, wish),
    ...(isOwn(run, fault.device)
      ? [
          otherRating(run, fault.device, 'down', {
            ...wish,
            // A rating whose time is not known would end the finding without mending anything.
            accepts: ({ size, ratings }) => heatOf(run, size, context, asRatings(ratings)).judged.length > 0,
          }),
        ]
      : []),
  ];
}

/**
 * The heat against what the conductors withstand: of what a device lets through where it limits the current, else of the current; where its rating
 * is what protects them, that against the largest that does.
 */
function useOf({ fault, limit, through, largestRating }: Borne): Use {
  if (through) return atMost(through.energy, through.bearable);
  return largestRating ? atMost(limit, largestRating) : atMost(fault.current, limit);
}

/** k of copper in an insulation, at a size (mm²). */
const constantOf = (insulation: string, area: number): number =>
  iecShortTime.rows.find(
    (row) => row.insulation === insulation && row.copper !== undefined && area <= (row.upTo ?? Infinity),
  )!.copper!;

/**
 * Whether heat that is borne would not be borne by the insulation that bears least of those that may be there where no type is stated: PVC for
 * 90 °C instead of that for 70 °C.
 */
function isTooMuchForWeakest({ fault, limit, through, largestRating }: Borne, size: Derivation): boolean {
  const area = numberIn(size, 'mm2');
  const weakest = constantOf('pvc90', area) / constantOf('pvc', area);
  if (through) return numberIn(through.energy, 'A2s') > weakest ** 2 * numberIn(through.bearable, 'A2s');
  return largestRating === undefined && numberIn(fault.current, 'A') > weakest * numberIn(limit, 'A');
}

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  if (!isProtected(run, context)) return;
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') return yield notChecked(run, size);
  const { heated, open, judged } = heatOf(run, size.derivation, context);
  const excess = ({ fault, limit, through }: Heated): number =>
    through
      ? Math.sqrt(numberIn(through.energy, 'A2s') / numberIn(through.bearable, 'A2s'))
      : numberIn(fault.current, 'A') / numberIn(limit, 'A');
  const worst = heated.reduce<Heated | undefined>(
    (so, next) => (!so || excess(next) > excess(so) ? next : so),
    undefined,
  );
  if (!worst) {
    if (open[0]) return yield notChecked(run, open[0]);
    const [first, ...others] = judged;
    if (first && !run.properties.has('type') && judged.some((each) => isTooMuchForWeakest(each, size.derivation)))
      return yield notChecked(run, {
        kind: 'missing',
        missing: [`type of ${run.name} (with insulation of PVC for 90 degC it would not do)`],
      });
    if (first)
      yield passed(run, fullest(useOf(first), ...others.map(useOf)), {
        fault: first.fault.current,
        limit: first.limit,
        ...first.through,
      });
    return;
  }
  const { fault, time, limit, through } = worst;
  // What its class may let through accuses no tap that its controller is marked to protect.
  if (reasonOf(through?.energy ?? time, 'classBound') && isHeldByController(run, context))
    return yield passed(run, NO_LIMIT);
  const [is, may] = pairText(fault.current, limit);
  const fixes = fixesOf(run, worst, context);
  const { severity, remark } = judgedBy(through?.energy ?? time);
  const letThrough = through && `${fault.device.name} lets through ${displayValue(through.energy, 3)}`;
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'size'),
    ...(severity ? { severity } : {}),
    headline: through
      ? `${letThrough}; ${displayValue(size.derivation)} of ${run.name} withstands ${displayValue(through.bearable, 3)}`
      : `A fault of ${is} lasts ${displayValue(time, 2)}; ${displayValue(size.derivation)} of ${run.name} withstands ${may} that long`,
    ...whyOf(`${is} ${fault.where}`, `until ${fault.device.name} opens`, remark),
    rule: 'I²·t ≤ k²·S²',
    use: useOf(worst),
    numbers: { fault: fault.current, time, limit, ...through },
    related: [{ place: fault.device.place, text: `${fault.device.name} clears the fault` }],
    fixes,
  };
}

const judgeRuns = ofEachRun(judgeRun);

export const shortCircuitWithstand = defineCheck({
  id: 'short-circuit-withstand',
  formerly: 'conductor-fault-heat',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A short circuit heats the conductors of a run beyond what their insulation survives before the device opens.',
    guards: 'Cables that burn inside the wall although the device works.',
    how: points(
      'I²·t of the fault against k²·S² of the conductors (IEC 60364-4-43 434.5.2), which are at their operating temperature before it.',
      'At the largest fault current at each device of the run, and at the smallest at its far end, where the device is slowest. What lasts more than 5 s is an overload.',
      'The time comes from the curve of the device, on straight lines in logarithms between its points: `openingTimes` of the device or its class, else the gates of general-purpose fuses (gG) and the magnetic trip of breakers that state a curve.',
      'Faster than the fastest point of the curve, the run passes where it would survive the time of that point. Else the let-through I²t decides: that of the device (`letThrough`), else the most of its sort (operating I²t of gG fuses, energy-limiting class of miniature breakers, the I²t at which any fuse melts).',
      'Where nothing is stated, the bounds of the class count (`bounds`): the let-through of UL 248 classes by case size, the time to clear of UL 489 breakers. They hold for every device of the class, so that a finding is a warning and says “class bound, not this device”.',
      'Currents at which a device opens as on an overload are left to it where its rating is within what the conductors allow (435.1).',
      'A run without a device is judged by those before it on the one way from its bank or source; one of them is enough. No bound of a class makes a finding on a tap to a motor controller with `tapProtection`.',
    ),
    fix: 'Use a larger conductor, a device that limits the energy, or a smaller rating.',
    sources: [
      PUBLISHED('IEC 60364-4-43', '434.5.2 and Table 43A', '2008'),
      PUBLISHED('IEC 60269-2', 'gG, 5 s and 0.4 s'),
      PUBLISHED('IEC 60269-1', 'Table 7'),
      MEMORY('UL 248', 'let-through'),
      MEMORY('UL 489', 'calibration'),
      MEMORY('EN 60898-1', 'Annex ZA'),
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
    yield* judgeRuns(context);
  },
});
