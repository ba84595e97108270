import { capital } from '../text/wording.js';
import { derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { ampacityAt, devicesOf } from '../../quantities/conductors/conductor.js';
import { defineCheck, type Verdict, atMost } from '../define.js';
import { notChecked, passed, placeOf, pairText, fullest } from '../verdicts.js';
import { MEMORY } from './shared.js';
import { takesToInvert } from '../../model/roles.js';
import { lowestInverterVoltage } from '../../quantities/demand/lowest-voltages.js';

/** The inverter a run ends in, when its current is that inverter's. */
const inverterOf = (run: Run): Instance | undefined => [run.from, ...run.to].find(takesToInvert)?.instance;

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const inverter = inverterOf(run);
  if (!inverter) return;
  const right = context.quantity(inverter, 'dcCurrent');
  if (right.kind !== 'known') return yield notChecked(run, right);
  const power = context.maybe(inverter, 'rated');
  const efficiency = context.maybe(inverter, 'efficiency');
  const nominal = context.quantity(run, 'nominalVoltage');
  const lowest = lowestInverterVoltage(inverter, context);
  if (!power || !efficiency || nominal.kind !== 'known' || lowest.kind !== 'known') return;
  const watts = numberIn(power, 'W');
  const atNominal = derive(
    'current at nominal voltage',
    watts / (numberIn(efficiency, '') * numberIn(nominal.derivation, 'V')),
    'A',
    { formula: 'P/(η·U_nom)', inputs: [power, efficiency, nominal.derivation] },
  );
  const multiplied = derive(
    'current with efficiency multiplied',
    (watts * numberIn(efficiency, '')) / numberIn(nominal.derivation, 'V'),
    'A',
    { formula: 'P·η/U_nom', inputs: [power, efficiency, nominal.derivation] },
  );
  const numbers = { current: right.derivation, atNominal, multiplied };
  const needed = numberIn(right.derivation, 'A');
  const size = context.maybe(run, 'size');
  const ampacity = size && ampacityAt(run, size, context);
  const chosen = [...new Set(devicesOf(run).map(({ instance }) => instance))].flatMap((device) => {
    const rating = context.maybe(device, 'rating');
    return rating
      ? [{ amperes: rating, text: `${device.name} (${displayValue(rating)})`, place: placeOf(device, 'rating') }]
      : [];
  });
  if (size && ampacity?.kind === 'known')
    chosen.push({
      amperes: ampacity.derivation,
      text: `${displayValue(size)} of ${run.name}`,
      place: placeOf(run, 'size'),
    });
  for (const { amperes, text, place } of chosen) {
    if (numberIn(amperes, 'A') >= needed * (1 - 1e-9)) continue;
    const misled = [atNominal, multiplied].find((current) => numberIn(amperes, 'A') >= numberIn(current, 'A'));
    if (!misled) continue;
    const [real, has] = pairText(right.derivation, amperes);
    yield {
      verdict: 'failed',
      subject: run.path,
      place,
      headline: `${capital(text)} would do for ${displayValue(misled, 3)}; ${inverter.name} draws ${real}`,
      why: `P/(η·U_min) at its lowest voltage, ${displayValue(lowest.derivation)}, not ${misled.formula ?? ''}`,
      consequence: `more than ${has}, just when the bank is low`,
      advice: `Choose device and conductors for ${real}.`,
      use: atMost(right.derivation, amperes),
      numbers: { ...numbers, chosen: amperes },
    };
    return;
  }
  // What is too small by either reckoning is the matter of `run-ampacity` and `run-protection`.
  const [least, ...more] = chosen
    .filter(({ amperes }) => numberIn(amperes, 'A') >= needed * (1 - 1e-9))
    .map(({ amperes }) => atMost(right.derivation, amperes));
  if (least) yield passed(run, fullest(least, ...more), numbers);
}

export const runCurrentBasis = defineCheck({
  id: 'run-current-basis',
  group: 'conductors',
  severity: 'info',
  since: '0.1.0',
  docs: {
    finds:
      'The device or the conductors of an inverter’s run suit the current at nominal voltage, or with efficiency multiplied, but not the one at the lowest voltage.',
    guards: 'The fuse opens, or the cable runs hot, when the bank is low and the load is high.',
    how: 'The tool always works out DC currents as P/(η·U_min). Where a device, or the ampacity of the conductors, is smaller than that and at least P/(η·U_nom) or P·η/U_nom, the usual mistake is named. That device or conductors are too small is the finding of `protection-continuous`, `protection-coordination` and `run-ampacity`, with the fixes; this one tells why.',
    fix: 'Choose device and conductors for the current at the lowest voltage of the bank, divided by the efficiency.',
    sources: [MEMORY('NEC', '690.8(A), 706.30')],
    failing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 42..60 V   cutOff: 44.8 V }
  fuse F1 { class: T   rating: 130 A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 2/0 AWG   type: THHN   length: 1 m }
}
`,
    passing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 42..60 V   cutOff: 44.8 V }
  fuse F1 { class: T   rating: 200 A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 4/0 AWG   type: THHN   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) if (run.carries === 'dc') yield* judgeRun(run, context);
  },
});
