import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, type Result, displayValue, known, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { ampacityAt, devicesOf } from '../../quantities/conductors/conductor.js';
import { motorCircuitOf } from '../../quantities/conductors/motor-circuit.js';
import { type Failed, type Verdict, atMost, defineCheck, points } from '../define.js';
import { ofEachRun } from '../each-run.js';
import { basisText, notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { dwellingRating, mayBeOfDwelling } from './dwelling.js';
import { judgedDevices } from './feeding.js';
import { MEMORY, PUBLISHED, softened } from './shared.js';
import { largerSize, otherRating } from './ways.js';
import { CORD_REMARK, isCordInTheWarm } from './cord-plug.js';
import { largestDevice, smallConductorDevice } from './sizing.js';
import { withoutAmpacity } from './string-leads.js';
import { askingForMarks } from './unmarked-terminals.js';
import { askingForType } from './unsaid-type.js';

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  if (devicesOf(run).length === 0) return;
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') return yield notChecked(run, size);
  const ampacity = ampacityAt(run, size.derivation, context);
  if (ampacity.kind !== 'known') return yield* judgeBySize(run, size.derivation, ampacity, context);
  const { practice } = context.system.basis;
  // Under iec the operating current of the device is judged by `protection-coordination`.
  const largest: Result =
    practice === 'iec'
      ? known({ ...ampacity.derivation, governing: [{ kind: 'clause', clause: 'ratedCurrent' }] })
      : largestDevice(run, ampacity.derivation, size.derivation, context);
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
      yield passed(run, atMost(rating, largest.derivation), numbers);
      continue;
    }
    const motors = motorCircuitOf(run, context);
    if (motors && motors.lacking.length > 0 && numberIn(rating, 'A') <= numberIn(motors.limit, 'A') * (1 + 1e-9)) {
      yield notChecked(run, { kind: 'missing', missing: motors.lacking });
      continue;
    }
    const { severity } = softened(ampacity.derivation);
    const isSoft = isCordInTheWarm(run, rating, ampacity.derivation, context);
    // Only who knows the house can say it: no change proposes it.
    const dwelling = mayBeOfDwelling(run, context) ? dwellingRating(ampacity.derivation) : undefined;
    const mayDo = dwelling !== undefined && numberIn(rating, 'A') <= numberIn(dwelling, 'A') * (1 + 1e-9);
    yield {
      ...tooLarge(run, device, rating, largest.derivation, size.derivation),
      ...(severity || isSoft ? { severity: 'warning' as const } : {}),
      ...whyOf(
        `ampacity ${displayValue(ampacity.derivation, 3)}`,
        governingText(largest.derivation) ?? 'its own rule',
        isSoft && CORD_REMARK,
      ),
      rule: [basisText(context.system.basis), SECTIONS[context.system.basis.practice]].filter(Boolean).join(' '),
      ...(mayDo ? { advice: 'If it supplies the entire load of a dwelling, state `dwelling: yes` (NEC 310.12).' } : {}),
      numbers,
    };
  }
}

/** A device that is rated above what the conductors of a run allow. */
function tooLarge(run: Run, device: Instance, rating: Derivation, limit: Derivation, size: Derivation): Failed {
  const [rated, most] = pairText(rating, limit);
  const wish = { target: 'run-protection' } as const;
  return {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'size'),
    headline: `${device.name} (${rated}) protects ${run.name}; its ${displayValue(size)} conductors allow ${most}`,
    use: atMost(rating, limit),
    related: [{ place: placeOf(device, 'rating'), text: `${device.name} is rated ${rated}` }],
    fixes: [otherRating(run, device, 'down', wish), largerSize(run, wish)],
  };
}

/** Conductors that have no ampacity, such as 16 AWG at 60 °C, are limited by their size all the same. */
function* judgeBySize(run: Run, size: Derivation, ampacity: Result, context: DesignContext): Generator<Verdict> {
  const limit =
    ampacity.kind === 'refused' && !motorCircuitOf(run, context) ? smallConductorDevice(run, size, context) : undefined;
  const over = limit
    ? judgedDevices(run, context).flatMap((device) => {
        const rating = context.maybe(device, 'rating');
        return rating && numberIn(rating, 'A') > numberIn(limit, 'A') * (1 + 1e-9) ? [{ device, rating }] : [];
      })
    : [];
  if (!limit || over.length === 0) return yield notChecked(run, ampacity);
  for (const { device, rating } of over) {
    yield {
      ...tooLarge(run, device, rating, limit, size),
      ...whyOf(governingText(limit)),
      rule: `${basisText(context.system.basis)} 240.4(D)`,
      numbers: { rating, limit },
    };
  }
}

/** The section that holds a device to what conductors allow. */
const SECTIONS: Readonly<Record<string, string>> = {
  nec: '240.4',
  iec: '4-43 433.1',
  craft: '(ABYC E-11, from quotations)',
};

const judgeRuns = ofEachRun((run, context) =>
  askingForType(run, context, (each, design) => askingForMarks(each, design, judgeRun)),
);

export const runProtection = defineCheck({
  id: 'run-protection',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The device of a run is larger than its conductors allow.',
    guards: 'An overload or a fault the device does not see heats the conductor until it burns.',
    how: points(
      'The rating of the device against the largest one that the corrected ampacity allows.',
      'Which device: the first that a current meets from each end that a bank or supply feeds, else the smallest in the run; under iec the smallest, since 433.2.2 lets the overload device stand anywhere along the run.',
      'nec: the next standard size up to 800 A where allowed, and 7, 10, 15, 20 and 30 A for 18, 16, 14, 12 and 10 AWG copper in fixed wiring, also where the table has no ampacity for them.',
      'iec: In ≤ Iz (its operating current is judged by `protection-coordination`).',
      'craft: the next size within 150 %.',
      'The circuit of a load that states which `motor` it is, with overload protection of its own, may have the device of 430.52, and a feeder of such circuits that of 430.62, whatever its conductors allow (240.4(G)).',
      'A service or feeder of 120/240 V, 100 A to 400 A, that supplies the entire load of a dwelling (`dwelling: yes`) may have a device of which its ampacity is 83 % (310.12).',
      'A cord allows no larger device than its ampacity. One that only the correction for a warm ambient brings below its device makes a warning, since NEC 240.5(A) names the ampacity of the table (from memory).',
    ),
    fix: 'Use a smaller rating where the load allows it, else a larger conductor.',
    sources: [
      PUBLISHED('NEC', '240.4(B), (C), (D), 240.6(A)', '2017-2023'),
      PUBLISHED('NEC', '430.52, 430.62', '2017-2023'),
      PUBLISHED('NEC', '310.12', '2020-2023'),
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
    yield* judgeRuns(context);
    // What is stated is held against their fuses by `string-fuses`.
    yield* withoutAmpacity(context);
  },
});
