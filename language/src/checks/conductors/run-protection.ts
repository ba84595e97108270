import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { ampacityAt, devicesOf } from '../../quantities/conductor.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf, pairText } from '../verdicts.js';
import { isMadeIn } from './device-ratings.js';
import { judgedDevices } from './feeding.js';
import { MEMORY, PUBLISHED, defaultsText, eitherOf, sizeFix, softened } from './shared.js';
import { largestDevice } from './sizing.js';

/** The fix that gives a device the largest rating its conductors allow, where that still carries the load and is made. */
function ratingFix(run: Run, device: Instance, largest: Derivation, context: DesignContext, isFirst: boolean): Fix[] {
  const required = context.quantity(run, context.system.basis.practice === 'nec' ? 'requiredAmpacity' : 'current');
  const amperes = numberIn(largest, 'A');
  if (required.kind !== 'known' || amperes < numberIn(required.derivation, 'A') * (1 - 1e-9)) return [];
  if (!isMadeIn(device, amperes)) return [];
  return [
    propose(
      `Change rating of ${device.name} to ${displayValue(largest)}`,
      [setProperty(device, 'rating', `${amperes} A`)],
      isFirst,
    ),
  ];
}

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  if (devicesOf(run).length === 0) return;
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') return yield notChecked(run, size);
  const ampacity = ampacityAt(run, size.derivation, context);
  if (ampacity.kind !== 'known') return yield notChecked(run, ampacity);
  const largest = largestDevice(run, ampacity.derivation, size.derivation, context);
  if (largest.kind !== 'known') return yield notChecked(run, largest);
  for (const device of judgedDevices(run, context)) {
    const fact = context.fact(device, 'rating');
    if (fact.kind !== 'known') {
      yield notChecked(run, fact);
      continue;
    }
    const rating = fact.derivation;
    const numbers = { rating, limit: largest.derivation, ampacity: ampacity.derivation };
    if (numberIn(rating, 'A') <= numberIn(largest.derivation, 'A') * (1 + 1e-9)) {
      yield passed(run, numbers);
      continue;
    }
    const [rated, most] = pairText(rating, largest.derivation);
    const { severity, remark } = softened(ampacity.derivation);
    const sizes = sizeFix(run, context);
    const fixes = [...sizes, ...ratingFix(run, device, largest.derivation, context, sizes.length === 0)];
    const todo =
      fixes.length > 0
        ? ` ${eitherOf(fixes)}.`
        : ' No standard size is enough for it: take a smaller device and less load, or conductors in parallel.';
    yield {
      verdict: 'failed',
      subject: run.path,
      place: placeOf(run, 'size'),
      ...(severity ? { severity } : {}),
      message: `${device.name} (${rated}) protects ${run.name}, whose ${displayValue(size.derivation)} conductors may carry ${displayValue(ampacity.derivation)}${remark}${defaultsText(ampacity.derivation, [/ambient/, /terminals/, /insulation/, /method/])} and may have ${most} at most (${basisText(context.system.basis)}: ${largest.derivation.governing ?? 'its own rule'}).${todo}`,
      numbers,
      related: [{ place: placeOf(device, 'rating'), text: `${device.name} is rated ${rated}` }],
      fixes,
    };
  }
}

export const runProtection = defineCheck({
  id: 'run-protection',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The device of a run is larger than its conductors allow.',
    guards: 'An overload or a fault the device does not see heats the conductor until it burns.',
    how: 'The first device that a current meets from each end that a bank or supply feeds is judged, else the smallest in the run (under iec the smallest, since 433.2.2 lets the overload device stand anywhere along the run). Its rating is held against the largest one for the corrected ampacity: under nec the next standard size up to 800 A where allowed, and 15, 20 and 30 A for 14, 12 and 10 AWG copper in fixed wiring; under iec In ≤ Iz and I2 ≤ 1.45 Iz; for craft the next size within 150 %.',
    sources: [
      PUBLISHED('NEC', '240.4(B), (C), (D), 240.6(A)', '2017-2023'),
      MEMORY('IEC 60364-4-43', '433.1'),
      PUBLISHED('ABYC E-11.10', 'from quotations'),
    ],
    failing: `design Hut {
  grid Mains { voltage: 120 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 30 A }
  load Heater { power: 1.2 kW }
  run Line: Mains -> B1 -> Heater { size: 12 AWG   type: THHN   length: 10 m }
}
`,
    passing: `design Hut {
  grid Mains { voltage: 120 V   rating: 100 A   neutralBond: bonded }
  breaker B1 { rating: 20 A }
  load Heater { power: 1.2 kW }
  run Line: Mains -> B1 -> Heater { size: 12 AWG   type: THHN   length: 10 m }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) yield* judgeRun(run, context);
  },
});
