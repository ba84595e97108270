import { displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import { ampacityAt, devicesOf } from '../../quantities/conductor.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf, pairText } from '../verdicts.js';
import { PUBLISHED, MEMORY, sizeFix, softened } from './shared.js';
import { largestDevice } from './sizing.js';

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const stops = devicesOf(run);
  if (stops.length === 0) return;
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') return yield notChecked(run, size);
  const ampacity = ampacityAt(run, size.derivation, context);
  if (ampacity.kind !== 'known') return yield notChecked(run, ampacity);
  const largest = largestDevice(run, ampacity.derivation, size.derivation, context);
  if (largest.kind !== 'known') return yield notChecked(run, largest);

  // Fed from one end, the smallest device in series protects the run; fed from both, each device protects its own end.
  const { feedsNear, feedsFar } = context.circuit(run);
  const ratings = stops.flatMap(({ instance }) => {
    const rating = context.fact(instance, 'rating');
    return rating.kind === 'known' ? [{ device: instance, rating: rating.derivation }] : [];
  });
  if (ratings.length < stops.length) {
    const unrated = stops.filter(({ instance }) => !context.maybe(instance, 'rating'));
    return yield notChecked(run, {
      kind: 'missing',
      missing: unrated.map(({ instance }) => `rating of ${instance.name}`),
    });
  }
  const smallest = ratings.reduce((so, next) => (numberIn(next.rating, 'A') < numberIn(so.rating, 'A') ? next : so));
  const judged =
    feedsNear.some(({ kind }) => kind === 'battery') && feedsFar.some(({ kind }) => kind === 'battery')
      ? ratings
      : [smallest];
  for (const { device, rating } of judged) {
    const numbers = { rating, limit: largest.derivation, ampacity: ampacity.derivation };
    if (numberIn(rating, 'A') <= numberIn(largest.derivation, 'A') * (1 + 1e-9)) {
      yield passed(run, numbers);
      continue;
    }
    const [rated, most] = pairText(rating, largest.derivation);
    const { severity, remark } = softened(ampacity.derivation);
    const current = context.quantity(run, 'current');
    const fixes: Fix[] = sizeFix(run, context);
    if (
      current.kind === 'known' &&
      numberIn(largest.derivation, 'A') >=
        numberIn(current.derivation, 'A') * (context.system.basis.practice === 'nec' ? 1.25 : 1)
    ) {
      fixes.push(
        propose(
          `Change rating of ${device.name} to ${displayValue({ ...largest.derivation })}`,
          [setProperty(device, 'rating', `${numberIn(largest.derivation, 'A')} A`)],
          fixes.length === 0,
        ),
      );
    }
    yield {
      verdict: 'failed',
      subject: run.path,
      place: placeOf(run, 'size'),
      ...(severity ? { severity } : {}),
      message: `${device.name} (${rated}) protects ${run.name}, whose ${displayValue(size.derivation)} conductors may carry ${displayValue(ampacity.derivation)}${remark} and may have ${most} at most (${largest.derivation.governing ?? basisText(context.system.basis)}).${fixes[0] ? ` ${fixes[0].title}.` : ''}`,
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
    how: 'The rating is held against the largest one for the corrected ampacity: under nec the next standard size up to 800 A where allowed, and 15, 20 and 30 A for 14, 12 and 10 AWG copper in fixed wiring; under iec In ≤ Iz and I2 ≤ 1.45 Iz; for craft the next size within 150 %.',
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
