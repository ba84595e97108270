import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { ampacityAt, devicesOf } from '../../quantities/conductors/conductor.js';
import { defineCheck, type Verdict, atMost, atLeast } from '../define.js';
import { notChecked, pairText, passed, placeOf, whyOf } from '../verdicts.js';
import { judgedDevices } from './feeding.js';
import { coordinationOf, leastRating } from './protection-need.js';
import { MEMORY, PUBLISHED, restsOnMemory } from './shared.js';
import { largerSize, otherRating } from './ways.js';
import { askingForType } from './unsaid-type.js';

const WISH = { target: 'protection-coordination' } as const;

/** Ib ≤ In: the device carries the design current. */
function judgeLoad(run: Run, device: Instance, context: DesignContext): Verdict | undefined {
  const fact = context.fact(device, 'rating');
  if (fact.kind !== 'known') return notChecked(run, fact);
  const current = leastRating(run, device, context);
  if (current.kind !== 'known') return notChecked(run, current);
  const numbers = { rating: fact.derivation, current: current.derivation };
  const use = atLeast(fact.derivation, current.derivation);
  if (numberIn(fact.derivation, 'A') >= numberIn(current.derivation, 'A') * (1 - 1e-9))
    return passed(run, use, numbers);
  const [rated, carried] = pairText(fact.derivation, current.derivation);
  return {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(device, 'rating'),
    headline: `${run.name} carries ${carried}; ${device.name} is rated ${rated}`,
    ...whyOf('I_b ≤ I_n', governingText(current.derivation)),
    rule: 'IEC 60364-4-43 433.1',
    consequence: 'it opens in normal use',
    use,
    numbers,
    related: [{ place: run.place, text: `${run.name} carries ${carried}` }],
    fixes: [otherRating(run, device, 'up', WISH), largerSize(run, WISH)],
  };
}

/** I2 ≤ 1.45 Iz: the device opens before an overload ages the conductor. In above Iz itself is told by `run-protection`. */
function judgeOperation(
  run: Run,
  device: Instance,
  size: Derivation,
  ampacity: Derivation,
  context: DesignContext,
): Verdict | undefined {
  const rating = context.maybe(device, 'rating');
  if (!rating || numberIn(rating, 'A') > numberIn(ampacity, 'A') * (1 + 1e-9)) return undefined;
  const { operating, limit, isBroken } = coordinationOf(device, rating, ampacity);
  const numbers = { operating, limit, rating, ampacity };
  const use = atMost(operating, limit);
  if (!isBroken) return passed(run, use, numbers);
  const [opens, may] = pairText(operating, limit);
  return {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'size'),
    ...(restsOnMemory(ampacity) || restsOnMemory(operating) ? { severity: 'warning' as const } : {}),
    headline: `${device.name} opens at ${opens}; the ${displayValue(size)} conductors of ${run.name} allow ${may}`,
    why: `I_2 ≤ 1.45·I_z: rated ${displayValue(rating)}, within its conventional time; ampacity ${displayValue(ampacity, 3)}`,
    rule: 'IEC 60364-4-43 433.1',
    use,
    numbers,
    related: [{ place: placeOf(device, 'rating'), text: `${device.name} is rated ${displayValue(rating)}` }],
    fixes: [otherRating(run, device, 'down', WISH), largerSize(run, WISH)],
  };
}

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const devices = new Set(devicesOf(run).map(({ instance }) => instance));
  for (const device of devices) {
    const verdict = judgeLoad(run, device, context);
    if (verdict) yield verdict;
  }
  const size = devices.size > 0 ? context.maybe(run, 'size') : undefined;
  const ampacity = size && ampacityAt(run, size, context);
  if (!size || ampacity?.kind !== 'known') return;
  for (const device of judgedDevices(run, context)) {
    const verdict = judgeOperation(run, device, size, ampacity.derivation, context);
    if (verdict) yield verdict;
  }
}

export const protectionCoordination = defineCheck({
  id: 'protection-coordination',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'Under iec, a device is rated below the design current, or allows a lasting overload that ages the conductors it protects.',
    guards:
      'Devices that open in normal use, and small overloads that cook the insulation for an hour before anything opens.',
    how: 'I_b ≤ I_n ≤ I_z and I_2 ≤ 1.45·I_z (IEC 60364-4-43 433.1). Every device of a run is held against its design current; the one against overload with the current that opens it in its conventional time: 1.45 times its rating for breakers, 1.6 times for general-purpose fuses from 16 A, 1.9 below that and 2.1 up to 4 A. I_n ≤ I_z is judged by `run-protection`. The fixes are a rating or a size, with the earth conductor that goes with it. Fuse factors and most ampacities are from memory: such a finding is a warning.',
    fix: 'Choose a rating between the current of the run and what its conductors allow.',
    sources: [PUBLISHED('IEC 60364-4-43', '433.1', '2008'), MEMORY('IEC 60269-1')],
    failing: `design Hut {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  fuse F1 { class: gG   rating: 35 A }
  load Heater { power: 5 kW }
  run Line: Mains -> F1 -> Heater { size: 4 mm2   type: H07V-R   length: 5 m   method: C   earth: 4 mm2 }
}
`,
    passing: `design Hut {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  fuse F1 { class: gG   rating: 32 A }
  load Heater { power: 5 kW }
  run Line: Mains -> F1 -> Heater { size: 4 mm2   type: H07V-R   length: 5 m   method: C   earth: 4 mm2 }
}
`,
  },
  judge: function* (context) {
    if (context.system.basis.practice !== 'iec') return;
    for (const run of context.system.runs) if (run.carries !== 'any') yield* askingForType(run, context, judgeRun);
  },
});
